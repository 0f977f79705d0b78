"""Kernels of the incomplete factorisation.

The matrix A is block-sparse: ``blocks`` (nnz + 1, 4) are its 2 x 2 blocks, row-major, the last one zeros.  The factors

    M = D (1 + L) (1 + U)   with   L = lower part of A / D,   U = upper part of A / D,

have diagonal blocks D such that M and A agree on the diagonal (DILU) [1]_: for a stencil without
triangles this is the incomplete LU factorisation without fill.

``c``, ``f``, ``forth`` and ``back`` are the fields of `couplings.Couplings`, `Factors` and `Sweep`.  The functions
of this file call only each other.

References
----------
.. [1] Meijerink, van der Vorst (1981), Journal of Computational Physics 44, 134-155.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

FUSED = {"contract"}


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def factorise(c, forth, back, inside, blocks, f):
    """Fill the factors of the rows of the sweeps; returns the first with a singular block, or -1.

    What joins them to nodes that are not ``inside`` (N,) is left out.  Rows inside but not in the sweeps keep
    their factors: if few rows of a matrix changed, it is enough to renew these.
    """
    near, slot, mirror, diagonal, lower_slot, upper_slot = c
    lower, upper, middle, inverse, far_lower, far_upper = f
    begins, ends, firsts, pairs, columns = forth
    for run in range(begins.size):
        begin, first, last = begins[run], firsts[run], firsts[run + 1]
        if begin == 0:
            # the first row reads itself, times zero: let it be finite
            upper[0, :, :] = 0.0
        s0, s1, s2, s3 = 0.0, 0.0, 0.0, 0.0
        for number in range(first, last):
            e = pairs[number]
            u0, u1, u2, u3 = _product(inverse, columns[number], blocks, upper_slot[e])
            k = lower_slot[e]
            l0, l1, l2, l3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
            s0 += l0 * u0 + l1 * u2
            s1 += l0 * u1 + l1 * u3
            s2 += l2 * u0 + l3 * u2
            s3 += l2 * u1 + l3 * u3
        failed = _factorise_rows(
            begin, ends[run], s0, s1, s2, s3, inside, near, slot, mirror, diagonal, blocks,
            lower, upper, middle, inverse,
        )  # fmt: skip
        if failed >= 0:
            return failed
        for number in range(first, last):
            e, b = pairs[number], far_lower
            b[e, 0], b[e, 1], b[e, 2], b[e, 3] = _product(inverse, begin, blocks, lower_slot[e])
    begins, ends, firsts, pairs, columns = back
    for run in range(begins.size):
        for number in range(firsts[run], firsts[run + 1]):
            e, b = pairs[number], far_upper
            b[e, 0], b[e, 1], b[e, 2], b[e, 3] = _product(inverse, begins[run], blocks, upper_slot[e])
    return -1


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _product(a, i, b, k):
    """Block i of one array times block k of another."""
    a0, a1, a2, a3 = a[i, 0], a[i, 1], a[i, 2], a[i, 3]
    b0, b1, b2, b3 = b[k, 0], b[k, 1], b[k, 2], b[k, 3]
    return a0 * b0 + a1 * b2, a0 * b1 + a1 * b3, a2 * b0 + a3 * b2, a2 * b1 + a3 * b3


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _factorise_rows(
    begin, end, s0, s1, s2, s3, inside, near, slot, mirror, diagonal, blocks, lower, upper, middle, inverse
):  # fmt: skip
    """Factorise some rows; the block s is what the far couplings of the first take from its diagonal."""
    nothing = np.uint32(blocks.shape[0] - 1)
    for row in range(begin, end):
        i = np.uint64(row)
        k = diagonal[i]
        a0, a1, a2, a3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
        j, m = near[i, 0], mirror[i, 0]
        k = slot[i, 0] if inside[j] else nothing
        l0, l1, l2, l3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
        u0, u1, u2, u3 = upper[j, m, 0], upper[j, m, 1], upper[j, m, 2], upper[j, m, 3]
        j, m = near[i, 1], mirror[i, 1]
        k = slot[i, 1] if inside[j] else nothing
        p0, p1, p2, p3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
        q0, q1, q2, q3 = upper[j, m, 0], upper[j, m, 1], upper[j, m, 2], upper[j, m, 3]
        d0 = a0 - s0 - (l0 * u0 + l1 * u2) - (p0 * q0 + p1 * q2)
        d1 = a1 - s1 - (l0 * u1 + l1 * u3) - (p0 * q1 + p1 * q3)
        d2 = a2 - s2 - (l2 * u0 + l3 * u2) - (p2 * q0 + p3 * q2)
        d3 = a3 - s3 - (l2 * u1 + l3 * u3) - (p2 * q1 + p3 * q3)
        s0, s1, s2, s3 = 0.0, 0.0, 0.0, 0.0
        determinant = d0 * d3 - d1 * d2
        if determinant == 0.0 or not math.isfinite(determinant):
            return row
        share = 1.0 / determinant
        b0, b1, b2, b3 = d3 * share, -d1 * share, -d2 * share, d0 * share
        inverse[i, 0], inverse[i, 1], inverse[i, 2], inverse[i, 3] = b0, b1, b2, b3
        middle[i, 0], middle[i, 1] = b0 * a0 + b1 * a2 - 2.0, b0 * a1 + b1 * a3
        middle[i, 2], middle[i, 3] = b2 * a0 + b3 * a2, b2 * a1 + b3 * a3 - 2.0
        lower[i, 0, 0], lower[i, 0, 1] = b0 * l0 + b1 * l2, b0 * l1 + b1 * l3
        lower[i, 0, 2], lower[i, 0, 3] = b2 * l0 + b3 * l2, b2 * l1 + b3 * l3
        lower[i, 1, 0], lower[i, 1, 1] = b0 * p0 + b1 * p2, b0 * p1 + b1 * p3
        lower[i, 1, 2], lower[i, 1, 3] = b2 * p0 + b3 * p2, b2 * p1 + b3 * p3
        k = slot[i, 2] if inside[near[i, 2]] else nothing
        u0, u1, u2, u3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
        upper[i, 0, 0], upper[i, 0, 1] = b0 * u0 + b1 * u2, b0 * u1 + b1 * u3
        upper[i, 0, 2], upper[i, 0, 3] = b2 * u0 + b3 * u2, b2 * u1 + b3 * u3
        k = slot[i, 3] if inside[near[i, 3]] else nothing
        u0, u1, u2, u3 = blocks[k, 0], blocks[k, 1], blocks[k, 2], blocks[k, 3]
        upper[i, 1, 0], upper[i, 1, 1] = b0 * u0 + b1 * u2, b0 * u1 + b1 * u3
        upper[i, 1, 2], upper[i, 1, 3] = b2 * u0 + b3 * u2, b2 * u1 + b3 * u3
    return -1
