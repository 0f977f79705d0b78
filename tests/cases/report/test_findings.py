"""What a page says first: findings, one notice of drift, and places that a criterion cannot speak about."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report import verdicts
from stemwall.cases.report.drift import DriftBlock, DriftRow, unsettled
from stemwall.cases.report.findings import findings, kinds_in_words, missed_besides, unasked
from stemwall.cases.report.limits import in_words
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.criteria import CRITERIA, Verdict
from stemwall.solver.assessment.probe_series import ProbeSeries
from stemwall.solver.assessment.verdicts import assess_probe
from stemwall.solver.spin_up import Drift

HOURS = 24 * 40


def place(name: str, kind: str, humidity: float, temperature: float = 20.0, mould: str | None = None) -> ProbeSeries:
    """A place whose air stays as it is for 40 days."""
    return ProbeSeries(
        name=name, kind=kind, mould_class=mould,
        time=np.datetime64("2001-01-01T01") + np.arange(HOURS) * np.timedelta64(1, "h"),
        temperature=np.full(HOURS, temperature), relative_humidity=np.full(HOURS, humidity),
        water_content=np.zeros(HOURS), height=0.5,
    )  # fmt: skip


def made(name: str, *series: ProbeSeries, complete: bool = True) -> Variant:
    """A variant of given places; no file is read."""
    variant = Variant(name, "", xr.Dataset(), None, None, {})
    found = [v for one in series for v in assess_probe(one, optional=True)]
    # both are cached properties: what stands in their place is not computed
    vars(variant)["places"] = {one.name: one for one in series}
    vars(variant)["verdicts"] = [replace(v, incomplete=not complete) for v in found]
    return variant


DRY, DAMP = place("sill", "wood", 0.60), place("sill", "wood", 0.95)


def test_the_findings_name_the_variant_the_place_and_the_margin() -> None:
    found = findings([made("base", DRY), made("wet", DAMP)], "whole run", Units())
    first = found[0]
    assert (first.criterion.id, first.missed, first.held) == ("surface-humidity-30-day", ["wet"], ["base"])
    assert (first.name, first.place, first.cell.margin, first.unit) == ("wet", "sill", "−15.0", "% RH")
    assert missed_besides([made("base", DRY), made("wet", DAMP)], "whole run") == [("lowest germination line", ["wet"])]


def test_a_run_that_stopped_is_in_no_finding_and_the_summary_says_why() -> None:
    stopped = made("base", DAMP, complete=False)
    assert findings([stopped], "whole run", Units()) == []
    assert verdicts.why_not(made("base", DRY), "frost-bearing-soil", "whole run") == "no place that it speaks about"
    frost = place("sill", "wood", 0.95, temperature=-5.0)
    why = verdicts.why_not(made("base", frost), "surface-humidity-30-day", "whole run")
    assert why == "lacking a 30-day mean temperature within 5 to 40 °C"
    assert verdicts.short(None, Units(), why).word == "– not judged"


def test_places_without_anything_to_judge_stand_in_one_sentence() -> None:
    cold = place("rim", "wood", 0.9, temperature=-5.0)
    shown = verdicts.groups([made("base", DRY, cold)], "whole run", Units(), first=True)
    (humidity,) = [group for group in shown if group.criterion.id == "surface-humidity-30-day"]
    assert [row.place for row in humidity.rows] == ["sill"]
    assert humidity.silent == ["rim"]


def test_a_place_of_another_kind_in_a_variant_is_not_called_absent() -> None:
    room, shut = place("wall", "surface", 0.7), place("wall", "ground contact", 0.7)
    shown = verdicts.groups([made("base", room), made("foam", shut)], "whole run", Units(), first=True)
    (humidity,) = [group for group in shown if group.criterion.id == "surface-humidity-30-day"]
    cell = humidity.rows[0].cells[1]
    assert (cell.word, cell.note) == ("– not asked", "here of the kind “ground contact”")


def test_kinds_that_need_a_word_have_one() -> None:
    outside = place("face", "exterior", 0.99)
    assert list(kinds_in_words([made("base", DRY, outside)])) == ["exterior"]
    assert unasked([made("base", DRY, outside)]) == ["face"]


@pytest.mark.parametrize(("value", "shown", "margin"), [(0.8004, "80.04", "−0.04"), (0.79, "79.0", "1.0")])
def test_a_value_close_to_its_limit_shows_its_side(value: float, shown: str, margin: str) -> None:
    verdict = Verdict(CRITERIA["surface-humidity-30-day"], "sill", "whole run", value, None)
    cell = verdicts.short(verdict, Units())
    assert (cell.value, cell.margin) == (shown, margin)


def test_one_notice_names_all_variants_that_still_move() -> None:
    def block(name: str, temperature: float, humidity: float, settled: bool) -> DriftBlock:
        drift = Drift(2, temperature, humidity, "slab", "sill")
        row = DriftRow("2 of the record", f"{temperature}", "slab", f"{100 * humidity}", "sill", settled, drift)
        return DriftBlock(name, "", [row], "")

    blocks = [block("a", 0.5, 0.01, False), block("b", 0.2, 0.03, False), block("c", 0.0, 0.0, True)]
    assert unsettled(blocks, Units()) == (
        "Not settled: a, b. In the last year monthly means still moved by up to 0.5 K (a: slab) and 3.0 % RH (b: sill)"
    )
    assert unsettled(blocks[2:], Units()) == ""


def test_wood_is_told_the_first_line_that_it_never_passed_and_no_further() -> None:
    assert verdicts._brief("12 d above 16 %, 3 d above 20 %, 0 d above 26 %") == "12 d above 16 %, 3 d above 20 %"
    assert verdicts._brief("0 d above 16 %, 0 d above 20 %, 0 d above 26 %") == "0 d above 16 %"


def test_the_summary_says_of_a_run_that_stopped_only_that() -> None:
    stopped = made("base", place("sill", "wood", 0.95, mould="S"), complete=False)
    assert verdicts.why_not(stopped, "mould-index", "whole run") == "the run stopped before its end"


def test_a_limit_missed_only_at_the_start_is_told_so() -> None:
    hours = 2 * 8760
    drying = ProbeSeries(
        name="sill", kind="wood",
        time=np.datetime64("2001-01-01T01") + np.arange(hours) * np.timedelta64(1, "h"),
        temperature=np.full(hours, 20.0), relative_humidity=np.where(np.arange(hours) < 1500, 0.95, 0.6),
        water_content=np.zeros(hours), height=0.5,
    )  # fmt: skip
    damp = replace(drying, relative_humidity=np.full(hours, 0.95))
    first = findings([made("dries", drying), made("stays", damp)], "whole run", Units())[0]
    assert (first.missed, first.lately) == (["dries", "stays"], ["stays"])
    assert findings([made("short", DAMP)], "whole run", Units())[0].lately is None


def test_texts_of_criteria_are_printed_with_signs_of_degrees() -> None:
    assert in_words("at 5 degC") == "at 5 °C"
    assert not any("degC" in in_words(c.source + c.scope + c.needs) for c in CRITERIA.values())


def test_criteria_for_special_occasions_stand_last() -> None:
    shown = verdicts.groups([made("base", DRY)], "whole run", Units(), first=False)
    optional = [group.criterion.optional for group in shown]
    assert set(optional) == {True, False}
    assert optional == sorted(optional)
