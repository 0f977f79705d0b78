"""Kernel of the loads: rows at a time, from those at the ends of its hour.

Plain arrays only; nothing is allocated.  See `layout` for the columns.
"""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import AVAILABLE_WATER, LEVEL


@kernel
def between(ends, share, supply, standing, rows):
    """Rows (surfaces, columns) at a share of an hour, between ``ends`` (2, surfaces, columns).

    ``supply`` (surfaces,): water, constant within the hour; ``standing``: the last columns.
    """
    for k in range(rows.shape[0]):
        for c in range(LEVEL):
            rows[k, c] = (1.0 - share) * ends[0, k, c] + share * ends[1, k, c]
        rows[k, AVAILABLE_WATER] = supply[k]
        for c in range(standing.shape[1]):
            rows[k, LEVEL + c] = standing[k, c]
