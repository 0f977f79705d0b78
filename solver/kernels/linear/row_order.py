"""Rows of the matrix in blocks of four mutually independent nodes, and the blocks that a subset of nodes has.

Four rows that do not wait for each other are done at a time.  The nodes get rows in their order; where there are no
such four, rows stay empty.
"""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.simd import WIDTH


@kernel
def row_blocks_of(nodes, row, groups, inside):
    """List the groups of four rows in which nodes, in ascending order, have theirs; returns how many.

    ``inside`` (R,) says which rows are theirs.
    """
    count, last = 0, -1
    inside[:] = False
    for number in range(nodes.size):
        r = row[nodes[number]]
        inside[r] = True
        group = r // WIDTH
        if group != last:
            groups[count] = last = group
            count += 1
    return count


@kernel
def order_rows(indptr, indices, diagonal, row):
    """Fill ``row`` (N,): nodes in groups of four none of which is coupled to another, in their order.

    Returns how many rows there are.
    """
    # a group of empty rows before all others, and one behind: links may reach beyond the first and the last
    after = WIDTH
    for n in range(row.size):
        begun = after - after % WIDTH
        for k in range(indptr[n], diagonal[n]):
            if row[indices[k]] >= begun:
                after = begun + WIDTH
        row[n] = after
        after += 1
    return after + (WIDTH - after % WIDTH) % WIDTH + WIDTH
