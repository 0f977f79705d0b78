"""Half space under a periodic surface: damping, lag, flux, with and without a film."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import (
    CARSLAW,
    CONDUCTIVITY,
    DAY,
    DIFFUSIVITY,
    SOLID,
    growing_lines,
)
from stemwall.cases.verification.rig import Bench, bar, held_temperature
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
FILM = 10.0
SOURCE = f"{CARSLAW}, §2.6 (from memory); evaluated here"


@dataclass(frozen=True)
class Wave:
    """One period [s], where it is looked at [m], and how long it must swing before."""

    label: str
    period: float
    x: Floats
    periods: int
    reach: float

    @property
    def frequency(self) -> float:
        """Angular frequency [1/s]."""
        return 2 * np.pi / self.period

    @property
    def depth(self) -> float:
        """Depth where the amplitude has fallen to 1/e [m]."""
        return float(np.sqrt(2 * DIFFUSIVITY / self.frequency))


YEAR = Wave("year", 365 * DAY, np.array([0.25, 0.5, 1.0, 2.0, 5.0, 10.0]), 8, 40.0)
DAILY = Wave("day", DAY, np.array([0.02, 0.05, 0.1, 0.2, 0.3]), 8, 2.0)


def _swing(wave: Wave, film: float | None) -> tuple[Floats, Floats]:
    """Complex amplitudes at the surface and at wave.x, and of the surface flux, over the last period."""

    def outside(t: float) -> float:
        return float(np.sin(wave.frequency * t))

    bench = Bench(
        bar([("solid", wave.reach)], right=False),
        SOLID,
        growing_lines(wave.reach, wave.depth / 100, 1.015),
        [0.0, 0.1],
        lambda t, surface: (
            held_temperature(outside(t)) if film is None else {"air_temperature": outside(t), "film": film}
        ),
        temperature=0.0,
        accuracy=Accuracy(temperature=2e-5, longest_step=wave.period / 200),
    )
    bench.run_to((wave.periods - 1) * wave.period)
    samples = 72
    times = (wave.periods - 1 + np.arange(1, samples + 1) / samples) * wave.period
    places = np.concatenate([[0.0], wave.x])
    rows, flux = [], []
    for t in times:
        bench.run_to(t)
        rows.append(bench.along_x(bench.temperature, places))
        flux.append(bench.heat_in[0] / 0.1)
    # the start still dies away as a slow drift, fitted as a straight line beside the wave
    angle = wave.frequency * times
    basis = np.stack([np.sin(angle), np.cos(angle), np.ones(samples), angle], axis=1)
    fitted, *_ = np.linalg.lstsq(basis, np.column_stack([np.array(rows), flux]), rcond=None)
    swing = fitted[0] + 1j * fitted[1]  # amplitude times exp(i phase) of sin(angle + phase)
    return swing[:-1], swing[-1:]


def _surface(wave: Wave) -> list[Comparison]:
    swing, flux = _swing(wave, None)
    name = f"Periodic surface, {wave.label}"
    expected = np.exp(-wave.x / wave.depth)
    lag = wave.x / (wave.depth * wave.frequency)
    computed_lag = (-np.angle(swing[1:]) % (2 * np.pi)) / wave.frequency
    flux_size = CONDUCTIVITY * np.sqrt(2.0) / wave.depth
    dense = np.linspace(0.0, wave.x[-1], 101)
    return [
        compare(
            name,
            SOURCE,
            "amplitude [-]",
            wave.x,
            np.abs(swing[1:]),
            expected,
            5e-3,
            RELATIVE,
            curve=(dense, np.exp(-dense / wave.depth)),
        ),
        compare(name, SOURCE, "lag [s]", wave.x, computed_lag, lag, 1e-2, RELATIVE),
        compare(name, SOURCE, "flux amplitude [W/(m² K)]", 0.0, np.abs(flux), flux_size, 5e-3, RELATIVE),
        compare(
            name,
            SOURCE,
            "lead of the flux, periods [-]",
            0.0,
            np.angle(flux) / (2 * np.pi),
            0.125,
            1e-2,
            RELATIVE,
        ),
    ]


def _film(wave: Wave) -> list[Comparison]:
    swing, _ = _swing(wave, FILM)
    name = f"Periodic air behind a film, {wave.label}"
    b = CONDUCTIVITY / (FILM * wave.depth)
    size, lag = 1 / np.sqrt(1 + 2 * b + 2 * b * b), np.arctan(b / (1 + b)) / wave.frequency
    return [
        compare(name, SOURCE, "surface amplitude [-]", 0.0, np.abs(swing[0]), size, 5e-3, RELATIVE),
        compare(name, SOURCE, "surface lag [s]", 0.0, -np.angle(swing[0]) / wave.frequency, lag, 1e-2, RELATIVE),
    ]


def periodic_year() -> list[Comparison]:
    """Annual wave, held surface and film, after seven years.

    Half space, lam = 1.5 W/(m K), C = 2 MJ/(m³ K), under sin(w t) of 365 d.  With d = sqrt(2 a/w): amplitude
    exp(-x/d), lag x/(d w), flux sqrt(2) lam/d leading by an eighth; behind a film of 10 W/(m² K) the surface
    swings by 1/sqrt(1 + 2 b + 2 b²), b = lam/(h d), and lags by atan(b/(1 + b))/w.

    40 m long; cells from d/100, growing by 1.5 %; wanted error 2e-5, steps to 1/200 period.  Amplitude and lag by
    least squares over the eighth period.
    """
    return _surface(YEAR) + _film(YEAR)


def periodic_day() -> list[Comparison]:
    """Daily wave, held surface and film, after seven days.

    As the annual wave, with a period of 24 h on 2 m.
    """
    return _surface(DAILY) + _film(DAILY)
