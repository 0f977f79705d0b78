"""Rows of the matrix ordered for the kernels of the linear solver.

Most nodes have at most two neighbours with a lower number and two with a higher one.
These *near* couplings are kept in places of fixed number, so that the kernels run
without inner loops; missing ones point at a block of zeros.  Couplings beyond are
*far*: some pairs of nodes, listed once in the order in which a sweep forth
meets them and once in that of a sweep back.

Kernels are given plain tuples of what is here: compiled code is kept between runs, and code that
was compiled for a class would outlive a change of it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
#: unsigned, because signed indices are tested for counting from the end
Indices = NDArray[np.uint32]
#: near couplings of a row on each side
NEAR = 2


class Couplings(NamedTuple):
    """Where the blocks of a row are and whom they join; N rows, F far pairs.

    near (N, 4): columns of two lower and two higher near couplings; slot (N, 4): their blocks' places, that
    of the block of zeros where there is none; mirror (N, 2): which of its two higher couplings leads from
    the lower neighbour back to the row; diagonal (N,): places of the diagonal blocks.
    lower_slot, upper_slot (F,): places of the two blocks of each far pair.
    """

    near: Indices
    slot: Indices
    mirror: Indices
    diagonal: Indices
    lower_slot: Indices
    upper_slot: Indices


class Sweep(NamedTuple):
    """A way through some or all nodes in one direction: runs of consecutive numbers.

    begin, end (R,): first node of each run and the one after its last, in the direction of the sweep.  The first
    node of a run may have far couplings to nodes passed before: pair, column (F,): their numbers and other ends, those
    of run k from first[k] to first[k + 1].
    """

    begin: Ints
    end: Ints
    first: Ints
    pair: Indices
    column: Indices


class Factors(NamedTuple):
    """An incomplete factorisation D (1 + L) (1 + U); see `factor_kernels`.

    lower, upper (N, 2, 4): near blocks of L and U; inverse (N, 4): blocks of 1/D; middle (N, 4): of A/D - 2 on the
    diagonal; far_lower, far_upper (F, 4): blocks of the far pairs.
    """

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    middle: NDArray[np.float64]
    inverse: NDArray[np.float64]
    far_lower: NDArray[np.float64]
    far_upper: NDArray[np.float64]


def factors_for(couplings: Couplings) -> Factors:
    """Room for the factors of a matrix."""
    rows, pairs = couplings.near.shape[0], couplings.lower_slot.size
    near, own, far = (rows, NEAR, 4), (rows, 4), (pairs, 4)
    return Factors(*(np.zeros(shape) for shape in (near, near, own, own, far, far)))


def sort_couplings(indptr: Ints, indices: Ints, diagonal: Ints) -> tuple[Couplings, Sweep, Sweep]:
    """Sort the couplings of a matrix of symmetric pattern by near and far; its rows as in scipy, columns ascending.

    The two closest on each side are near, if both ends see it so.  The sweeps, forth and back, pass all nodes.
    """
    rows, blocks = diagonal.size, indices.size
    row = np.repeat(np.arange(rows), np.diff(indptr))
    slot = np.flatnonzero(indices < row)
    high, low = row[slot], indices[slot]
    back = np.searchsorted(row * rows + indices, low * rows + high)
    # both ranks count from the closest neighbour
    rank = diagonal[high] - 1 - slot
    mirror = back - diagonal[low] - 1
    is_near = (rank < NEAR) & (mirror < NEAR)
    # where there is none, a row that a sweep has just passed: what is multiplied with zeros must be finite
    near = np.repeat(np.arange(rows)[:, None], 2 * NEAR, axis=1)
    near[1:, :NEAR] -= 1
    near[:-1, NEAR:] += 1
    places = np.full((rows, 2 * NEAR), blocks)
    mirrors = np.zeros((rows, NEAR), dtype=np.int64)
    for end, other, place, where in ((high, low, rank, slot), (low, high, NEAR + mirror, back)):
        near[end[is_near], place[is_near]] = other[is_near]
        places[end[is_near], place[is_near]] = where[is_near]
    mirrors[high[is_near], rank[is_near]] = mirror[is_near]
    far = np.flatnonzero(~is_near)
    high, low = high[far], low[far]
    couplings = Couplings(*(_short(a) for a in (near, places, mirrors, diagonal, slot[far], back[far])))
    return couplings, _sweep(high, low, rows, 1), _sweep(low, high, rows, -1)


def _sweep(end: Ints, other: Ints, rows: int, step: int) -> Sweep:
    """Pass all nodes; ``end`` and ``other`` are the ends of the far pairs, the one met last and the one met first."""
    start, stop = (0, rows) if step > 0 else (rows - 1, -1)
    begin = step * np.unique(step * np.append(end, start))
    order = np.argsort(step * end, kind="stable")
    first = np.searchsorted(step * end[order], step * begin)
    return Sweep(begin, np.append(begin[1:], stop), np.append(first, end.size), _short(order), _short(other[order]))


def room_for(whole: Sweep, rows: int) -> Sweep:
    """Room for a sweep through any nodes."""
    runs = np.zeros(rows, dtype=np.int64)
    return Sweep(runs, runs.copy(), np.zeros(rows + 1, dtype=np.int64), whole.pair.copy(), whole.column.copy())


def _short(values: NDArray[Any]) -> Indices:
    return np.ascontiguousarray(values, dtype=np.uint32)
