"""Sheets read: units of columns, and every problem at once with its line."""

from pathlib import Path

import pytest

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.read_sheet import parse_sheet
from stemwall.cases.laboratory.starter_sheet import SHEETS, starter_sheet

PLAIN = """
[sheet]
id = "one"
name = "One"
[density]
units = { value = "lb/ft3" }
value = [100, "1.6 g/cm3"]
[[sorption]]
units = { humidity = "%", water = "mass-%" }
humidity = [50, 80]
water = [1.0, [2.0, 2.2]]
[[cup]]
from = 0
to = "50 %"
mu = 20
[[conductivity]]
value = [0.5, 0.52]
"""


def test_units_hold_for_plain_numbers_alone() -> None:
    sheet = parse_sheet(PLAIN, Path("one.toml")).sheet
    assert sheet.density is not None
    assert sheet.density.value == pytest.approx((1601.846, 1600.0), rel=1e-6)
    assert sheet.sorption[0].humidity == (0.5, 0.8)
    assert [len(point) for point in sheet.sorption[0].water] == [1, 2]
    assert sheet.sorption[0].water[1][1].number == pytest.approx(0.022)
    assert sheet.conductivity[0].value == ((0.5, 0.52),)


@pytest.mark.parametrize("name", SHEETS)
def test_starters_are_valid_and_usual(name: str) -> None:
    assert parse_sheet(starter_sheet(name), Path("starter.toml")).doubts == []


def test_all_problems_come_at_once_with_their_lines() -> None:
    text = PLAIN.replace("humidity = [50, 80]", "humidity = [50, 180]").replace("mu = 20", "mu = 20\nsd = 3")
    text = (
        text.replace('to = "50 %"', 'to = "50 %"\nthikness = 3') + '[porosity]\nvalue = 15\nunits = { depth = "m" }\n'
    )
    with pytest.raises(CaseError) as caught:
        parse_sheet(text, Path("one.toml"))
    found = [str(problem) for problem in caught.value.problems]
    assert any("one.toml:10  sorption[0].humidity[1]" in one for one in found), found
    assert any("cup[0]" in one and "one of mu, sd" in one for one in found) or any("thikness" in one for one in found)
    assert any("'thickness'" in one for one in found)
    assert any("porosity.value[0]" in one and 'did you mean "15 %"' in one for one in found)
    assert any("porosity.units.depth" in one for one in found)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"[[cup]]\nfrom = 0\n": "[[cup]]\nfrom = 0.6\n"}, "from below to"),
        ({'id = "one"': 'id = "1 one"'}, "begins with a letter"),
        ({"water = [1.0, [2.0, 2.2]]": "water = [1.0]"}, "of the same length"),
        (
            {"[density]": "[porosity]", 'units = { value = "lb/ft3" }\nvalue = [100, "1.6 g/cm3"]': "value = 0.3"},
            "density",
        ),
        ({"[[conductivity]]\nvalue = [0.5, 0.52]": ""}, "conductivity"),
    ],
)
def test_one_problem_is_named(change: dict[str, str], expected: str) -> None:
    text = PLAIN
    for old, new in change.items():
        assert old in text
        text = text.replace(old, new)
    with pytest.raises(CaseError, match=expected):
        parse_sheet(text, Path("one.toml"))
