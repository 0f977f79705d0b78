"""Scatter between specimens, and what else a mean or a fit may have been: resampled residuals.

Residuals of all groups of one test are taken together, relative to the fitted values, and drawn again with
replacement; fewer than `FEW` of them are drawn from a normal distribution. Each draw is widened by
sqrt(n / chi²_n) for n degrees of freedom, so that a mean of few specimens spreads as Student's t does [1]_.

References
----------
.. [1] Efron, B., Tibshirani, R. J. (1993), An Introduction to the Bootstrap, chapter 9 (from memory, to be checked).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Generator = np.random.Generator

#: residuals from which their own distribution is drawn from; fewer tell little of its tails
FEW = 30
#: values below this share of the largest scatter as it does
FLOOR = 0.05
#: share of the draws that a band holds
BAND = 0.90


@dataclass(frozen=True)
class Scatter:
    """Relative scatter of single values about what was fitted.

    Parameters
    ----------
    deviation : float
        Standard deviation, relative [-].
    freedom : int
        Degrees of freedom; 0 where it was assumed and not found.
    residuals : ndarray, shape (N,)
        Relative residuals, scaled to that deviation.
    """

    deviation: float
    freedom: int
    residuals: Floats

    @classmethod
    def of(cls, residuals: Floats, parameters: int, assumed: float) -> Scatter:
        """Scatter of relative residuals of a fit of so many parameters; the assumed one where none are left over."""
        freedom = residuals.size - parameters
        square = float((residuals**2).sum())
        if freedom < 1 or square <= 0.0:
            return cls(assumed, 0, np.zeros(0))
        deviation = float(np.sqrt(square / freedom))
        spread = residuals - residuals.mean()
        size = float(np.sqrt((spread**2).mean()))
        return cls(deviation, freedom, spread * (deviation / size) if size > 0.0 else np.zeros(0))

    def draw(self, rng: Generator, size: int) -> Floats:
        """Draw relative errors of so many single values."""
        if self.residuals.size >= FEW:
            errors = rng.choice(self.residuals, size)
        else:
            errors = self.deviation * rng.standard_normal(size)
        widened = np.sqrt(self.freedom / rng.chisquare(self.freedom)) if self.freedom else 1.0
        return np.asarray(errors * widened)


@dataclass(frozen=True)
class Mean:
    """Mean of the specimens, and the means that other specimens may have had.

    Parameters
    ----------
    value : float
        Mean.
    values : tuple of float
        What was stated.
    scatter : Scatter
        Between specimens.
    draws : ndarray, shape (B,)
        Other means.
    """

    value: float
    values: tuple[float, ...]
    scatter: Scatter
    draws: Floats

    @property
    def deviation(self) -> float:
        """Standard deviation of the mean, relative [-]."""
        return float(self.draws.std() / self.value) if self.value else 0.0

    def band(self) -> tuple[float, float]:
        """Ends of the band that holds `BAND` of the draws."""
        low, high = np.quantile(self.draws, [0.5 - BAND / 2, 0.5 + BAND / 2])
        return float(low), float(high)


def mean_of(values: Sequence[float], assumed: float, rng: Generator, count: int) -> Mean:
    """Mean of some specimens, with ``count`` draws; ``assumed`` is the scatter of a single one."""
    given = np.asarray(values, dtype=float)
    value = float(given.mean())
    scatter = Scatter.of(given / value - 1.0, 1, assumed)
    errors = np.array([scatter.draw(rng, given.size).mean() for _ in range(count)])
    return Mean(value, tuple(given.tolist()), scatter, value * np.maximum(1.0 + errors, 0.05))


def scale(fitted: Floats) -> Floats:
    """What residuals are relative to: the fitted values, small ones held up."""
    return np.maximum(np.abs(fitted), FLOOR * float(np.abs(fitted).max()))


@dataclass(frozen=True)
class Band:
    """A curve with the band that holds `BAND` of the drawn curves as wholes, not point by point.

    Parameters
    ----------
    best, low, high : ndarray, shape (M,)
        Curve and ends of the band.
    """

    best: Floats
    low: Floats
    high: Floats

    def holds(self, curve: Floats) -> bool:
        """Whether a curve lies inside everywhere."""
        slack = 1e-9 * np.abs(curve)
        return bool(np.all((curve >= self.low - slack) & (curve <= self.high + slack)))


def band(best: Floats, drawn: Floats, *, logarithm: bool = False) -> Band:
    """Band of drawn curves (B, M) about the best (M,): the same multiple of the deviation everywhere.

    With ``logarithm`` the deviation is that of the logarithms, of curves above zero.
    """
    centre, curves = (np.log(best), np.log(drawn)) if logarithm else (best, drawn)
    deviation = np.sqrt(((curves - centre) ** 2).mean(axis=0))
    still = deviation <= 1e-12 * max(float(np.abs(centre).max()), 1e-300)
    largest = np.abs(curves - centre) / np.where(still, 1.0, deviation)
    largest = np.where(still, 0.0, largest).max(axis=1)
    reach = float(np.quantile(largest, BAND)) * deviation
    low, high = centre - reach, centre + reach
    return Band(best, np.exp(low), np.exp(high)) if logarithm else Band(best, np.maximum(low, 0.0), high)
