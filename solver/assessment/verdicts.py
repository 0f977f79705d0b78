"""Assessment: criteria applied to the places of a result.

Every criterion is judged over the whole run, construction moisture included,
and, where the run is longer than a year, over its last 12 months as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime

import numpy as np
import pandas as pd
import xarray as xr

from stemwall.solver.assessment.criteria import BASES, MOISTURE, Criterion, Period, Verdict, applicable, other_basis
from stemwall.solver.assessment.criterion_series import measured
from stemwall.solver.assessment.mould import DEFAULT_DECLINE, more_sensitive, mould_index, sensitivity
from stemwall.solver.assessment.probe_series import YEAR_HOURS, ProbeSeries, series_of
from stemwall.solver.assessment.wood import MOISTURE_LINES, days_above
from stemwall.solver.model.arrays import Floats

__all__ = ["ProbeSeries", "assess", "assess_probe", "series_of", "to_table"]

#: A mould index that ends a year this much higher is carried over: half of the second decimal.
CARRY_OVER = 0.005
#: Shorter runs [h] do not show whether a mould index builds up over the years.
SETTLED_HOURS = 3 * YEAR_HOURS


def assess(dataset: xr.Dataset, *, optional: bool = False, decline: float = DEFAULT_DECLINE) -> list[Verdict]:
    """Verdicts on every probe of a result dataset, see `series_of` and `assess_probe`; incomplete if its run was."""
    verdicts = []
    for name in dataset["probe"].values:
        verdicts += assess_probe(series_of(dataset, str(name)), optional=optional, decline=decline)
    if str(dataset.attrs.get("completed", "yes")) == "yes":
        return verdicts
    return [replace(verdict, incomplete=True, note=_stopped(verdict)) for verdict in verdicts]


def _stopped(verdict: Verdict) -> str:
    """Return the note of a verdict on a run that stopped before its end."""
    return "; ".join(filter(None, ("the run stopped before its end", verdict.note)))


def assess_probe(series: ProbeSeries, *, optional: bool = False, decline: float = DEFAULT_DECLINE) -> list[Verdict]:
    """Verdicts on one place, in the order of the criteria.

    Parameters
    ----------
    series : ProbeSeries
        Record of the place.
    optional : bool
        Judge also the criteria that are asked for on special occasions only.
    decline : float
        Decline of the mould index relative to pine sapwood [-].
    """
    verdicts = []
    for criterion in applicable(series.kind, optional=optional):
        for variant, measure in _measures(criterion, series, decline):
            verdicts += _judged(criterion, series, variant, measure, decline)
    return verdicts


def to_table(verdicts: Iterable[Verdict]) -> pd.DataFrame:
    """One row per verdict: what was compared, the outcome, and where the limit comes from."""
    return pd.DataFrame([_row(verdict) for verdict in verdicts], columns=list(_COLUMNS))


_COLUMNS = (
    "place", "id", "criterion", "variant", "period", "quantity", "basis", "unit", "value", "sense", "limit", "margin",
    "holds", "when", "beside", "basis of beside", "carry_over", "borrowed", "note", "source", "scope",
)  # fmt: skip


def _row(verdict: Verdict) -> dict[str, object]:
    criterion = verdict.criterion
    return {
        "place": verdict.place,
        "id": criterion.id,
        "criterion": criterion.name,
        "variant": verdict.variant,
        "period": verdict.period,
        "quantity": criterion.quantity,
        "basis": BASES[criterion.basis],
        "unit": criterion.unit,
        "value": verdict.value,
        "sense": criterion.sense,
        "limit": verdict.limit,
        "margin": verdict.margin,
        "holds": verdict.holds,
        "when": verdict.when,
        "beside": verdict.beside,
        "basis of beside": "" if np.isnan(verdict.beside) else BASES[other_basis(criterion.basis)],
        "carry_over": verdict.carry_over,
        "borrowed": verdict.borrowed,
        "note": verdict.note,
        "source": criterion.source,
        "scope": criterion.scope,
    }


def _measures(criterion: Criterion, series: ProbeSeries, decline: float) -> Iterator[tuple[str, Floats]]:
    """The series to judge, by variant: for mould the own class and the next more sensitive one."""
    if criterion.id != "mould-index":
        yield "", measured(criterion, series, criterion.basis)
        return
    if series.mould_class is None:
        yield "", np.full(len(series.time), np.nan)
        return
    own, stricter = sensitivity(series.mould_class), more_sensitive(series.mould_class)
    for row in (own,) if stricter is None else (own, stricter):
        index = mould_index(series.temperature, series.relative_humidity, row.name, decline=decline, step=series.step)
        yield row.name, index


def _judged(criterion: Criterion, series: ProbeSeries, variant: str, measure: Floats, decline: float) -> list[Verdict]:
    """Verdict on the whole run and, if it is longer than a year, on its last 12 months."""
    year = series.samples(YEAR_HOURS)
    carried = _carried(measure, year) if criterion.id == "mould-index" else None
    # of wood both are known: what the place went through, and what the piece did
    wood = criterion.unit == MOISTURE
    beside = measured(criterion, series, other_basis(criterion.basis)) if wood else np.full(len(measure), np.nan)

    def verdict(period: Period, start: int, earlier: str = "") -> Verdict:
        value, when = _worst(criterion, series, measure, start)
        notes = [earlier, *_notes(criterion, series, measure[start:], decline)]
        return Verdict(
            criterion,
            series.name,
            period,
            value,
            when,
            variant=variant,
            carry_over=carried,
            borrowed=criterion.borrowed and series.below_grade,
            note="; ".join(filter(None, notes)),
            beside=_worst(criterion, series, beside, start)[0],
        )

    whole = verdict("whole run", 0)
    if len(measure) <= year:
        return [whole]
    last = verdict("last 12 months", len(measure) - year)
    if whole.holds is False and last.holds:
        whole = verdict("whole run", 0, "exceeded only before the last 12 months")
    return [whole, last]


def _worst(criterion: Criterion, series: ProbeSeries, measure: Floats, start: int) -> tuple[float, datetime | None]:
    """Least favourable value from sample `start` on, and its time stamp."""
    period = measure[start:]
    if np.isnan(period).all():
        return np.nan, None
    at = int(np.nanargmin(period) if criterion.sense == ">=" else np.nanargmax(period))
    when: datetime = series.time[start + at].astype("datetime64[m]").item()
    return float(period[at]), when


def _carried(index: Floats, year: int) -> bool | None:
    """Whether a mould index ends higher than a year before; None for a shorter run or no index."""
    if len(index) <= year or np.isnan(index[-1]):
        return None
    return bool(index[-1] - index[-1 - year] > CARRY_OVER)


def _notes(criterion: Criterion, series: ProbeSeries, measure: Floats, decline: float) -> Iterator[str]:
    """What a reader should know beside the number."""
    if np.isnan(measure).all():
        yield f"not judged, lacking {criterion.needs}"
        return
    if criterion.id == "mould-index":
        yield f"decline factor {decline:g}"
        if series.hours < SETTLED_HOURS:
            yield "run shorter than 3 years: a build-up over the years may not show"
    elif criterion.id in ("wood-moisture-piece", "wood-fibre-saturation"):
        days = (f"{days_above(measure, line, series.step):.0f} d above {line:.0f} %" for line in MOISTURE_LINES)
        yield ", ".join(days)
    elif criterion.id in ("mould-germination-line", "mould-monthly-line"):
        yield f"{series.step * np.count_nonzero(measure > 0.0):.0f} h above the line"
