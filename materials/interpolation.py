"""Monotone cubics, the trapezoid rule and a bracketed root, in numpy alone: they are wanted before every run.

References
----------
.. [1] Fritsch, F. N., Butland, J. (1984), SIAM J. Sci. Stat. Comput. 5, 300-304 (from memory, to be checked).
.. [2] Chandrupatla, T. R. (1997), Adv. Eng. Softw. 28, 145-149 (from memory, to be checked).
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from stemwall.materials.water import FloatArray


class MonotoneCubic:
    """Piecewise cubic through points with the monotone slopes of Fritsch and Butland [1]_.

    Beyond the points the end pieces go on.

    Parameters
    ----------
    x : array_like, shape (N,)
        Strictly increasing, at least two.
    y : array_like, shape (N,)
        Values.
    """

    def __init__(self, x: ArrayLike, y: ArrayLike) -> None:
        self.x = np.asarray(x, dtype=np.float64)
        values = np.asarray(y, dtype=np.float64)
        step, secant = np.diff(self.x), np.diff(values) / np.diff(self.x)
        slopes = _slopes(step, secant)
        bend = (slopes[:-1] + slopes[1:] - 2.0 * secant) / step
        #: coefficients of the powers 0 to 3 of the distance from the left point, (4, N - 1)
        self.powers = np.stack([values[:-1], slopes[:-1], (secant - slopes[:-1]) / step - bend, bend / step])

    def __call__(self, x: ArrayLike) -> FloatArray:
        """Value."""
        d, (c0, c1, c2, c3) = self._pieces(x)
        return np.asarray(c0 + d * (c1 + d * (c2 + d * c3)))

    def slope(self, x: ArrayLike) -> FloatArray:
        """First derivative."""
        d, (_, c1, c2, c3) = self._pieces(x)
        return np.asarray(c1 + d * (2.0 * c2 + d * 3.0 * c3))

    def _pieces(self, x: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Distance from the left point of the piece that holds x, and the piece's coefficients."""
        at = np.asarray(x, dtype=np.float64)
        piece = np.clip(np.searchsorted(self.x, at, side="right") - 1, 0, self.x.size - 2)
        return at - self.x[piece], self.powers[:, piece]


def _slopes(step: FloatArray, secant: FloatArray) -> FloatArray:
    """Slopes at the points: weighted harmonic means of the secants beside, zero where these turn."""
    if secant.size == 1:
        return np.array([secant[0], secant[0]])
    left, right = secant[:-1], secant[1:]
    alike = left * right > 0.0
    w_left, w_right = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    inverse = w_left / np.where(alike, left, 1.0) + w_right / np.where(alike, right, 1.0)
    inner = np.where(alike, (w_left + w_right) / np.where(alike, inverse, 1.0), 0.0)
    first = _end_slope(step[0], step[1], secant[0], secant[1])
    last = _end_slope(step[-1], step[-2], secant[-1], secant[-2])
    return np.concatenate([[first], inner, [last]])


def _end_slope(near: float, far: float, secant: float, beyond: float) -> float:
    """Slope at an end: that of the parabola through three points, kept monotone."""
    slope = ((2.0 * near + far) * secant - near * beyond) / (near + far)
    if slope * secant <= 0.0:
        return 0.0
    if secant * beyond <= 0.0 and abs(slope) > 3.0 * abs(secant):
        return float(3.0 * secant)
    return float(slope)


def trapezoid(y: FloatArray, x: FloatArray) -> float:
    """Integral of y over x through points, shape (N,) each."""
    return float((np.diff(x) * (y[1:] + y[:-1]) / 2.0).sum())


def root(
    function: Callable[[float], float],
    low: float,
    high: float,
    tolerance: float,
    ends: tuple[float, float] | None = None,
) -> float:
    """Where a continuous function is zero between two ends at which its signs differ [2]_.

    Parameters
    ----------
    function : callable
        Of one number.
    low, high : float
        Ends.
    tolerance : float
        Greatest distance from the root.
    ends : tuple of float, optional
        Values of the function at the ends, where they are known.

    Raises
    ------
    ValueError
        When the signs at the ends do not differ.
    """
    a, b = low, high
    fa, fb = ends or (function(a), function(b))
    if fa * fb > 0.0:
        raise ValueError(f"no change of sign between {low} and {high}")
    share = 0.5
    while True:
        x = a + share * (b - a)
        fx = function(x)
        same = (fx > 0.0) == (fa > 0.0)
        c, fc = (a, fa) if same else (b, fb)
        if not same:
            b, fb = a, fa
        a, fa = x, fx
        best = a if abs(fa) < abs(fb) else b
        shortest = 0.5 * tolerance / abs(b - a) if b != a else 1.0
        if shortest > 0.5 or fa == 0.0 or fb == 0.0:
            return best
        share = _share(a, b, c, fa, fb, fc)
        share = min(max(share, shortest), 1.0 - shortest)


def _share(a: float, b: float, c: float, fa: float, fb: float, fc: float) -> float:
    """Next trial as a share of the way from a to b: inverse quadratic where that is trusted, else the middle."""
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    if not phi**2 < xi < 1.0 - (1.0 - phi) ** 2:
        return 0.5
    quadratic = fa / (fb - fa) * fc / (fb - fc)
    return quadratic + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
