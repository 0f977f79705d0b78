"""Slips of unit are named with what was probably meant, and a right sheet is not doubted."""

from pathlib import Path

import pytest

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.evaluate import evaluate_sheet
from stemwall.cases.laboratory.read_sheet import parse_sheet

RIGHT = """
[sheet]
id = "brick"
name = "Brick"
hatch = "masonry"
draws = 100
[density]
value = 1750
[porosity]
value = 0.33
[saturation]
value = 260
[[sorption]]
humidity = [0.33, 0.53, 0.80, 0.93]
water = [3.6, 5.5, 10.1, 18.8]
[[cup]]
from = 0
to = 0.5
thickness = 0.02
mu = 15
[[cup]]
from = 0.5
to = 0.93
thickness = 0.02
mu = 9.4
[[uptake]]
coefficient = 0.18
[[conductivity]]
value = 0.5
"""


def doubts(*changes: tuple[str, str]) -> list[str]:
    """What is asked about the sheet with changes, refusals included."""
    text = RIGHT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    try:
        return [str(one) for one in evaluate_sheet(parse_sheet(text, Path("brick.toml"))).doubts]
    except CaseError as error:
        return [str(one) for one in error.problems]


def test_a_right_sheet_is_not_doubted() -> None:
    assert doubts() == []


@pytest.mark.parametrize(
    ("changes", "meant"),
    [
        ([("coefficient = 0.18", "coefficient = 10.8")], "kg/(m2 h^0.5)"),
        ([("coefficient = 0.18", "coefficient = 1.2")], "kg/(m2 h^0.5)"),
        ([("value = 0.5\n", "value = 3.5\n")], "Btu in/(h ft2 degF)"),
        ([("value = 0.5\n", "value = 480\n")], "mW/(m K)"),
        ([("mu = 15", "mu = 0.3"), ("mu = 9.4", "mu = 0.2")], "s_d = 0.3 m"),
        ([("mu = 15", "mu = 3.2"), ("mu = 9.4", "mu = 2.0")], "s_d = 3.2 m"),
        ([("mu = 15", "sd = 900"), ("mu = 9.4", "sd = 600")], "mu = 900"),
        ([("water = [3.6, 5.5, 10.1, 18.8]", "water = [0.21, 0.31, 0.58, 1.07]")], "mass-%"),
        ([("value = 260", "value = 14.9"), ("10.1, 18.8", "8.1, 9.8")], "mass-%, 261 kg/m3"),
        ([("value = 0.33", "value = 33")], '"33 %"'),
        ([("humidity = [0.33, 0.53, 0.80, 0.93]", "humidity = [33, 53, 80, 93]")], '"33 %"'),
    ],
)
def test_a_slip_is_named(changes: list[tuple[str, str]], meant: str) -> None:
    found = doubts(*changes)
    assert any(meant in one and "did you mean" in one for one in found), found
