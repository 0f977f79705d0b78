"""Variants made by [sweep] and [sample]: which, under what names, with what values, and every problem at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import TypeAdapter

from stemwall.cases.case_file import sweep
from stemwall.cases.case_file.read import parse_variant
from stemwall.cases.case_file.sample import Distribution, drawn
from stemwall.cases.case_file.sweep import file_stem, label, short_names
from stemwall.cases.inputs.input_errors import CaseError, Problem
from tests.cases.samples import WALL, line_of, read

SWEEP = """\
[sweep]
note = "all pairs"
change."membrane.break.liquid" = ["open", "break"]
change."indoor.room.temperature" = [18, "70 degF", 22.5]
"""
SAMPLE = """\
[sample]
count = 20
seed = 7
change."indoor.room.humidity" = { kind = "uniform", low = "40 %", high = "60 %" }
change."indoor.room.temperature" = { kind = "normal", mean = 20, deviation = 2, low = 18 }
"""
DRAW = "[sample]\ncount = 1\nchange.a = "
ONE: TypeAdapter[Any] = TypeAdapter(Distribution)


def values(count: int = 2000, **table: object) -> list[Any]:
    """Values drawn from one distribution, as written in a case file."""
    return [change["a"] for change in drawn({"a": ONE.validate_python(table)}, count, 1)]


def numbers(**table: object) -> np.ndarray:
    return np.array([float(value) for value in values(**table)])


def found(text: str) -> list[Problem]:
    with pytest.raises(CaseError) as caught:
        read(text)
    return list(caught.value.problems)


def test_a_sweep_is_the_full_product_on_the_base() -> None:
    cases = read(WALL + SWEEP).cases
    assert [case.name for case in cases[:4]] == [
        "base", "liquid=open, temperature=18", "liquid=open, temperature=70 degF", "liquid=open, temperature=22.5",
    ]  # fmt: skip
    assert len(cases) == 7
    assert cases[2].change == {"membrane.break.liquid": "open", "indoor.room.temperature": "70 degF"}
    assert cases[2].indoor["room"].temperature == pytest.approx(21.111, abs=1e-3)
    assert cases[2].membrane[0].liquid == "open"
    assert cases[2].note == "all pairs"
    assert cases[2].title == "A wall on soil: liquid=open, temperature=70 degF"


def test_a_value_more_renames_nothing() -> None:
    before = {case.name: case.change for case in read(WALL + SWEEP).cases}
    after = {case.name: case.change for case in read(WALL + SWEEP.replace("[18,", "[16, 18,")).cases}
    assert before.items() <= after.items()
    assert len(after) == 9


def test_a_sample_is_drawn_again_the_same() -> None:
    first, second = (read(WALL + SAMPLE).cases for _ in range(2))
    assert [case.name for case in first[1:3]] == ["sample 001", "sample 002"]
    assert [case.change for case in first] == [case.change for case in second]
    other = read(WALL + SAMPLE.replace("seed = 7", "seed = 8")).cases
    assert [case.change for case in first] != [case.change for case in other]


def test_every_share_of_a_sample_is_drawn_from_once() -> None:
    drawn_values = [str(case.change["indoor.room.humidity"]) for case in read(WALL + SAMPLE).cases[1:]]
    assert all(text.endswith(" %") for text in drawn_values)
    shares = (np.array([float(text.removesuffix(" %")) for text in drawn_values]) - 40.0) / 20.0
    assert sorted((shares * 20).astype(int).tolist()) == list(range(20))


def test_recorded_values_are_what_is_run() -> None:
    for case in read(WALL + SAMPLE).cases[1:]:
        again = parse_variant(WALL + SAMPLE, Path("wall.toml"), case.name, case.note, case.change)
        assert again.model_dump() == case.model_dump()
        assert (again.name, again.change, again.text) == (case.name, case.change, case.text)


def test_uniform() -> None:
    got = numbers(kind="uniform", low=-1.0, high=3.0)
    assert got.mean() == pytest.approx(1.0, abs=1e-3)
    assert got.std() == pytest.approx(4.0 / 12**0.5, rel=1e-3)
    assert -1.0 <= got.min() < got.max() <= 3.0


def test_normal_and_its_bounds() -> None:
    got = numbers(kind="normal", mean=5.0, deviation=2.0)
    assert got.mean() == pytest.approx(5.0, abs=2e-3)
    assert got.std() == pytest.approx(2.0, rel=5e-3)
    cut = numbers(kind="normal", mean=0.0, deviation=1.0, low=0.0)
    # half-normal distribution: mean sqrt(2 / pi), variance 1 - 2 / pi
    assert cut.min() >= 0.0
    assert cut.mean() == pytest.approx((2 / np.pi) ** 0.5, rel=2e-3)
    assert cut.var() == pytest.approx(1 - 2 / np.pi, rel=1e-2)


def test_triangular() -> None:
    got = numbers(kind="triangular", low=0.0, mode=1.0, high=5.0)
    # the mean is (a + b + c) / 3, the variance (a2 + b2 + c2 - ab - ac - bc) / 18
    assert got.mean() == pytest.approx(2.0, abs=2e-3)
    assert got.var() == pytest.approx((0 + 25 + 1 - 0 - 0 - 5) / 18, rel=5e-3)
    assert numbers(kind="triangular", low=0.0, mode=0.0, high=3.0).mean() == pytest.approx(1.0, abs=2e-3)


def test_choice_and_its_weights() -> None:
    got = values(kind="choice", values=["a", True, 3], weights=[1, 2, 5])
    assert [got.count("a"), got.count(True), got.count(3)] == [250, 500, 1250]
    assert values(4, kind="choice", values=["x", "y"]).count("x") == 2


@pytest.mark.parametrize(
    ("low", "high", "start", "end"),
    [("8 in", "12 in", "", " in"), ("R-10", "R-20", "R-", ""), ("60 degF", "70 degF", "", " degF")],
)
def test_values_keep_their_unit(low: str, high: str, start: str, end: str) -> None:
    for text in values(8, kind="uniform", low=low, high=high):
        assert text.startswith(start)
        assert text.endswith(end)
        float(text.removeprefix(start).removesuffix(end))


def test_small_numbers_are_written_out() -> None:
    assert all("e" not in text for text in values(5, kind="uniform", low="0.00001 m", high="0.00002 m"))


def test_all_problems_of_both_tables_with_their_lines() -> None:
    text = (
        WALL
        + """\
