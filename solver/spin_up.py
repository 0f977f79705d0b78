"""Settling: the first year of a run repeated before anything is recorded, until years repeat themselves.

A month is a twelfth of a year of 8760 h.  The drift of a year is the largest change of a
monthly mean at any probe from the year before.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.statistics import Statistics
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.settings import YEAR, SpinUp
from stemwall.solver.run import Run

MONTHS = 12


@dataclass(frozen=True)
class Drift:
    """Change from the year before: the largest of all probes and months, and where."""

    year: int
    temperature: float
    humidity: float
    place_t: str
    place_rh: str

    def within(self, spin_up: SpinUp) -> bool:
        """Whether both limits hold."""
        return self.temperature <= spin_up.limit_t and self.humidity <= spin_up.limit_rh


def monthly_means(series: Floats) -> Floats:
    """Means of the twelve months of a year, (12, probes), of hourly values (8760, probes); the last may be shorter."""
    starts = np.arange(0, len(series), YEAR // MONTHS)
    hours = np.diff(starts, append=len(series))
    return np.asarray(np.add.reduceat(series, starts, axis=0) / hours[:, None])


def drift(year: int, now: tuple[Floats, Floats], before: tuple[Floats, Floats], probes: list[str]) -> Drift:
    """Return how far monthly means (temperature [degC], humidity [-]), each (12, probes), moved in a year."""
    change = [np.abs(a - b).max(axis=0) for a, b in zip(now, before, strict=True)]
    at = [int(np.argmax(values)) for values in change]
    return Drift(year, float(change[0][at[0]]), float(change[1][at[1]]), probes[at[0]], probes[at[1]])


def settle(run: Run, spin_up: SpinUp, told: Callable[[int, int], None] | None = None) -> list[Drift]:
    """Integrate the first year of a run again and again, then set its clock back to the start.

    Whatever happens in that year, leaks included, happens in every repetition.

    Parameters
    ----------
    run : Run
        At its start; its loads must span a year.
    spin_up : SpinUp
        When to stop.
    told : callable, optional
        Called with (year counted from 1, hour of the year) every hour.

    Returns
    -------
    list of Drift
        One per year from the second on.
    """
    names = [placed.probe.name for placed in run.recorder.probes]
    found: list[Drift] = []
    before: tuple[Floats, Floats] | None = None
    for year in range(1, spin_up.most_years + 1):
        now = _year(run, year, told)
        if before is not None and names:
            found.append(drift(year, now, before, names))
        if year >= spin_up.least_years and found and found[-1].within(spin_up):
            break
        before = now
    return found


def _year(run: Run, year: int, told: Callable[[int, int], None] | None) -> tuple[Floats, Floats]:
    """Integrate one year; return its monthly means at the probes, and leave the clock at zero."""
    integrator, count = run.integrator, len(run.recorder.probes)
    temperature, humidity = np.empty((YEAR, count)), np.empty((YEAR, count))
    for hour in range(YEAR):
        run.actions.before(hour, integrator.state)
        integrator.advance_to((hour + 1) * HOUR)
        reading = run.recorder.series(integrator.state)
        temperature[hour], humidity[hour] = reading.temperature, reading.relative_humidity
        if told:
            told(year, hour + 1)
    _rewind(run)
    return monthly_means(temperature), monthly_means(humidity)


def _rewind(run: Run) -> None:
    """Set the clock to the start and forget what flowed; the state and what it holds stay."""
    integrator = run.integrator
    integrator.time = 0.0
    integrator.through[:] = 0.0
    integrator.injected[:] = 0.0
    integrator.statistics = Statistics()


def settling_attributes(spin_up: SpinUp, drifts: list[Drift]) -> dict[str, Any]:
    """What a result file keeps of the settling; the drift by year as JSON, in K and as a share."""
    held = bool(drifts) and drifts[-1].within(spin_up)
    return {
        "settling_years": drifts[-1].year if drifts else spin_up.most_years,
        "settling_limit_temperature": spin_up.limit_t,
        "settling_limit_humidity": spin_up.limit_rh,
        "settling_held": "yes" if held else "no" if drifts else "not judged",
        "settling_drift": json.dumps([asdict(one) for one in drifts]),
    }
