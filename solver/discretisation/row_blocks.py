"""Rows of the matrix ordered for the kernels of the linear solver: four that do not wait for each other at a time.

The nodes get rows in their order, in groups of four of which none is coupled to another; where there are no such four
rows stay empty.  In a mesh numbered along its diagonals, what four rows are
coupled to are mostly four rows that follow each other: one *link* of the group, of four blocks.  Whatever else a
row is coupled to gets a link of its own, with blocks of zeros for the other three.

Kernels are given plain tuples of what is here: compiled code is kept between runs, and code that
was compiled for a class would outlive a change of it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.kernels.newton.active_set import give_rows
from stemwall.solver.kernels.support.simd import WIDTH

Ints = NDArray[np.int64]
#: numbers of factors and of the linear solver's vectors: it lowers a remainder by a few powers of ten, and what it
#: leaves is measured anew in numbers of eight bytes; on large meshes it waits for memory
NUMBER = np.float32
#: unsigned, because signed indices are tested for counting from the end
Indices = NDArray[np.uint32]


class Couplings(NamedTuple):
    """Rows, groups and links; N nodes, R rows, the first and last group of which are empty.

    row (N,): row of each node; node (R,): node of each row or -1; own (R,): place of its block on the diagonal.
    lower_first (groups + 1,): links of each group to lower rows; lower_start (E,): the row that the first of the group
    is coupled to, those of the others follow; lower_slot, lower_back (E, 4): places of the blocks and of those that
    lead back.  upper_first, upper_start, upper_slot: the same for higher rows.
    Where there is no block, the place is that of one of zeros, behind those of the matrix.
    """

    row: Ints
    node: Ints
    own: Indices
    lower_first: Ints
    lower_start: Ints
    lower_slot: Indices
    lower_back: Indices
    upper_first: Ints
    upper_start: Ints
    upper_slot: Indices

    @property
    def groups(self) -> Ints:
        """All groups that have rows, in ascending order."""
        return np.arange(1, self.lower_first.size - 2)


class Factors(NamedTuple):
    """An incomplete factorisation D (1 + L) (1 + U), see `factor_kernels`, by entry of the blocks, row-major.

    lower, upper (E * 16,): blocks of L and U by link, entry and lane; inverse, middle (4 * R,): blocks of 1/D, and of
    A/D - 2 on the diagonal, by entry and row.
    """

    lower: NDArray[np.floating[Any]]
    upper: NDArray[np.floating[Any]]
    inverse: NDArray[np.floating[Any]]
    middle: NDArray[np.floating[Any]]


def factors_for(
    couplings: Couplings, number: type[np.floating[Any]] = NUMBER, zeros: Callable[..., Any] = np.zeros
) -> Factors:
    """Room for the factors of a matrix, of numbers of four bytes or of eight."""
    links, rows = 4 * WIDTH, 4 * couplings.node.size
    sizes = links * couplings.lower_start.size, links * couplings.upper_start.size, rows, rows
    return Factors(*(zeros(size, number) for size in sizes))


def sort_couplings(indptr: Ints, indices: Ints, diagonal: Ints) -> Couplings:
    """Give the nodes of a matrix of symmetric pattern their rows; its rows as in scipy, columns ascending."""
    nodes = diagonal.size
    row = np.empty(nodes, dtype=np.int64)
    rows = give_rows(indptr, indices, diagonal, row)
    node = np.full(rows, -1, dtype=np.int64)
    node[row] = np.arange(nodes)
    nothing = indices.size
    own = np.full(rows, nothing, dtype=np.int64)
    own[row] = diagonal
    # both ends of each pair of nodes, and the places of its two blocks
    end = np.repeat(np.arange(nodes), np.diff(indptr))
    below = np.flatnonzero(indices < end)
    high, low = end[below], indices[below]
    above = np.searchsorted(end * nodes + indices, low * nodes + high)
    lower_first, lower_start, (lower_slot, lower_back) = _link(row[high], row[low], (below, above), rows, nothing)
    upper_first, upper_start, (upper_slot,) = _link(row[low], row[high], (above,), rows, nothing)
    return Couplings(
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
