"""Mould index against its published equations, integrated here by other means than the package's.

The constants are written down again, so that a slip in the package's table shows.
The growth equation is integrated by a Runge-Kutta method of order 8 and by quadrature;
the package takes the closed form step by step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import quad, solve_ivp

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.solver.assessment.mould import mould_index, mould_index_1999

Floats = NDArray[np.float64]
#: hours of a week and of 52 weeks
WEEK, YEAR = 168, 8736
OJANEN = (
    "Ojanen et al. 2010, Buildings XI (class constants read in two public programs, the paper to be checked); "
    "Runge-Kutta of order 8 here"
)
HUKKA = (
    "Hukka & Viitanen 1999, Wood Sci. Technol. 33, 475-485 (equations read in a public program, the paper to be "
    "checked); Runge-Kutta of order 8 here"
)


@dataclass(frozen=True)
class Row:
    """Class constants: paces below and from index 1, ceiling a + b X - c X^2, least critical humidity [%]."""

    name: str
    slow: float
    fast: float
    a: float
    b: float
    c: float
    least: float


CLASSES = {
    "VS": Row("very sensitive", 1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "S": Row("sensitive", 0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "MR": Row("medium resistant", 0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "R": Row("resistant", 0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}


def critical(t: float, least: float) -> float:
    """Critical humidity [%] at a temperature [degC]; the least from 20 degC up, 100 at freezing."""
    if t > 20.0:
        return least
    return min(max(((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0, least), 100.0)


def weeks_at(t: float, percent: float) -> tuple[float, float]:
    """Weeks to index 1 and to index 3 on pine sapwood, sawn surface."""
    start = np.exp(66.02) * t**-0.68 * percent**-13.9
    return float(start), float(np.exp(61.50) * t**-0.74 * percent**-12.72)


@dataclass(frozen=True)
class Growth:
    """Growth at one temperature [degC] and humidity [%]: paces [1/d] below and from index 1, and the ceiling."""

    slow: float
    fast: float
    ceiling: float

    @classmethod
    def of(cls, row: Row, t: float, percent: float, *, original: bool = False) -> Growth:
        """By the constants of a class; of the original model the later pace comes from the two times."""
        least = critical(t, row.least)
        x = (percent - least) / (100.0 - least)
        start, visible = weeks_at(t, percent)
        pace = 1.0 / (7.0 * start)
        fast = 2.0 / (visible / start - 1.0) if original else row.fast
        return cls(row.slow * pace, fast * pace, row.a + row.b * x - row.c * x**2)

    def rate(self, index: float) -> float:
        """dM/dt [1/d], nothing above the ceiling."""
        pace = self.slow if index < 1.0 else self.fast
        return pace * max(1.0 - math.exp(2.3 * (index - self.ceiling)), 0.0)

    def after(self, days: ArrayLike, start: float = 0.0) -> Floats:
        """Index after so many days (rising), integrated to and from the bend at index 1."""
        times = np.asarray(days, dtype=float)
        if start >= 1.0 or self.ceiling <= 1.0:
            return self._smooth(times, start, self.slow if start < 1.0 else self.fast)
        at = self.days_between(start, 1.0)
        below, above = times[times <= at], times[times > at]
        later = self._smooth(above - at, 1.0, self.fast)
        return np.concatenate([self._smooth(below, start, self.slow), later])

    def days_between(self, start: float, end: float) -> float:
        """Days from one index to another, by quadrature of the reciprocal rate."""
        return float(quad(lambda m: 1.0 / self.rate(m), start, end, epsabs=0.0, epsrel=1e-12, limit=200)[0])

    def _smooth(self, times: Floats, start: float, pace: float) -> Floats:
        if not times.size:
            return times
        found = solve_ivp(
            lambda t, m: pace * (1.0 - np.exp(2.3 * (m - self.ceiling))),
            (0.0, float(times[-1]) + 1e-9), [start], "DOP853", times, rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        return np.asarray(found.y[0])


def steady(t: float, percent: float, hours: int = YEAR) -> tuple[Floats, Floats]:
    """Temperature [degC] and relative humidity [-] that stay the same for so many hours."""
    return np.full(hours, t), np.full(hours, percent / 100.0)


def constant() -> list[Comparison]:
    """Index at constant temperature and humidity for a year, all four classes.

    dM/dt = k1 k2/(7 t_m) per day from M = 0; t_m = exp(-0.68 ln t - 13.9 ln RH + 66.02) weeks,
    k2 = max(1 - exp(2.3 (M - M_max)), 0), M_max = A + B X - C X², X = (RH - RH_crit)/(100 - RH_crit),
    k1 one constant below and one from M = 1.

    20 °C and 90, 97, 100 %; 10 °C and 97 %; 5 °C and 97 %.
    """
    weeks = np.arange(2, 53, 2)
    dense = np.linspace(0.0, 52.0, 209)
    found = []
    for t, percent in ((20.0, 90.0), (20.0, 97.0), (20.0, 100.0), (10.0, 97.0), (5.0, 97.0)):
        for code, row in CLASSES.items():
            growth = Growth.of(row, t, percent)
            index = mould_index(*steady(t, percent), code)[weeks * WEEK - 1]
            found.append(
                compare(
                    f"{t:g} °C, {percent:g} %: {row.name}", OJANEN, f"mould index at {t:g} °C, {percent:g} % [-]",
                    weeks, index, growth.after(7.0 * weeks), 1e-6, axis="time [weeks]",
                    curve=(dense, growth.after(7.0 * dense)),
                )
            )  # fmt: skip
    return found


def original() -> list[Comparison]:
    """Original model of 1999 for sawn pine sapwood at constant conditions, one year.

    As the improved model, class very sensitive, but k1 = 2/(t_v/t_m - 1) from M = 1, with
    t_v = exp(-0.74 ln t - 12.72 ln RH + 61.50) weeks.
    """
    weeks = np.arange(2, 53, 2)
    dense = np.linspace(0.0, 52.0, 209)
    found = []
    for t, percent in ((20.0, 90.0), (20.0, 97.0), (10.0, 97.0)):
        growth = Growth.of(CLASSES["VS"], t, percent, original=True)
        index = mould_index_1999(*steady(t, percent))[weeks * WEEK - 1]
        found.append(
            compare(
                f"{t:g} °C, {percent:g} %", HUKKA, "mould index [-]", weeks, index, growth.after(7.0 * weeks), 1e-6,
                axis="time [weeks]", curve=(dense, growth.after(7.0 * dense)),
            )
        )  # fmt: skip
    return found


def times() -> list[Comparison]:
    """Weeks until growth begins (index 1) and is visible (index 3), against the integral of dM/(dM/dt).

    20 °C, 90 to 100 %; in steps of three minutes, between which the index is read off by straight lines.
    The classes that cannot reach an index are left out.
    """
    percent = np.array([90.0, 92.5, 95.0, 97.5, 100.0])
    source = OJANEN.replace("Runge-Kutta of order 8 here", "quadrature here")
    found, step = [], 0.05
    for code, row in CLASSES.items():
        for goal in (1.0, 3.0):
            computed, expected, at = [], [], []
            for rh in percent:
                growth = Growth.of(row, 20.0, float(rh))
                if growth.ceiling <= goal + 0.05:
                    continue
                days = growth.days_between(0.0, min(goal, 1.0)) + (growth.days_between(1.0, 3.0) if goal > 1 else 0)
                samples = int(24 * days / step) + 100
                index = np.insert(mould_index(*steady(20.0, float(rh), samples), code, step=step), 0, 0.0)
                k = int(np.searchsorted(index, goal))
                computed.append((k - 1 + (goal - index[k - 1]) / (index[k] - index[k - 1])) * step / WEEK)
                expected.append(days / 7.0)
                at.append(rh)
            if at:
                found.append(
                    compare(
                        row.name, source, f"weeks to index {goal:g}", at, computed, expected, 1e-4,
                        RELATIVE, axis="relative humidity [%]",
                    )
                )  # fmt: skip
    return found


def threshold() -> list[Comparison]:
    """Humidity at which anything begins to grow, found by halving, against the critical humidity.

    RH_crit = -0.00267 t³ + 0.160 t² - 3.13 t + 100 up to 20 °C and the least of the class above it; never
    below that least.  The package is asked for the index after one hour from zero, 40 halvings of the
    range 50 to 100 %.
    """
    t = np.linspace(1.0, 49.0, 25)
    found = []
    for code in ("VS", "MR"):
        low, high = np.full(t.size, 0.5), np.ones(t.size)
        for _ in range(40):
            middle = 0.5 * (low + high)
            grows = mould_index(t[None, :], middle[None, :], code)[0] > 0.0
            low, high = np.where(grows, low, middle), np.where(grows, middle, high)
        expected = [critical(float(v), CLASSES[code].least) for v in t]
        found.append(
            compare(
                CLASSES[code].name, HUKKA.replace("Runge-Kutta of order 8 here", "polynomial evaluated here"),
                "humidity at which growth begins [%]", t, 100.0 * high, expected, 1e-6, axis="temperature [°C]",
                note="above 20 °C the least of the class is taken, not the polynomial (at most 0.15 % higher)",
            )
        )  # fmt: skip
    return found
