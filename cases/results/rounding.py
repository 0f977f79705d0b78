"""Rounded numbers that add up: a column of a table is the sum of its rows as they are shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack

Floats = NDArray[np.float64]
#: what differs from a whole number by no more is that number
WHOLE = 1e-6


def add_up(values: Floats, weights: Floats, sums: Sequence[Mapping[int, float]]) -> NDArray[np.int64]:
    """Return whole numbers near some numbers that keep the sums that those keep.

    Each is one of the two next to its number where that is possible, and the nearest wherever sums allow; whole
    numbers stay.

    Parameters
    ----------
    values : Floats
        The numbers, (n,), in units of the last digit shown.
    weights : Floats
        How much it counts that each is the nearest, (n,).
    sums : sequence of mappings
        Sums that are zero, exactly but for rounding: coefficients (1 or -1) by place among the numbers.

    Raises
    ------
    ValueError
        If the numbers do not keep the sums.
    """
    near = np.where(np.abs(values - np.rint(values)) <= WHOLE, np.rint(values), values)
    low = np.floor(near)
    rows = [row for row, terms in enumerate(sums) for _ in terms]
    places = [place for terms in sums for place in terms]
    signs = [sign for terms in sums for sign in terms.values()]
    matrix = csr_array((np.array(signs, dtype=np.float64), (rows, places)), shape=(len(sums), values.size))
    if sums and np.abs(matrix @ values).max() > WHOLE * max(1.0, np.abs(values).max()):
        raise ValueError("found numbers that do not keep the sums; expected that they do before they are rounded")
    for slack in (0, values.size):  # sums that bind each other in rings may need more room
        found = _nearest(near, low, weights, matrix, slack)
        if found is not None:
            return np.asarray(np.rint(low + found), dtype=np.int64)
    raise AssertionError("sums of numbers next to whole ones have no whole solution")


def _nearest(near: Floats, low: Floats, weights: Floats, matrix: csr_array, slack: int) -> Floats | None:
    """What to add to the next lower whole numbers; ``slack`` more than to the next higher at most, or less."""
    count, share = near.size, near - low
    room = np.where(share > 0.0, 1.0, 0.0)
    # cost: distance to each number; both the step up and what goes beyond it are variables of their own
    cost = np.concatenate([weights * (1.0 - 2.0 * share), weights, weights])
    upper = np.concatenate([room, np.full(2 * count, float(slack))])
    whole = hstack([matrix, matrix, -matrix]).tocsr()
    given = -(matrix @ low)
    result = milp(
        cost, integrality=np.ones(3 * count), bounds=Bounds(np.zeros(3 * count), upper),
        constraints=LinearConstraint(whole, given, given) if matrix.shape[0] else None,
    )  # fmt: skip
    if result.x is None:
        return None
    up, more, less = np.split(np.asarray(result.x, dtype=np.float64), 3)
    return np.asarray(up + more - less)
