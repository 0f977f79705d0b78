"""Coefficients of the time scheme, see `marching`, and what it asks of loads."""

from __future__ import annotations

from math import ceil, sqrt
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: weights of F0, F1, F2 in what flows in over a step
WEIGHTS = np.array([WEIGHT, WEIGHT, DIAGONAL])
#: the same less those of the third-order companion, Hosea & Shampine 1996
ERROR_WEIGHTS = np.array(
    [WEIGHT - (1.0 - WEIGHT) / 3.0, WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0, DIAGONAL - DIAGONAL / 3.0]
)

#: place of the middle stage in a step, the diagonal, the weight and the weights of the error, for kernels
COEFFICIENTS = (STAGE, DIAGONAL, WEIGHT, *ERROR_WEIGHTS.tolist())


def longer(error: float) -> float:
    """Length of the next step over that of one whose error was this share of what is wanted."""
    return min(4.0, max(0.3, 0.85 * float(max(error, 1e-6) ** (-1 / 3))))


def shorter(error: float, least: float = 0.2, order: float = 3.0) -> float:
    """Length of a step to be taken again over what it was, by its error, which falls with that power of the length.

    No less than a share ``least``.
    """
    return max(least, 0.85 * float(error ** (-1.0 / order)))


def next_end(time: float, target: float, wanted: float) -> float:
    """End [s] of a step of at most the length wanted, one of equal steps that end at a target."""
    count = ceil((target - time) / wanted - 1e-9)
    return target if count <= 1 else time + (target - time) / count


class LoadsInTime(Protocol):
    """What the marching asks of loads: rows (surfaces, columns) at a time [s] of a step.

    ``during`` is a time inside the step: what jumps at the step's ends has the value it has there.  Few nodes that take
    shorter steps inside it see loads on straight lines between its three stages.
    """

    def at(self, seconds: float, during: float) -> Floats: ...
