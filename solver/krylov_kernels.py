"""Kernels of the linear solver: preconditioner and BiCGStab.

With the factors M = D (1 + L) (1 + U) of the matrix A, see `factor_kernels`, that change nothing but its diagonal,

    (1 + L)^-1 (A / D) (1 + U)^-1 v = t + (1 + L)^-1 (v + (A_diagonal / D - 2) t),   t = (1 + U)^-1 v:

the preconditioned matrix costs one sweep back and one forth, and no product [1]_.  BiCGStab [2]_ runs on
r = (1 + L)^-1 (right - A x) / D; the sweep back turns r into M^-1 (right - A x), by which it is judged.
Nodes are numbered along diagonals of the mesh, so that the rows that follow each other in
a sweep do not wait for each other.

``c``, ``f``, ``forth`` and ``back`` are the fields of `couplings.Couplings`, `Factors` and `Sweep`.  The functions
of this file call only each other.  Rows are counted without sign: signed indices are tested for
counting from the end, which costs a third.

References
----------
.. [1] Eisenstat (1981), SIAM Journal on Scientific and Statistical Computing 2, 1-4.
.. [2] van der Vorst (1992), SIAM Journal on Scientific and Statistical Computing 13, 631-644.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

FUSED = {"contract"}


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def precondition(c, forth, back, f, b, x):
    """x = M^-1 b in the rows of the sweeps; both (N, 2); b may be x; elsewhere x must be finite."""
    near, (lower, upper, _, inverse, far_lower, far_upper) = c[0], f
    begins, ends = forth[0], forth[1]
    for run in range(begins.size):
        begin = begins[run]
        if begin == 0:
            # the first row may read itself, times zero: let it be finite
            x[0, 0], x[0, 1] = b[0, 0], b[0, 1]
        s0, s1 = _far(forth, run, far_lower, x)
        _divide_forth(begin, ends[run], s0, s1, near, lower, inverse, b, x)
    begins, ends = back[0], back[1]
    for run in range(begins.size):
        s0, s1 = _far(back, run, far_upper, x)
        _divide_back(begins[run], ends[run], s0, s1, near, upper, x)


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _far(sweep, run, blocks, x):
    """What far couplings make of x for the first row of a run."""
    _, _, firsts, pairs, columns = sweep
    s0, s1 = 0.0, 0.0
    for number in range(firsts[run], firsts[run + 1]):
        e, j = pairs[number], columns[number]
        s0 += blocks[e, 0] * x[j, 0] + blocks[e, 1] * x[j, 1]
        s1 += blocks[e, 2] * x[j, 0] + blocks[e, 3] * x[j, 1]
    return s0, s1


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _divide_forth(begin, end, s0, s1, near, lower, inverse, b, x):
    """x = (1 + L)^-1 D^-1 b in some rows; s is what far couplings take from the first."""
    for row in range(begin, end):
        i = np.uint64(row)
        j, k = near[i, 0], near[i, 1]
        b0, b1 = b[i, 0], b[i, 1]
        r0 = inverse[i, 0] * b0 + inverse[i, 1] * b1 - s0
        r1 = inverse[i, 2] * b0 + inverse[i, 3] * b1 - s1
        r0 -= lower[i, 0, 0] * x[j, 0] + lower[i, 0, 1] * x[j, 1]
        r1 -= lower[i, 0, 2] * x[j, 0] + lower[i, 0, 3] * x[j, 1]
        r0 -= lower[i, 1, 0] * x[k, 0] + lower[i, 1, 1] * x[k, 1]
        r1 -= lower[i, 1, 2] * x[k, 0] + lower[i, 1, 3] * x[k, 1]
        x[i, 0], x[i, 1] = r0, r1
        s0, s1 = 0.0, 0.0


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _divide_back(begin, end, s0, s1, near, upper, x):
    """x = (1 + U)^-1 x in some rows, descending."""
    for row in range(begin, end, -1):
        i = np.uint64(row)
        j, k = near[i, 2], near[i, 3]
        r0 = x[i, 0] - s0 - (upper[i, 0, 0] * x[j, 0] + upper[i, 0, 1] * x[j, 1])
        r1 = x[i, 1] - s1 - (upper[i, 0, 2] * x[j, 0] + upper[i, 0, 3] * x[j, 1])
        r0 -= upper[i, 1, 0] * x[k, 0] + upper[i, 1, 1] * x[k, 1]
        r1 -= upper[i, 1, 2] * x[k, 0] + upper[i, 1, 3] * x[k, 1]
        x[i, 0], x[i, 1] = r0, r1
        s0, s1 = 0.0, 0.0


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _remainder(c, back, f, b, x, a, t):
    """t = -x and a = D^-1 b - (1 + U) x, of which `_forth` makes w: t + w = (1 + L)^-1 D^-1 (b - A x)."""
    _, upper, _, inverse, _, far_upper = f
    near, begins = c[0], back[0]
    for row in range(near.shape[0]):
        i = np.uint64(row)
        j, k = near[i, 2], near[i, 3]
        b0, b1, x0, x1 = b[i, 0], b[i, 1], x[i, 0], x[i, 1]
        t[i, 0], t[i, 1] = -x0, -x1
        r0 = inverse[i, 0] * b0 + inverse[i, 1] * b1 - x0
        r1 = inverse[i, 2] * b0 + inverse[i, 3] * b1 - x1
        r0 -= upper[i, 0, 0] * x[j, 0] + upper[i, 0, 1] * x[j, 1]
        r1 -= upper[i, 0, 2] * x[j, 0] + upper[i, 0, 3] * x[j, 1]
        r0 -= upper[i, 1, 0] * x[k, 0] + upper[i, 1, 1] * x[k, 1]
        r1 -= upper[i, 1, 2] * x[k, 0] + upper[i, 1, 3] * x[k, 1]
        a[i, 0], a[i, 1] = r0, r1
    for run in range(begins.size):
        i = begins[run]
        s0, s1 = _far(back, run, far_upper, x)
        a[i, 0] -= s0
        a[i, 1] -= s1


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _forth(c, forth, f, a, t, w, shadow, scale, weighed):
    """w = (1 + L)^-1 (a + (A_diagonal / D - 2) t); with v = t + w, return shadow . v, shadow . a, a . v and v . v.

    The last two are weighed by the squares of ``scale``; the last three are nothing unless ``weighed``.
    """
    near, (lower, _, middle, _, far_lower, _) = c[0], f
    begins, ends = forth[0], forth[1]
    along, shade, with_a, with_v = 0.0, 0.0, 0.0, 0.0
    w[0, 0], w[0, 1] = 0.0, 0.0
    for run in range(begins.size):
        s0, s1 = _far(forth, run, far_lower, w)
        sums = _forth_rows(begins[run], ends[run], s0, s1, near, lower, middle, a, t, w, shadow, scale, weighed)
        along += sums[0]
        shade += sums[1]
        with_a += sums[2]
        with_v += sums[3]
    return along, shade, with_a, with_v


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _forth_rows(begin, end, s0, s1, near, lower, middle, a, t, w, shadow, scale, weighed):
    # a sum for each unknown: additions that wait for each other would cost more than the rest
    c0, c1, h0, h1, e0, e1, g0, g1 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for row in range(begin, end):
        i = np.uint64(row)
        j, k = near[i, 0], near[i, 1]
        t0, t1, a0, a1 = t[i, 0], t[i, 1], a[i, 0], a[i, 1]
        w0 = a0 - s0 + (middle[i, 0] * t0 + middle[i, 1] * t1)
        w1 = a1 - s1 + (middle[i, 2] * t0 + middle[i, 3] * t1)
        w0 -= lower[i, 0, 0] * w[j, 0] + lower[i, 0, 1] * w[j, 1]
        w1 -= lower[i, 0, 2] * w[j, 0] + lower[i, 0, 3] * w[j, 1]
        w0 -= lower[i, 1, 0] * w[k, 0] + lower[i, 1, 1] * w[k, 1]
        w1 -= lower[i, 1, 2] * w[k, 0] + lower[i, 1, 3] * w[k, 1]
        s0, s1 = 0.0, 0.0
        w[i, 0], w[i, 1] = w0, w1
        v0, v1 = t0 + w0, t1 + w1
        c0 += shadow[i, 0] * v0
        c1 += shadow[i, 1] * v1
        if weighed:
            z0, z1 = scale[i, 0] * scale[i, 0] * v0, scale[i, 1] * scale[i, 1] * v1
            h0 += shadow[i, 0] * a0
            h1 += shadow[i, 1] * a1
            e0 += a0 * z0
            e1 += a1 * z1
            g0 += v0 * z0
            g1 += v1 * z1
    return c0 + c1, h0 + h1, e0 + e1, g0 + g1


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _back(c, back, f, r, factor, t, w, x, scale):
    """r -= factor (t + w); x = (1 + U)^-1 r, x none of the others; return the largest entry of x * scale."""
    near, upper, far_upper = c[0], f[1], f[5]
    begins, ends = back[0], back[1]
    worst = 0.0
    x[x.shape[0] - 1, 0], x[x.shape[0] - 1, 1] = 0.0, 0.0
    for run in range(begins.size):
        s0, s1 = _far(back, run, far_upper, x)
        largest = _back_rows(begins[run], ends[run], s0, s1, near, upper, r, factor, t, w, x, scale)
        worst = max(worst, largest)
    return worst


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _back_rows(begin, end, s0, s1, near, upper, r, factor, t, w, x, scale):
    worst0, worst1 = 0.0, 0.0
    for row in range(begin, end, -1):
        i = np.uint64(row)
        j, k = near[i, 2], near[i, 3]
        r0, r1 = r[i, 0] - factor * (t[i, 0] + w[i, 0]), r[i, 1] - factor * (t[i, 1] + w[i, 1])
        r[i, 0], r[i, 1] = r0, r1
        r0 -= s0 + (upper[i, 0, 0] * x[j, 0] + upper[i, 0, 1] * x[j, 1])
        r1 -= s1 + (upper[i, 0, 2] * x[j, 0] + upper[i, 0, 3] * x[j, 1])
        r0 -= upper[i, 1, 0] * x[k, 0] + upper[i, 1, 1] * x[k, 1]
        r1 -= upper[i, 1, 2] * x[k, 0] + upper[i, 1, 3] * x[k, 1]
        s0, s1 = 0.0, 0.0
        x[i, 0], x[i, 1] = r0, r1
        worst0, worst1 = max(worst0, abs(r0 * scale[i, 0])), max(worst1, abs(r1 * scale[i, 1]))
    return max(worst0, worst1)


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def _turn(x, r, rest, p, step, w, half, before, alpha, omega, beta):
    """End an iteration: the solution moves, and so do the direction p and step = (1 + U)^-1 p.

    ``rest``, ``half``, ``before`` are (1 + U)^-1 times the remainder at the end, in the middle and at the
    beginning of the iteration; their difference stands for another sweep.
    """
    for i in range(x.shape[0]):
        for e in range(2):
            x[i, e] += alpha * step[i, e] + omega * half[i, e]
            p[i, e] = r[i, e] + beta * (p[i, e] - omega * (step[i, e] + w[i, e]))
            step[i, e] = rest[i, e] + beta * (step[i, e] - omega / alpha * (before[i, e] - half[i, e]))


@njit(cache=True, error_model="numpy", fastmath=FUSED)
def solve(c, forth, back, f, scale, right, x, work, tolerance, drop, most):
    """BiCGStab; on entry x (N, 2) holds a first guess, on exit the solution.

    ``scale`` (N, 2) turns the preconditioned remainder M^-1 (right - A x), which has the units of
    the unknowns, into shares of what is tolerable; the iteration stops when its
    largest entry is below ``tolerance`` and below ``drop`` times that of the guess.
    ``work`` (9, N, 2).  Returns the iterations used, negative if ``most`` was reached
    or the method broke down.
    """
    # r: (1 + L)^-1 (right - A x) / D;  rest, half: (1 + U)^-1 r;  t + w: the matrix times p;  t + q: times r
    r, rest, half, spare, p, step = work[0], work[1], work[2], work[3], work[4], work[5]
    w, q, shadow = work[6], work[7], work[8]
    rows = x.shape[0]
    _remainder(c, back, f, right, x, p, step)
    _forth(c, forth, f, p, step, w, p, scale, False)
    r[:, :] = 0.0
    first = _back(c, back, f, r, -1.0, step, w, spare, scale)
    # one step by the factors alone, then the iteration
    _forth(c, forth, f, r, spare, w, r, scale, False)
    worst = _back(c, back, f, r, 1.0, spare, w, rest, scale)
    rho = 0.0
    for i in range(rows):
        for e in range(2):
            x[i, e] += spare[i, e]
            shadow[i, e] = r[i, e] * scale[i, e] * scale[i, e]
            rho += r[i, e] * shadow[i, e]
            p[i, e], step[i, e] = r[i, e], rest[i, e]
    tolerance = min(tolerance, drop * first)
    if worst <= tolerance:
        return 0
    for iteration in range(1, most + 1):
        along, _, _, _ = _forth(c, forth, f, p, step, w, shadow, scale, False)
        if along == 0.0 or rho == 0.0 or not math.isfinite(along):
            return -iteration
        alpha = rho / along
        worst = _back(c, back, f, r, alpha, step, w, half, scale)
        if worst <= tolerance:
            for i in range(rows):
                for e in range(2):
                    x[i, e] += alpha * step[i, e]
            return iteration
        along, shade, with_r, square = _forth(c, forth, f, r, half, q, shadow, scale, True)
        if with_r == 0.0 or not math.isfinite(square):
            return -iteration
        omega = with_r / square
        rho, before = shade - omega * along, rho
        worst = _back(c, back, f, r, omega, half, q, spare, scale)
        _turn(x, r, spare, p, step, w, half, rest, alpha, omega, rho / before * (alpha / omega))
        rest, spare = spare, rest
        if worst <= tolerance:
            return iteration
    return -most
