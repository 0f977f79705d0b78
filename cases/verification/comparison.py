"""Comparison of what was computed with what is expected, and the norms it is judged by."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LARGEST = "largest difference"
RELATIVE = "largest relative difference"
SHORTFALL = "largest shortfall"
FACTOR = "largest factor"


def _factor(computed: Floats, expected: Floats) -> Floats:
    ratio = np.asarray(computed / expected)
    positive = ratio > 0
    return np.asarray(np.where(positive, np.exp(np.abs(np.log(np.where(positive, ratio, 1.0)))), np.inf))


NORMS: Mapping[str, Callable[[Floats, Floats], Floats]] = {
    LARGEST: lambda computed, expected: np.abs(computed - expected),
    RELATIVE: lambda computed, expected: np.abs(computed - expected) / np.abs(expected),
    SHORTFALL: lambda computed, expected: np.maximum(expected - computed, 0.0),
    FACTOR: _factor,
}


@dataclass(frozen=True)
class Comparison:
    """What was computed against what is expected, at labelled points.

    ``error`` is the norm named by ``norm`` (one of `NORMS`), its largest value over
    the points; the case holds if it is at most ``limit``.  An error that is not a
    number does not hold.

    Parameters
    ----------
    name : str
        What was run.
    source : str
        Where the expected values come from.
    quantity : str
        What is compared, with its unit.
    points : Floats
        Abscissae of the values: a place, a time or a plain number.
    computed, expected : Floats
        Values, one per point.
    limit : float
        Largest error that holds, in the unit of the norm.
    axis : str
        What ``points`` are, with their unit.
    extra : mapping of str to float
        Further numbers worth stating, by what they are.
    """

    name: str
    source: str
    quantity: str
    points: Floats
    computed: Floats
    expected: Floats
    limit: float
    norm: str = LARGEST
    note: str = ""
    axis: str = "x [m]"
    extra: Mapping[str, float] = field(default_factory=dict)

    @property
    def error(self) -> float:
        return float(np.max(NORMS[self.norm](self.computed, self.expected)))

    @property
    def holds(self) -> bool:
        return bool(self.error <= self.limit)


def compare(
    name: str,
    source: str,
    quantity: str,
    points: ArrayLike,
    computed: ArrayLike,
    expected: ArrayLike,
    limit: float,
    norm: str = LARGEST,
    *,
    note: str = "",
    axis: str = "x [m]",
    extra: Mapping[str, float] | None = None,
) -> Comparison:
    """A `Comparison` of anything that can be an array; scalars become one point."""
    c, e = (np.atleast_1d(np.asarray(v, dtype=float)).ravel() for v in (computed, expected))
    p = np.atleast_1d(np.asarray(points, dtype=float)).ravel()
    if not p.shape == c.shape == e.shape:
        raise ValueError(f"{name}, {quantity}: {p.size} points, {c.size} computed, {e.size} expected")
    return Comparison(name, source, quantity, p, c, e, limit, norm, note, axis, extra or {})
