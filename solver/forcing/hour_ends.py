"""Hourly means as a line through the ends of the hours: sums are kept, without a jump or a kink inside an hour.

Averaged, joined by the mean of the two hours that meet, and by straight lines, a daily wave would lose 1.7 %.  Before
they are joined the means are therefore sharpened: between neighbouring hours a quarter of their difference goes from
the lower to the higher, which is to second order what all three take from a wave.  The differences are smoothed over
five hours first, and are as much larger as that takes from a day: what changes from one hour to the next is not
made larger, which would ask for shorter steps.  What cannot be below zero gives no more than it has (a one-sided flux
limiter, Zalesak 1979; from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.model.arrays import Floats

#: hours on either side of a block that have a part in the values at its ends
BEFORE_AND_AFTER = 5
#: share of the smoothed difference that goes: a quarter, over what smoothing leaves of a daily wave
QUARTER = 0.25 / ((1.0 + 2.0 * np.cos(2.0 * np.pi / 24.0)) / 3.0) ** 2


def with_neighbours(hours: slice, count: int) -> tuple[slice, slice]:
    """Some of ``count`` hours with those around them that their ends ask for, and where they stand among these."""
    around = slice(max(hours.start - BEFORE_AND_AFTER, 0), min(hours.stop + BEFORE_AND_AFTER, count))
    return around, slice(hours.start - around.start, hours.stop - around.start)


def at_hour_ends(means: Floats, hours: slice, *, bounded: NDArray[np.bool_] | bool = False) -> Floats:
    """Values at the ends of some hours, one more than they are, from the hourly means of all along the first axis.

    ``bounded`` says what cannot be below zero, for all or by column.
    """
    last, ends = means.shape[0] - 1, np.arange(hours.start, hours.stop + 1)
    sharp = sharpened(means, bounded=bounded)
    return np.asarray(0.5 * (sharp[np.minimum(ends, last)] + sharp[np.maximum(ends - 1, 0)]))


def sharpened(means: Floats, *, bounded: NDArray[np.bool_] | bool = False) -> Floats:
    """Hourly means (hours, ...) of the same sum with the amplitude that joining takes; see the module text."""
    flux = QUARTER * _smoothed(_smoothed(np.diff(means, axis=0)))
    if np.any(bounded):
        given = np.zeros_like(means)
        given[:-1] += np.maximum(flux, 0.0)
        given[1:] += np.maximum(-flux, 0.0)
        share = np.clip(np.divide(means, given, out=np.ones_like(means), where=given > 0.0), 0.0, 1.0)
        flux = np.where(bounded, flux * np.where(flux > 0.0, share[:-1], share[1:]), flux)
    found = np.array(means, dtype=np.float64)
    found[:-1] -= flux
    found[1:] += flux
    return found


def _smoothed(values: Floats) -> Floats:
    """Means of each value and its two neighbours along the first axis; the ends stand for what is beyond them."""
    if not len(values):
        return values
    wider = np.concatenate([values[:1], values, values[-1:]])
    return np.asarray((wider[:-2] + wider[1:-1] + wider[2:]) / 3.0)
