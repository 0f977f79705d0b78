"""Incomplete factorisation of the block matrix (N10).

The matrix A is block-sparse: ``blocks`` (at least nnz + 1, 4) are its 2 x 2 blocks, row-major, those behind zeros.
The factors

    M = D (1 + L) (1 + U)   with   L = lower part of A / D,   U = upper part of A / D,

have diagonal blocks D such that M and A agree on the diagonal (DILU) [1]_: for a stencil without
triangles this is the incomplete LU factorisation without fill.  Four rows are factorised at once.

``c`` is a `support.arrays.RowBlocks`, ``f`` its `Factors`.

References
----------
.. [1] Meijerink, van der Vorst (1981), Journal of Computational Physics 44, 134-155.
"""

from __future__ import annotations

import math

import numpy as np

from stemwall.solver.kernels.support.jit import fused_kernel, kernel
from stemwall.solver.kernels.support.simd import WIDTH, broadcast, load, store, to_f64, transpose4

U4, U8, U12 = np.uint64(4), np.uint64(8), np.uint64(12)


@fused_kernel
def factorise(c, groups, inside, blocks, f):
    """Fill the factors of some groups; returns a node with a singular block, or -1.

    What joins rows to others that are not ``inside`` (R,) is left out, and rows that are not are those of the
    identity.  If few rows of a matrix changed, it is enough to renew the factors of their groups.
    """
    node, own = c.node, c.own
    lower_first, lower_start, lower_slot, lower_back = c.lower_first, c.lower_start, c.lower_slot, c.lower_back
    upper_first, upper_start, upper_slot = c.upper_first, c.upper_start, c.upper_slot
    lower, upper, inverse, middle = f.lower, f.upper, f.inverse, f.middle
    values, count = blocks.reshape(-1), np.uint64(node.size)
    one, two = broadcast(values, 1.0), broadcast(values, 2.0)
    nothing = blocks.shape[0] - 1
    for number in range(groups.size):
        group = groups[number]
        row, i = 4 * group, np.uint64(4 * group)
        for lane in range(4):
            r = np.uint64(row + lane)
            middle[r] = 0.0 if inside[r] else 1.0
        a0, a1, a2, a3 = _blocks(values, row, row, own[row], own[row + 1], own[row + 2], own[row + 3], inside, nothing)
        empty = to_f64(load(middle, i))
        a0, a3 = a0 + empty, a3 + empty
        d0, d1, d2, d3 = a0, a1, a2, a3
        for link in range(lower_first[group], lower_first[group + 1]):
            start = lower_start[link]
            s, b = lower_slot[link], lower_back[link]
            l0, l1, l2, l3 = _blocks(values, row, start, s[0], s[1], s[2], s[3], inside, nothing)
            u0, u1, u2, u3 = _product(
                *_rows(inverse, count, np.uint64(start)),
                *_blocks(values, row, start, b[0], b[1], b[2], b[3], inside, nothing),
            )
            d0 -= l0 * u0 + l1 * u2
            d1 -= l0 * u1 + l1 * u3
            d2 -= l2 * u0 + l3 * u2
            d3 -= l2 * u1 + l3 * u3
            _store_block(lower, link, l0, l1, l2, l3)
        share = one / (d0 * d3 - d1 * d2)
        zero = share - share
        b0, b1, b2, b3 = d3 * share, zero - d1 * share, zero - d2 * share, d0 * share
        store(inverse, i, b0)
        store(inverse, count + i, b1)
        store(inverse, count + count + i, b2)
        store(inverse, count + count + count + i, b3)
        for lane in range(4):
            r = i + np.uint64(lane)
            if not math.isfinite(inverse[r] + inverse[r + count + count + count]):
                # what is left must not matter
                for entry in range(4):
                    for k in range(4):
                        inverse[np.uint64(entry) * count + i + np.uint64(k)] = 0.0
                return node[r]
        m0, m1, m2, m3 = _product(b0, b1, b2, b3, a0, a1, a2, a3)
        store(middle, i, m0 - two)
        store(middle, count + i, m1)
        store(middle, count + count + i, m2)
        store(middle, count + count + count + i, m3 - two)
        for link in range(lower_first[group], lower_first[group + 1]):
            k = np.uint64(16 * link)
            l0, l1 = to_f64(load(lower, k)), to_f64(load(lower, k + U4))
            l2, l3 = to_f64(load(lower, k + U8)), to_f64(load(lower, k + U12))
            _store_block(lower, link, *_product(b0, b1, b2, b3, l0, l1, l2, l3))
        for link in range(upper_first[group], upper_first[group + 1]):
            s = upper_slot[link]
            u0, u1, u2, u3 = _blocks(
                values, row, upper_start[link], s[0], s[1], s[2], s[3], inside, nothing
            )  # fmt: skip
            _store_block(upper, link, *_product(b0, b1, b2, b3, u0, u1, u2, u3))
    return -1


@kernel
def _blocks(values, row, other, s0, s1, s2, s3, inside, nothing):
    """The blocks at four places, by entry; zeros where one of four rows or of four others is not inside."""
    i, j = np.uint64(row), np.uint64(other)
    a, b, d = np.uint64(1), np.uint64(2), np.uint64(3)
    s0 = s0 if inside[i] and inside[j] else nothing
    s1 = s1 if inside[i + a] and inside[j + a] else nothing
    s2 = s2 if inside[i + b] and inside[j + b] else nothing
    s3 = s3 if inside[i + d] and inside[j + d] else nothing
    return transpose4(values, np.uint64(4 * s0), np.uint64(4 * s1), np.uint64(4 * s2), np.uint64(4 * s3))


@kernel
def _rows(values, count, i):
    """Blocks of four rows, by entry."""
    two, three = count + count, count + count + count
    one, other = to_f64(load(values, i)), to_f64(load(values, count + i))
    return one, other, to_f64(load(values, two + i)), to_f64(load(values, three + i))


@fused_kernel
def _product(a0, a1, a2, a3, b0, b1, b2, b3):
    """Blocks times blocks."""
    return a0 * b0 + a1 * b2, a0 * b1 + a1 * b3, a2 * b0 + a3 * b2, a2 * b1 + a3 * b3


@kernel
def _store_block(values, link, b0, b1, b2, b3):
    """Put the blocks of a link in their place."""
    k = np.uint64(16 * link)
    store(values, k, b0)
    store(values, k + U4, b1)
    store(values, k + U8, b2)
    store(values, k + U12, b3)


@kernel
def factorise_dirty(linear):
    """Renew the factors of the rows that changed; False if a block is singular."""
    dirty, factors_dirty, groups = linear.dirty, linear.factors_dirty, linear.dirty_groups
    if not dirty[1]:
        return True
    if dirty[0]:
        failed = factorise(linear.rows, linear.groups, linear.row_mask, linear.blocks, linear.factors)
    else:
        count, last, row = 0, -1, linear.rows.row
        for n in range(row.size):
            if factors_dirty[n] and row[n] // WIDTH != last:
                groups[count] = last = row[n] // WIDTH
                count += 1
        failed = factorise(linear.rows, groups[:count], linear.row_mask, linear.blocks, linear.factors)
    factors_dirty[:] = False
    dirty[0] = dirty[1] = failed >= 0
    return failed < 0
