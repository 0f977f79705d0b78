"""Rows of the matrix in blocks of four mutually independent nodes, and the links between these blocks.

The nodes get rows in their order, in groups of four of which none is coupled to another; where there are no such four
rows stay empty.  In a mesh numbered along its diagonals, what four rows are
coupled to are mostly four rows that follow each other: one *link* of the group, of four blocks.  Whatever else a
row is coupled to gets a link of its own, with blocks of zeros for the other three.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.kernels.linear.row_order import order_rows
from stemwall.solver.kernels.support.arrays import Factors, RowBlocks
from stemwall.solver.kernels.support.simd import WIDTH
from stemwall.solver.model.arrays import Ints

#: numbers of factors and of the linear solver's vectors: it lowers a remainder by a few powers of ten, and what it
#: leaves is measured anew in numbers of eight bytes; on large meshes it waits for memory
NUMBER = np.float32
#: unsigned, because signed indices are tested for counting from the end
Indices = NDArray[np.uint32]


def factors_for(
    rows: RowBlocks, number: type[np.floating[Any]] = NUMBER, zeros: Callable[..., Any] = np.zeros
) -> Factors:
    """Room for the factors of a matrix, of numbers of four bytes or of eight."""
    link, diagonal = 4 * WIDTH, 4 * rows.node.size
    sizes = link * rows.lower_start.size, link * rows.upper_start.size, diagonal, diagonal
    return Factors(*(zeros(size, number) for size in sizes))


def row_blocks(indptr: Ints, indices: Ints, diagonal: Ints) -> RowBlocks:
    """Give the nodes of a matrix of symmetric pattern their rows; its rows as in scipy, columns ascending."""
    nodes = diagonal.size
    row = np.empty(nodes, dtype=np.int64)
    count = order_rows(indptr, indices, diagonal, row)
    node = np.full(count, -1, dtype=np.int64)
    node[row] = np.arange(nodes)
    nothing = indices.size
    own = np.full(count, nothing, dtype=np.int64)
    own[row] = diagonal
    # both ends of each pair of nodes, and the places of its two blocks
    end = np.repeat(np.arange(nodes), np.diff(indptr))
    below = np.flatnonzero(indices < end)
    high, low = end[below], indices[below]
    above = np.searchsorted(end * nodes + indices, low * nodes + high)
    lower_first, lower_start, (lower_slot, lower_back) = _link(row[high], row[low], (below, above), count, nothing)
    upper_first, upper_start, (upper_slot,) = _link(row[low], row[high], (above,), count, nothing)
    return RowBlocks(
        row, node, _short(own), lower_first, lower_start, lower_slot, lower_back, upper_first, upper_start, upper_slot
    )


def _link(
    here: Ints, there: Ints, places: tuple[Ints, ...], rows: int, nothing: int
) -> tuple[Ints, Ints, list[Indices]]:
    """Links of all groups to the rows ``there`` of what rows ``here`` are coupled to."""
    group, lane = np.divmod(here, WIDTH)
    keys, link = np.unique(group * (2 * rows) + there - lane + WIDTH, return_inverse=True)
    first = np.searchsorted(keys, np.arange(rows // WIDTH + 1) * (2 * rows))
    slots = []
    for place in places:
        slot = np.full((keys.size, WIDTH), nothing, dtype=np.int64)
        slot[link, lane] = place
        slots.append(_short(slot))
    return first, keys % (2 * rows) - WIDTH, slots


def _short(values: NDArray[Any]) -> Indices:
    return np.ascontiguousarray(values, dtype=np.uint32)