[sweep]
change."membrane.brake.liquid" = ["open", "break"]
change."indoor.room.temperature" = [18, "70 deg"]
change."indoor.room.humidty" = [0.3, 0.4]
[sample]
count = 40
change."indoor.room.humidity" = { kind = "uniform", low = "90 %", high = "160 %" }
"""
    )
    problems = {problem.path.partition(": ")[2]: problem for problem in found(text)}
    assert list(problems) == [
        "membrane.brake.liquid", "indoor.room.humidty", "indoor.room.temperature", "indoor.room.humidity",
    ]  # fmt: skip
    for path, problem in problems.items():
        assert problem.line == line_of(text, f'change."{path}"')
    assert problems["indoor.room.temperature"].found == '"70 deg"'
    assert "did you mean 'humidity'" in problems["indoor.room.humidty"].expected


@pytest.mark.parametrize(
    ("table", "path", "part"),
    [
        ("[sweep]\n", "sweep.change", "a value for 'change'"),
        ("[sweep]\nchange = {}\n", "sweep.change", "at least 1"),
        ('[sweep]\nchange."site.soil" = []\n', "sweep.change.site.soil", "at least 1"),
        ('[sweep]\nchange."site.soil" = "soil_sand"\n', "sweep.change.site.soil", "a list"),
        ('[sweep]\nchange."run.years" = [1, 2, 1.0, 1]\n', "sweep: run.years", "every value once"),
        ('[sweep]\nchanges."site.soil" = ["a"]\n', "sweep.changes", "did you mean 'change'"),
        ("[sample]\ncount = 3\n", "sample.change", "a value for 'change'"),
        (DRAW.replace("1", "0") + '{ kind = "choice", values = [1] }\n', "sample.count", "between 1 and 10,000"),
        (DRAW + '{ kind = "even" }\n', "sample.change.a", 'one of "uniform", "normal"'),
        (DRAW + "{ low = 1 }\n", "sample.change.a", 'one of "uniform", "normal"'),
        (DRAW + '{ kind = "uniform", low = 1 }\n', "sample.change.a.high", "a value for 'high'"),
        (DRAW + '{ kind = "uniform", low = 2, high = 1 }\n', "sample.change.a", "low below high"),
        (
            DRAW + '{ kind = "uniform", low = "2 in", high = 3 }\n',
            "sample.change.a",
            "one and the same unit",
        ),
        (
            DRAW + '{ kind = "uniform", low = "2 ft 6 in", high = "3 ft" }\n',
            "sample.change.a.low",
            "one number with one unit",
        ),
        (
            DRAW + '{ kind = "normal", mean = 1, deviation = 0 }\n',
            "sample.change.a",
            "deviation above zero",
        ),
        (
            DRAW + '{ kind = "choice", values = [1, 2], weights = [1] }\n',
            "sample.change.a",
            "as many weights",
        ),
        (
            DRAW + '{ kind = "uniform", low = 1, high = 2, mode = 1 }\n',
            "sample.change.a.mode",
            "one of 'kind', 'low', 'high'",
        ),
    ],
)
def test_refuses(table: str, path: str, part: str) -> None:
    problems = {problem.path: problem for problem in found(WALL + table)}
    assert path in problems
    assert part in problems[path].expected
    assert problems[path].line is not None
    assert problems[path].line > WALL.count("\n")


def test_too_many_combinations_are_refused_before_they_are_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep, "MOST", 5)
    (problem,) = found(WALL + SWEEP)
    assert (problem.found, problem.expected) == ("6 combinations", "at most 5")


def test_two_results_never_share_a_file() -> None:
    text = WALL + '[[variant]]\nname = "A b"\nchange = {}\n[[variant]]\nname = "a-b"\nchange = {}\n'
    (problem,) = found(text)
    assert "'a-b' beside 'A b'" in problem.found
    stems = [file_stem(name) for name in ("t=-1", "t=1", "t=-.5", "t=.5", "t=- 1")]
    assert stems == ["t-minus-1", "t-1", "t-minus-5", "t-5", "t-1"]
    long = ["x" * 300, "x" * 299 + "y"]
    assert len({file_stem(name) for name in long}) == 2
    assert max(len(file_stem(name)) for name in long) == sweep.LONGEST


def test_short_names_are_the_ends_that_differ() -> None:
    paths = ["detail.wall.thickness", "detail.slab.thickness", "site.soil"]
    assert short_names(paths) == ["wall.thickness", "slab.thickness", "soil"]
    assert short_names(["a.b", "b"]) == ["a.b", "b"]


def test_labels() -> None:
    assert [label(value) for value in (True, 0.1 + 0.2, 3, "8 in", {"a": 1, "b": [2, 3]})] == [
        "true", "0.3", "3", "8 in", "a 1 b 2 3",
    ]  # fmt: skip
