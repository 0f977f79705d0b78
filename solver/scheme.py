"""Coefficients of the time scheme, see `marching`, and what it asks of loads."""

from __future__ import annotations

from math import sqrt
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


class LoadsInTime(Protocol):
    """What the marching asks of loads: rows (surfaces, columns) at a time [s] of a step.

    ``during`` is a time inside the step: what jumps at the step's ends has the value it has there.
    """

    def at(self, seconds: float, during: float) -> Floats: ...
