"""Coefficients of TR-BDF2 (N2).

With g = 2 - sqrt 2, d = g / 2 and w = sqrt 2 / 4 a step h takes two stages with one and the same diagonal d,

    W1 = W0 + d h (F0 + F1)            at t + g h (trapezoidal rule),
    W2 = W0 + h (w F0 + w F1 + d F2)   at t + h   (second-order backward difference),

second order and L-stable [1]_; the difference to a third-order companion estimates the error [2]_.

References
----------
.. [1] Bank, Coughran, Fichtner, Grosse, Rose, Smith (1985), IEEE Trans. CAD 4, 436-451.
.. [2] Hosea, Shampine (1996), Applied Numerical Mathematics 20, 21-37.
"""

from __future__ import annotations

from math import sqrt

#: g, d and w
STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: weights of F0, F1, F2 in the change over a step less those of the third-order companion
ERROR_0 = WEIGHT - (1.0 - WEIGHT) / 3.0
ERROR_1 = WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0
ERROR_2 = DIAGONAL - DIAGONAL / 3.0
