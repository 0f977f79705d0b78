"""Coefficients of the time scheme, see `marching`."""

from __future__ import annotations

from math import sqrt

import numpy as np

STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: weights of F0, F1, F2 in what flows in over a step
WEIGHTS = np.array([WEIGHT, WEIGHT, DIAGONAL])
#: the same less those of the third-order companion, Hosea & Shampine 1996
ERROR_WEIGHTS = np.array(
    [WEIGHT - (1.0 - WEIGHT) / 3.0, WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0, DIAGONAL - DIAGONAL / 3.0]
)
