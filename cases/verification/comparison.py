"""Comparison of what was computed with what is expected, and the norms it is judged by."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LARGEST = "largest difference"
RELATIVE = "largest relative difference"
SHORTFALL = "largest shortfall"
EXCESS = "largest excess"
FACTOR = "largest factor"
ABOVE, BELOW = "smallest lead", "smallest lag"


def _factor(computed: Floats, expected: Floats) -> Floats:
    ratio = np.asarray(computed / expected)
    positive = ratio > 0
    return np.asarray(np.where(positive, np.exp(np.abs(np.log(np.where(positive, ratio, 1.0)))), np.inf))


NORMS: Mapping[str, Callable[[Floats, Floats], Floats]] = {
    LARGEST: lambda computed, expected: np.abs(computed - expected),
    RELATIVE: lambda computed, expected: np.abs(computed - expected) / np.abs(expected),
    SHORTFALL: lambda computed, expected: np.maximum(expected - computed, 0.0),
    EXCESS: lambda computed, expected: np.maximum(computed - expected, 0.0),
    FACTOR: _factor,
    ABOVE: lambda computed, expected: computed - expected,
    BELOW: lambda computed, expected: expected - computed,
}


class NotRun(Exception):  # noqa: N818 -- nothing went wrong
    """A case that cannot be run here; its text says what is missing."""


@dataclass(frozen=True)
class Refinement:
    """Errors with ever more cells or steps, and the order that the scheme promises.

    Parameters
    ----------
    counts : Floats
        Cells or steps, rising.
    errors : Floats
        Error of each, in ``unit``.
    design : float
        Order of the scheme.
    what, unit : str
        What is counted, and the unit of the errors.
    """

    counts: Floats
    errors: Floats
    design: float
    what: str
    unit: str

    @property
    def orders(self) -> Floats:
        """Observed order from each count to the next."""
        return np.asarray(np.log(self.errors[:-1] / self.errors[1:]) / np.log(self.counts[1:] / self.counts[:-1]))


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
    curve : tuple of Floats or None
        Points and expected values closer together, for drawing where ``points`` are few.
    labels : tuple of str
        Names of the points where they are no scale.
    refinement : Refinement or None
        The errors that an observed order was found from.
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
    curve: tuple[Floats, Floats] | None = None
    labels: tuple[str, ...] = ()
    refinement: Refinement | None = None

    @property
    def errors(self) -> Floats:
        """The norm at each point."""
        return NORMS[self.norm](self.computed, self.expected)

    @property
    def error(self) -> float:
        """The largest of the errors."""
        return float(np.max(self.errors))

    @property
    def rms(self) -> float:
        """Root mean square of the errors."""
        return float(np.sqrt(np.mean(self.errors**2)))

    @property
    def share(self) -> float:
        """Error as a share of the limit; what is no number counts as the worst."""
        share = self.error / self.limit
        return share if np.isfinite(share) else np.inf

    @property
    def holds(self) -> bool:
        """Whether the error stays within its limit."""
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
    curve: tuple[ArrayLike, ArrayLike] | None = None,
    labels: Sequence[str] = (),
    refinement: Refinement | None = None,
) -> Comparison:
    """A `Comparison` of anything that can be an array; scalars become one point."""
    c, e = (np.atleast_1d(np.asarray(v, dtype=float)).ravel() for v in (computed, expected))
    p = np.atleast_1d(np.asarray(points, dtype=float)).ravel()
    if not p.shape == c.shape == e.shape:
        raise ValueError(f"{name}, {quantity}: {p.size} points, {c.size} computed, {e.size} expected")
    if labels and len(labels) != p.size:
        raise ValueError(f"{name}, {quantity}: {p.size} points, {len(labels)} labels")
    drawn = None if curve is None else (np.asarray(curve[0], dtype=float), np.asarray(curve[1], dtype=float))
    return Comparison(
        name, source, quantity, p, c, e, limit, norm, note, axis, extra or {}, drawn, tuple(labels), refinement
    )


@dataclass(frozen=True)
class Sign(Comparison):
    """Two values of which the first must be the larger (`ABOVE`) or the smaller (`BELOW`), at each point.

    ``computed`` is the first, ``expected`` the second: another run, or a bound that a source gives.  ``error`` is
    the smallest gap in the sense asked for and ``limit`` the least gap that counts; the sign holds if the gap is
    at least that and more than nothing.
    """

    @property
    def error(self) -> float:
        """The smallest of the gaps."""
        return float(np.min(self.errors))

    @property
    def share(self) -> float:
        """Least gap as a share of the gap found; a gap of the wrong sense counts as the worst."""
        return self.limit / self.error if self.error > 0 else np.inf

    @property
    def holds(self) -> bool:
        """Whether the difference has the expected sign and its least size."""
        return bool(self.error > 0 and self.error >= self.limit)


def sign(
    name: str,
    source: str,
    quantity: str,
    computed: ArrayLike,
    norm: str,
    expected: ArrayLike,
    least: float = 0.0,
    *,
    note: str = "",
    points: ArrayLike | None = None,
    axis: str = "number",
    extra: Mapping[str, float] | None = None,
) -> Sign:
    """A `Sign`: ``computed`` must lie `ABOVE` or `BELOW` ``expected`` by ``least`` or more."""
    c, e = (np.atleast_1d(np.asarray(v, dtype=float)).ravel() for v in (computed, expected))
    p = np.arange(1.0, c.size + 1.0) if points is None else np.asarray(points, dtype=float)
    if norm not in (ABOVE, BELOW) or not p.shape == c.shape == e.shape:
        raise ValueError(f"{name}, {quantity}: {norm}, {p.size} points, {c.size} computed, {e.size} expected")
    return Sign(name, source, quantity, p, c, e, least, norm, note, axis, extra or {})
