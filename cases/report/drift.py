"""How far a run has settled, and what a finer computation changes, as a page shows them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.batch.refinement import Convergence, Finding, text_hash
from stemwall.cases.inputs.display_units import Quantity, Units, number
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.series_statistics import TimeArray
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.settings import YEAR, SpinUp
from stemwall.solver.spin_up import Drift, drift, monthly_means


@dataclass(frozen=True)
class DriftRow:
    """One year against the year before: the largest changes of a monthly mean, where, and whether both are small."""

    year: str
    temperature: str
    place_t: str
    humidity: str
    place_rh: str
    settled: bool
    drift: Drift


@dataclass(frozen=True)
class DriftBlock:
    """The drift of one variant: what came before the record, the rows, and the limits in words."""

    name: str
    before: str
    rows: list[DriftRow]
    limits: str


def drifts(variants: Sequence[Variant], units: Units) -> list[DriftBlock]:
    """Return the drift of every variant that has one: years before the record and years within it."""
    blocks = [_block(variant, units) for variant in variants]
    return [block for block in blocks if block.rows or block.before]


def unsettled(blocks: Sequence[DriftBlock], units: Units) -> str:
    """Return one sentence on the variants whose last year still moved, with the largest changes; empty if none did."""
    last = [(block.name, block.rows[-1]) for block in blocks if block.rows and not block.rows[-1].settled]
    if not last:
        return ""
    warm = max(last, key=lambda item: item[1].drift.temperature)
    moist = max(last, key=lambda item: item[1].drift.humidity)
    names = ", ".join(name for name, _ in last)

    def where(name: str, place: str) -> str:
        return f"({place})" if len(last) == 1 else f"({name}: {place})"

    return (
        f"Not settled: {names}. In the last year monthly means still moved by up to {warm[1].temperature} "
        f"{units['difference'].unit} {where(warm[0], warm[1].place_t)} and {moist[1].humidity} % RH "
        f"{where(moist[0], moist[1].place_rh)}"
    )


def _block(variant: Variant, units: Units) -> DriftBlock:
    limits = _limits(variant)
    before = [Drift(**one) for one in json.loads(variant.text("settling_drift", "[]"))]
    rows = [_row(f"{one.year} before the record", one, limits, units) for one in before]
    rows += [_row(f"{one.year} of the record", one, limits, units) for one in _recorded(variant)]
    shown = units["difference"]
    text = f"{shown.text(limits.limit_t)} {shown.unit} and {number(100 * limits.limit_rh, 1)} % RH"
    return DriftBlock(variant.name, _before(variant), rows, text)


def _limits(variant: Variant) -> SpinUp:
    """Limits of the run, or those that are used where it kept none."""
    usual = SpinUp()
    t, rh = variant.number("settling_limit_temperature"), variant.number("settling_limit_humidity")
    return SpinUp(t if np.isfinite(t) else usual.limit_t, rh if np.isfinite(rh) else usual.limit_rh)


def _before(variant: Variant) -> str:
    years = variant.number("settling_years")
    if not np.isfinite(years):
        return ""
    words = {
        "yes": "the last of them differed from the one before by less than the limits",
        "no": "they had not settled when the record began",
        "not judged": "too few to tell whether they had settled",
    }
    return f"The first year was repeated {years:.0f} times before the record; {words[variant.text('settling_held')]}."


def _recorded(variant: Variant) -> list[Drift]:
    """Drift from year to year within the record, full years only."""
    names = [str(name) for name in variant.dataset["probe"].values]
    if not names:
        return []
    temperature, humidity = variant.dataset["probe_temperature"], variant.dataset["probe_relative_humidity"]
    return recorded(variant.time, temperature.values, humidity.values, names)


def recorded(time: TimeArray, temperature: Floats, humidity: Floats, probes: list[str]) -> list[Drift]:
    """Return the drift from year to year of a record, hours of the same date compared.

    A 29 February repeats the weather of the day before: counted with the rest, it would compare every later day with
    its neighbour.

    Parameters
    ----------
    time : TimeArray
        Ends of the hours (time,).
    temperature, humidity : Floats
        At the probes (time, probe) [degC], [-].
    probes : list of str
        Their names.
    """
    kept = ~_leap_day(time)
    series = (temperature[kept], humidity[kept])
    years = [[values[k * YEAR : (k + 1) * YEAR] for values in series] for k in range(len(time) // YEAR)]
    found = []
    for k, (earlier, later) in enumerate(pairwise(years)):
        hours = min(len(earlier[0]), len(later[0]))
        before, now = ([monthly_means(values[:hours]) for values in year] for year in (earlier, later))
        found.append(drift(k + 2, (now[0], now[1]), (before[0], before[1]), probes))
    return found


def _leap_day(time: TimeArray) -> NDArray[np.bool_]:
    """Whether the hour that ends at each time lies on a 29 February."""
    day = (time - np.timedelta64(1, "h")).astype("datetime64[D]")
    month = day.astype("datetime64[M]")
    return np.asarray((month.astype(np.int64) % 12 == 1) & ((day - month).astype(np.int64) == 28))


def _row(year: str, one: Drift, limits: SpinUp, units: Units) -> DriftRow:
    difference: Quantity = units["difference"]
    temperature = number(float(difference.of(one.temperature)), 2)
    humidity = number(100 * one.humidity, 2)
    return DriftRow(year, temperature, one.place_t, humidity, one.place_rh, one.within(limits), one)


@dataclass(frozen=True)
class StudyBlock:
    """What one finer computation changes: a heading, cells of each place, heat in words."""

    title: str
    effort: str
    rows: list[tuple[str, list[str]]]
    heat: str
    notice: str


def studies(findings: Sequence[Convergence], base: Variant, units: Units) -> list[StudyBlock]:
    """Return all finer computations; one of another case text than the report's base says so."""
    return [_study(found, one, base, units) for found in findings for one in found.findings]


def _study(found: Convergence, one: Finding, base: Variant, units: Units) -> StudyBlock:
    same = found.case_sha256 == text_hash(base.text("case", ""))
    notice = "" if same else "Computed from another case text than the results of this page."
    difference, heat = units["difference"], units["heat"]

    def pair(value: float | None, change: float | None, digits: int) -> str:
        return "" if value is None or change is None else f"{number(value, digits)} ({_signed(change, digits + 1)})"

    rows = [
        (
            p.place,
            [
                number(float(difference.of(p.temperature_max)), 3),
                number(float(difference.of(p.temperature_mean)), 3),
                number(100 * p.humidity_max, 2),
                number(100 * p.humidity_mean, 2),
                pair(p.mould, p.mould_change, 2),
                pair(p.moisture, p.moisture_change, 1),
            ],
        )
        for p in one.places
    ]
    words = "; ".join(
        f"{row.climate} {heat.text(row.heat)} ({_signed(float(heat.of(row.change)), 2)})" for row in one.heat
    )
    effort = f"{found.cells:,} → {one.cells:,} cells, {found.steps:,} → {one.steps:,} steps, {found.hours:,} h"
    return StudyBlock(f"{found.variant}: {one.what}", effort, rows, words, notice)


def _signed(value: float, digits: int) -> str:
    text = number(value, digits)
    return text if text.startswith("−") else f"+{text}"
