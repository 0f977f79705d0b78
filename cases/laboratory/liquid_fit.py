"""Uptake of water: coefficient, knee and what a specimen holds when full, from series of mass over time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from stemwall.cases.laboratory.resampling import Floats, Generator, Mean, mean_of
from stemwall.cases.laboratory.sheet import UptakeTest

#: a knee is taken if it leaves at most this share of the squares, and the second stage is at most this share as fast
KNEE_FIT, KNEE_SLOPE = 0.3, 0.5


@dataclass(frozen=True)
class Series:
    """One specimen.

    Parameters
    ----------
    root : ndarray, shape (N,)
        Square roots of the times [s^0.5].
    gain : ndarray, shape (N,)
        Uptake per area [kg/m2].
    coefficient : float
        Slope of the first stage [kg/(m2 s^0.5)].
    offset : float
        Uptake of that line at time zero [kg/m2].
    knee : float or None
        Square root of the time at which the first stage ends [s^0.5]; None if the test ended before.
    second : float
        Slope of the second stage.
    """

    root: Floats
    gain: Floats
    coefficient: float
    offset: float
    knee: float | None
    second: float

    def line(self, root: Floats) -> Floats:
        """Fitted uptake [kg/m2]."""
        first = root if self.knee is None else np.minimum(root, self.knee)
        return np.asarray(self.offset + self.coefficient * first + self.second * (root - first))

    @property
    def full(self) -> float | None:
        """Uptake at the knee [kg/m2]."""
        return None if self.knee is None else float(self.offset + self.coefficient * self.knee)


def fit_series(time: Sequence[float], mass: Sequence[float], area: float) -> Series:
    """Straight line over the square root of time, or two with a knee where that is much better."""
    t, m = np.array(time), np.array(mass)
    order = np.argsort(t)
    t, m = t[order], m[order]
    gain = (m - (m[0] if t[0] == 0.0 else 0.0)) / area
    root = np.sqrt(t)
    single = least_squares(lambda p: p[0] + p[1] * root - gain, [0.0, gain[-1] / root[-1]])
    best: tuple[float, Floats, float] | None = None
    for knee in np.linspace(root[2], root[-2], 40) if root.size >= 6 else ():
        basis = np.stack([np.ones_like(root), np.minimum(root, knee), np.maximum(root - knee, 0.0)], axis=1)
        found = np.linalg.lstsq(basis, gain, rcond=None)[0]
        left = float(((basis @ found - gain) ** 2).sum())
        if best is None or left < best[0]:
            best = left, found, float(knee)
    if best is not None and best[0] < KNEE_FIT * 2.0 * single.cost and best[1][2] < KNEE_SLOPE * best[1][1]:
        (offset, slope, second), knee_at = best[1], best[2]
        return Series(root, gain, float(slope), float(offset), knee_at, float(second))
    offset, slope = single.x
    return Series(root, gain, float(slope), float(offset), None, 0.0)


@dataclass(frozen=True)
class UptakeFit:
    """Uptake coefficient, from the reference conditions of a material file.

    Parameters
    ----------
    tests : tuple of UptakeTest
    series : tuple of Series
        Of all specimens whose mass was followed.
    stated : Mean
        Coefficient as tested [kg/(m2 s^0.5)].
    ratio : float
        Coefficient from 50 % RH at 23 degC over that of the test [-].
    """

    tests: tuple[UptakeTest, ...]
    series: tuple[Series, ...]
    stated: Mean
    ratio: float

    @property
    def best(self) -> float:
        """Coefficient from 50 % RH at 23 degC [kg/(m2 s^0.5)]."""
        return self.stated.value * self.ratio

    @property
    def draws(self) -> Floats:
        """Other values of it, (B,)."""
        return self.stated.draws * self.ratio

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best fit, or of one draw."""
        value = self.best if number is None else float(self.draws[number])
        return {"kind": "absorption", "coefficient": float(f"{value:.5g}")}


def specimens(tests: Sequence[UptakeTest]) -> tuple[list[Series], list[float]]:
    """Series of all specimens, and all coefficients, stated ones first.

    Raises
    ------
    ValueError
        If a series does not rise.
    """
    series = [
        fit_series(test.time or (), one, test.area or 1.0)
        for test in tests
        if test.mass is not None
        for one in test.mass
    ]
    if any(one.coefficient <= 0.0 for one in series):
        raise ValueError("a mass that rises with time")
    stated = [value for test in tests for value in test.coefficient or ()]
    return series, [*stated, *(one.coefficient for one in series)]


def capillary_contents(tests: Sequence[UptakeTest]) -> list[float]:
    """Water taken up until the knee, per volume of the specimen [kg/m3]; none without a height."""
    found = []
    for test in tests:
        if test.height is None or test.mass is None:
            continue
        fits = (fit_series(test.time or (), one, test.area or 1.0) for one in test.mass)
        found += [one.full / test.height for one in fits if one.full is not None]
    return found


def fit_uptake_tests(
    tests: Sequence[UptakeTest],
    assumed: float,
    rng: Generator,
    count: int,
    returned: Callable[[float, float, float], float],
) -> UptakeFit:
    """Coefficient of all tests.

    Parameters
    ----------
    tests : sequence of UptakeTest
    assumed : float
        Relative scatter of a single specimen.
    rng : Generator
    count : int
        Draws.
    returned : callable
        Coefficient that a material of a given one returns from a humidity [-] at a temperature [degC].
    """
    series, values = specimens(tests)
    stated = mean_of(values, assumed, rng, count)
    start, temperature = tests[0].start, tests[0].temperature
    ratio = 1.0
    if abs(start - 0.5) > 0.02 or abs(temperature - 23.0) > 0.5:
        ratio = stated.value / returned(stated.value, start, temperature)
    return UptakeFit(tuple(tests), tuple(series), stated, ratio)
