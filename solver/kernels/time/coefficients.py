"""Coefficients of TR-BDF2 (N2).

With g = 2 - sqrt 2, d = g / 2 and w = sqrt 2 / 4 a step h takes two stages with one and the same diagonal d,

    W1 = W0 + d h (F0 + F1)            at t + g h (trapezoidal rule),
    W2 = W0 + h (w F0 + w F1 + d F2)   at t + h   (second-order backward difference),

second order and L-stable [1]_; the difference to a third-order companion estimates the error [2]_.

Where a state and its surroundings do not fit together, as at a start or when a flood comes, F0 says nothing of what
follows.  Two steps of implicit Euler, each of half the length, do without it [3]_:

    W1 = W0 + (h / 2) F1,   W2 = W1 + (h / 2) F2.

References
----------
.. [1] Bank, Coughran, Fichtner, Grosse, Rose, Smith (1985), IEEE Trans. CAD 4, 436-451.
.. [2] Hosea, Shampine (1996), Applied Numerical Mathematics 20, 21-37.
.. [3] Rannacher (1984), Numerische Mathematik 43, 309-327 (from memory, to be checked).
"""

from __future__ import annotations

from math import sqrt

from stemwall.solver.kernels.support.arrays import Tableau

#: g, d and w
STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: TR-BDF2, and two steps of implicit Euler
TR_BDF2 = Tableau(STAGE, DIAGONAL, 1.0, WEIGHT, WEIGHT)
IMPLICIT_EULER = Tableau(0.5, 0.5, 0.0, 0.0, 0.5)
#: weights of F0, F1, F2 in the change over a step less those of the third-order companion
ERROR_0 = WEIGHT - (1.0 - WEIGHT) / 3.0
ERROR_1 = WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0
ERROR_2 = DIAGONAL - DIAGONAL / 3.0
