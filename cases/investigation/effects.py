"""What a source of moisture can do to a place: the numbers that runs with and without it are told apart by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from stemwall.cases.inputs.display_units import number
from stemwall.solver.assessment.criteria import CRITERIA, MOISTURE, Criterion
from stemwall.solver.assessment.mould import mould_index, sensitivity
from stemwall.solver.assessment.probe_series import ProbeSeries, series_of
from stemwall.solver.assessment.series_statistics import hours, running_mean
from stemwall.solver.assessment.wood import days_above
from stemwall.solver.results.stored_result import read_result

#: hours of the running mean of humidity, as the criterion has it
MONTH = 720.0


def _criterion(quantity: str, unit: str, basis: str = "place") -> Criterion:
    """The first criterion that compares this quantity."""
    return next(c for c in CRITERIA.values() if (c.quantity, c.unit, c.basis) == (quantity, unit, basis))


@dataclass(frozen=True)
class Effect:
    """A number of a place over the last 12 months of a run: how it is shown, and its limit if there is one.

    ``counts`` is the least difference that counts: about what a coarser or finer mesh would change.
    """

    key: str
    name: str
    unit: str
    digits: int
    counts: float
    limit: float | None = None
    source: str = ""
    kinds: tuple[str, ...] = ()

    def text(self, value: float) -> str:
        """Return a value with its unit."""
        return f"{number(value, self.digits)} {self.unit}".strip()

    def held(self, value: float) -> bool:
        """Whether a value keeps the limit; True without one."""
        return self.limit is None or value < self.limit


_MOULD = _criterion("largest mould index", "1")
_WOOD = _criterion("largest moisture content", MOISTURE, "piece")
_HUMID = _criterion("30-day running mean RH", "1")
EFFECTS = (
    Effect("mould", "mould index, highest", "", 2, 0.02, _MOULD.limit, _MOULD.source, _MOULD.kinds),
    Effect("moisture", "wood moisture, highest", "% dry mass", 1, 0.2, _WOOD.limit, _WOOD.source, _WOOD.kinds),
    Effect(
        "humidity", "humidity, highest 30-day mean", "% RH", 1, 0.5, 100.0 * _HUMID.limit, _HUMID.source, _HUMID.kinds
    ),
    Effect("humid_days", f"days above {100.0 * _HUMID.limit:g} % RH", "d", 1, 1.0),
    Effect("moist_days", f"days above {_WOOD.limit:g} % wood moisture", "d", 1, 1.0),
)


def effects_for(kind: str) -> list[Effect]:
    """Return the numbers as they are judged at a kind of place: a limit that does not speak about it is left out."""
    return [effect if kind in effect.kinds else replace(effect, limit=None, source="") for effect in EFFECTS]


def effects_at(path: Path, place: str) -> dict[str, float]:
    """Return the numbers of a place in a result, by key of `EFFECTS`; those that do not apply are left out.

    The mould index is counted from the first hour of the run.  Moisture of wood is the mean of its piece.

    Raises
    ------
    ResultError
        If the file is no result, or a damaged one.
    ValueError
        If there is no such place.
    """
    return effects_of(series_of(read_result(path, along="probe"), place))


def effects_of(series: ProbeSeries) -> dict[str, float]:
    """Return the numbers of a record, see `effects_at`."""
    last = series.last_year()
    humidity = running_mean(last.relative_humidity, min(last.samples(MONTH), len(last.time)))
    found: dict[str, float] = {}
    if series.mould_class is not None:
        own = sensitivity(series.mould_class).name
        index = mould_index(series.temperature, series.relative_humidity, own, step=series.step)
        found["mould"] = float(index[-len(last.time) :].max())
    piece = last.of_piece() or last
    wet = piece.moisture if series.kind == "wood" else None
    if wet is not None:
        found["moisture"] = float(wet.max())
    found["humidity"] = 100.0 * float(np.nanmax(humidity))
    found["humid_days"] = float(hours(last.relative_humidity > _HUMID.limit, last.step)) / 24.0
    if wet is not None:
        found["moist_days"] = float(days_above(wet, _WOOD.limit, last.step))
    return found


def leading(effects: Sequence[Effect], values: Mapping[str, float]) -> Effect:
    """Return the number that an answer begins with: the first that misses its limit, else the nearest to one."""
    limited = [effect for effect in effects if effect.limit is not None]
    missed = [effect for effect in limited if not effect.held(values[effect.key])]
    near = sorted(limited, key=lambda effect: -values[effect.key] / (effect.limit or 1.0))
    return (missed or near or list(effects))[0]
