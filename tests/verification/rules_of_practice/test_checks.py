"""The set of checks of common practice: complete, sourced, run once, and shown."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from stemwall.cases.cli import commands
from stemwall.cases.verification import suite
from stemwall.cases.verification.comparison import ABOVE, BELOW, LARGEST, Comparison, sign
from stemwall.cases.verification.page.page import write_page
from stemwall.cases.verification.rules_of_practice import checks
from stemwall.cases.verification.rules_of_practice.runs import (
    CRAWL,
    Season,
    air,
    at,
    flow,
    in_months,
    moisture,
    run,
    stored,
)
from stemwall.cases.verification.suite import Case, run_outcomes

DAYS = Season("2001-10-01", 2)


def test_every_check_is_there_once() -> None:
    assert len({check.run for check in checks.CHECKS}) == len(checks.CHECKS) == 33
    assert len({check.id for check in checks.CHECKS}) == 33
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", check.id) for check in checks.CHECKS)


def test_every_check_stands_in_the_suite() -> None:
    cases = [case for case in suite.CASES if case.group == suite.PRACTICE]
    assert [case.run for case in cases] == [check.run for check in checks.CHECKS]
    for case, check in zip(cases, checks.CHECKS, strict=True):
        assert (case.id, case.title) == (f"practice-{check.id}", check.title)
        assert case.run.__doc__


@pytest.mark.parametrize(
    ("computed", "norm", "expected", "least", "holds"),
    [
        (2.0, ABOVE, 1.0, 0.5, True),
        (1.4, ABOVE, 1.0, 0.5, False),
        (1.0, ABOVE, 1.0, 0.0, False),
        (0.0, ABOVE, 1.0, 0.5, False),
        (-2.0, BELOW, -1.0, 0.5, True),
        (1.0, BELOW, 1.0, 0.0, False),
        ([2.0, 3.0], ABOVE, [1.0, 2.8], 0.5, False),
        (np.nan, ABOVE, 1.0, 0.0, False),
    ],
)
def test_a_sign(computed: object, norm: str, expected: object, least: float, holds: bool) -> None:
    found = sign("a", "b", "c", computed, norm, expected, least)  # type: ignore[arg-type]
    assert found.holds is holds
    assert (found.share <= 1.0) is holds


def test_a_sign_needs_a_sense_and_pairs() -> None:
    with pytest.raises(ValueError, match="largest difference"):
        sign("a", "b", "c", 1.0, LARGEST, 2.0)
    with pytest.raises(ValueError, match="2 computed, 1 expected"):
        sign("a", "b", "c", [1.0, 2.0], ABOVE, 2.0)


def test_page_shows_both_values_and_the_sense(tmp_path: Path) -> None:
    def pair() -> list[Comparison]:
        """One run against another."""
        return [sign("wet, against dry", "by hand", "humidity [-]", 0.875, ABOVE, 0.625, 0.01)]

    out = write_page(tmp_path / "page.html", run_outcomes(cases=(Case("pair", "A pair", suite.PRACTICE, pair),)))
    page, [case] = out.read_text(), json.loads(out.with_suffix(".json").read_text())["cases"]
    for word in ("0.875", "0.625", "above", "by hand", "ventilation, soil air"):
        assert word in page
    [shown] = case["comparisons"]
    assert (shown["computed"], shown["expected"], shown["norm"], shown["holds"]) == ([0.875], [0.625], ABOVE, True)
    assert shown["error"] == 0.25


def test_quick_leaves_out_what_is_slow(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def never() -> list[Comparison]:
        raise AssertionError

    def soon() -> list[Comparison]:
        """Nothing but a sign."""
        return [sign("a", "b", "c", 2.0, ABOVE, 1.0)]

    cases = (Case("slow", "Slow", "First", never, slow=True), Case("fast", "Fast", "First", soon))
    monkeypatch.setattr(suite, "CASES", cases)
    result = CliRunner().invoke(commands.app, ["verify", "--quick", "--out", str(tmp_path / "page.html")])
    assert result.exit_code == 0, result.output
    assert "1 of 1 cases hold, 1 not run" in result.output
    assert "left out on request" in (tmp_path / "page.html").read_text()


def test_a_run_is_computed_once_and_read_as_stated() -> None:
    data = run(CRAWL, DAYS)
    assert run(CRAWL, DAYS) is data
    october = in_months(data, at(data, "temperature", "sill core"), 10)
    assert october == pytest.approx(at(data, "temperature", "sill core").mean())
    density = float(data["probe_density"].sel(probe="sill core"))
    assert moisture(data, "sill core")[-1] * density == pytest.approx(at(data, "water_content", "sill core")[-1])
    assert 0.5 * stored(data, "stem wall", 0) < stored(data, "stem wall") < 2.0 * stored(data, "stem wall", 0)
    with pytest.raises(ValueError, match="no surface of the run begins with 'attic'"):
        flow(data, "heat_flow", "attic")


def test_weather_is_warmer_by_what_is_asked_for() -> None:
    as_it_is, warmer = (run(CRAWL, DAYS, warmer=by) for by in (0.0, 4.0))
    gap = air(warmer, "temperature", "outdoors") - air(as_it_is, "temperature", "outdoors")
    assert np.abs(gap - 4.0).max() < 1e-6
    assert air(warmer, "relative_humidity", "outdoors") == pytest.approx(air(as_it_is, "relative_humidity", "outdoors"))


def test_a_change_reaches_the_run() -> None:
    lines = [
        set(map(str, run(CRAWL, DAYS, change)["surface"].values))
        for change in (None, {"detail.rim.cover_ledge": False})
    ]
    assert lines[0] != lines[1]
