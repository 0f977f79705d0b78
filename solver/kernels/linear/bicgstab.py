"""Linear solution: preconditioner and BiCGStab (N10).

With the factors M = D (1 + L) (1 + U) of the matrix A, see `dilu`, that change nothing but its diagonal,

    (1 + L)^-1 (A / D) (1 + U)^-1 v = t + (1 + L)^-1 (v + (A_diagonal / D - 2) t),   t = (1 + U)^-1 v:

the preconditioned matrix costs one sweep back and one forth, and no product [1]_.  BiCGStab [2]_ runs on
r = (1 + L)^-1 (right - A x) / D; the sweep back turns r into M^-1 (right - A x), by which it is judged.

Sweeps go through groups of four rows that do not wait for each other, see `row_order`.  A vector of the solver
(2 R,) holds the first unknown of all rows, then the second; rows without a node are zero.  It is finite at any time:
what is multiplied with zeros must be.  ``c`` is a `support.arrays.RowBlocks`, ``f`` its `Factors`.

References
----------
.. [1] Eisenstat (1981), SIAM Journal on Scientific and Statistical Computing 2, 1-4.
.. [2] van der Vorst (1992), SIAM Journal on Scientific and Statistical Computing 13, 631-644.
"""

from __future__ import annotations

import math

import numpy as np

from stemwall.solver.kernels.support.arrays import Stop
from stemwall.solver.kernels.support.jit import fused_kernel, kernel
from stemwall.solver.kernels.support.simd import broadcast, hmax, hsum, load, max_abs, store, to_f64

#: iterations after which it begins anew with the true remainder, and from how many on it does so even if it got there
RESTART_AFTER, CHECK_AFTER = 50, 12
#: potential below which a node counts as full ground, and how many times its potential counts then
SATURATED_BELOW, SATURATED_WEIGHT = 1.0, 30.0
U4, U8, U12 = np.uint64(4), np.uint64(8), np.uint64(12)


@fused_kernel
def precondition(c, groups, nodes, f, spare, b, x):
    """x = M^-1 b for some nodes, all of whose rows are in ``groups``; both (N, 2); b may be x.

    ``spare`` is a vector of zeros before and after.
    """
    row, node = c.row, c.node
    lower_first, lower_start, upper_first, upper_start = c.lower_first, c.lower_start, c.upper_first, c.upper_start
    lower, upper, inverse = f.lower, f.upper, f.inverse
    count, half = node.size, np.uint64(node.size)
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        r = row[n]
        spare[np.uint64(r)], spare[np.uint64(r + count)] = b[n, 0], b[n, 1]
    for number in range(groups.size):
        group = groups[number]
        i = np.uint64(4 * group)
        x0, x1 = _block_multiply(inverse, half, i, load(spare, i), load(spare, half + i))
        x0, x1 = _subtract_product(lower_first, lower_start, lower, group, spare, half, x0, x1)
        store(spare, i, x0)
        store(spare, half + i, x1)
    for number in range(groups.size - 1, -1, -1):
        group = groups[number]
        i = np.uint64(4 * group)
        x0, x1 = load(spare, i), load(spare, half + i)
        x0, x1 = _subtract_product(upper_first, upper_start, upper, group, spare, half, x0, x1)
        store(spare, i, x0)
        store(spare, half + i, x1)
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        r = row[n]
        x[n, 0], x[n, 1] = spare[np.uint64(r)], spare[np.uint64(r + count)]
    # rows without a node here are zero only as long as all others are finite
    _clear(groups, spare)


@fused_kernel
def _block_multiply(blocks, half, i, x0, x1):
    """Blocks of four rows, such as `Factors.inverse`, times a vector there."""
    a0, a1 = load(blocks, i), load(blocks, half + i)
    a2, a3 = load(blocks, half + half + i), load(blocks, half + half + half + i)
    return a0 * x0 + a1 * x1, a2 * x0 + a3 * x1


@fused_kernel
def _subtract_product(first, start, blocks, group, x, half, r0, r1):
    """r - B x in the rows of a group, where B are the blocks of its links on one side."""
    for link in range(first[group], first[group + 1]):
        j, k = np.uint64(start[link]), np.uint64(16 * link)
        x0, x1 = load(x, j), load(x, half + j)
        r0 -= load(blocks, k) * x0 + load(blocks, k + U4) * x1
        r1 -= load(blocks, k + U8) * x0 + load(blocks, k + U12) * x1
    return r0, r1


@fused_kernel
def _remainder(c, groups, f, b, x, a, t):
    """t = -x and a = D^-1 b - (1 + U) x, of which `forward_sweep` makes w: t + w = (1 + L)^-1 D^-1 (b - A x)."""
    node, first, start, upper, inverse = c.node, c.upper_first, c.upper_start, f.upper, f.inverse
    half, zero = np.uint64(node.size), broadcast(x, 0.0)
    for number in range(groups.size):
        group = groups[number]
        i = np.uint64(4 * group)
        x0, x1 = load(x, i), load(x, half + i)
        store(t, i, zero - x0)
        store(t, half + i, zero - x1)
        r0, r1 = _block_multiply(inverse, half, i, load(b, i), load(b, half + i))
        r0, r1 = _subtract_product(first, start, upper, group, x, half, r0 - x0, r1 - x1)
        store(a, i, r0)
        store(a, half + i, r1)


@fused_kernel
def forward_sweep(c, groups, f, a, t, w, shadow, scale, weighed):
    """w = (1 + L)^-1 (a + (A_diagonal / D - 2) t); with v = t + w, return shadow . v, shadow . a, a . v and v . v.

    The last two are weighed by the squares of ``scale``; the last three are nothing unless ``weighed``.
    """
    node, first, start, lower, middle = c.node, c.lower_first, c.lower_start, f.lower, f.middle
    half = np.uint64(node.size)
    along = shade = with_a = with_v = to_f64(broadcast(w, 0.0))
    for number in range(groups.size):
        group = groups[number]
        i = np.uint64(4 * group)
        k = half + i
        t0, t1, a0, a1 = load(t, i), load(t, k), load(a, i), load(a, k)
        w0, w1 = _block_multiply(middle, half, i, t0, t1)
        w0, w1 = _subtract_product(first, start, lower, group, w, half, w0 + a0, w1 + a1)
        store(w, i, w0)
        store(w, k, w1)
        v0, v1, h0, h1 = t0 + w0, t1 + w1, load(shadow, i), load(shadow, k)
        along += to_f64(h0 * v0 + h1 * v1)
        if weighed:
            s0, s1 = load(scale, i), load(scale, k)
            z0, z1 = s0 * s0 * v0, s1 * s1 * v1
            shade += to_f64(h0 * a0 + h1 * a1)
            with_a += to_f64(a0 * z0 + a1 * z1)
            with_v += to_f64(v0 * z0 + v1 * z1)
    return hsum(along), hsum(shade), hsum(with_a), hsum(with_v)


@fused_kernel
def backward_sweep(c, groups, f, r, factor, t, w, x, scale):
    """r -= factor (t + w); x = (1 + U)^-1 r, x none of the others; return the largest entry of x * scale."""
    node, first, start, upper = c.node, c.upper_first, c.upper_start, f.upper
    half, times, worst = np.uint64(node.size), broadcast(r, factor), broadcast(r, 0.0)
    for number in range(groups.size - 1, -1, -1):
        group = groups[number]
        i = np.uint64(4 * group)
        k = half + i
        r0, r1 = load(r, i) - times * (load(t, i) + load(w, i)), load(r, k) - times * (load(t, k) + load(w, k))
        store(r, i, r0)
        store(r, k, r1)
        r0, r1 = _subtract_product(first, start, upper, group, x, half, r0, r1)
        store(x, i, r0)
        store(x, k, r1)
        worst = max_abs(max_abs(worst, r0 * load(scale, i)), r1 * load(scale, k))
    return hmax(worst)


@kernel
def _clear(groups, x):
    """x = 0 in the rows of some groups."""
    half, nothing = np.uint64(x.size // 2), broadcast(x, 0.0)
    for number in range(groups.size):
        i = np.uint64(4 * groups[number])
        store(x, i, nothing)
        store(x, half + i, nothing)


@fused_kernel
def _axpy(groups, x, factor, step):
    """x += factor step in the rows of some groups."""
    half, a = np.uint64(x.size // 2), broadcast(x, factor)
    for number in range(groups.size):
        i = np.uint64(4 * groups[number])
        store(x, i, load(x, i) + a * load(step, i))
        store(x, half + i, load(x, half + i) + a * load(step, half + i))


@fused_kernel
def _start(groups, x, r, rest, moved, shadow, p, step, scale):
    """Move the solution, choose the shadow and the first direction; returns shadow . r."""
    rho, half = to_f64(broadcast(x, 0.0)), x.size // 2
    for number in range(2 * groups.size):
        i = np.uint64(4 * groups[number // 2] + half * (number % 2))
        r0, s0 = load(r, i), load(scale, i)
        h0 = r0 * s0 * s0
        rho += to_f64(r0 * h0)
        store(x, i, load(x, i) + load(moved, i))
        store(shadow, i, h0)
        store(p, i, r0)
        store(step, i, load(rest, i))
    return hsum(rho)


@fused_kernel
def _update_directions(groups, x, r, rest, p, step, w, half, before, alpha, omega, beta):
    """End an iteration: the solution moves, and so do the direction p and step = (1 + U)^-1 p.

    ``rest``, ``half``, ``before`` are (1 + U)^-1 times the remainder at the end, in the middle and at the
    beginning of the iteration; their difference stands for another sweep.
    """
    a, o, b, share = broadcast(x, alpha), broadcast(x, omega), broadcast(x, beta), broadcast(x, omega / alpha)
    for number in range(2 * groups.size):
        i = np.uint64(4 * groups[number // 2] + x.size // 2 * (number % 2))
        s, h = load(step, i), load(half, i)
        store(x, i, load(x, i) + a * s + o * h)
        store(p, i, load(r, i) + b * (load(p, i) - o * (s + load(w, i))))
        store(step, i, load(rest, i) + b * (s - share * (load(before, i) - h)))


@kernel
def scatter(row, nodes, values, vector):
    """A vector from values (N, 2) of some nodes."""
    half = vector.size // 2
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        vector[np.uint64(row[n])], vector[np.uint64(half + row[n])] = values[n, 0], values[n, 1]


@kernel
def gather_solution(row, nodes, found, x):
    """Unknowns (N, 2) of some nodes from a vector; False if they are no numbers."""
    half, spoiled = found.size // 2, 0.0
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        x[n, 0], x[n, 1] = found[np.uint64(row[n])], found[np.uint64(half + row[n])]
        # an overflow within an iteration passes for convergence: norms do not see what is no number
        spoiled += 0.0 * (x[n, 0] + x[n, 1])
    return spoiled == 0.0


@kernel
def weigh(c, nodes, weights, temperature_weight, potential, sizes):
    """A vector from the weights (N, 2) of some nodes, for `solve`.

    Temperatures count ``temperature_weight`` times: their smooth errors go last.  Potentials of full ground, below
    `SATURATED_BELOW`, count `SATURATED_WEIGHT` times: it stores no water, so that what is smooth there shows little
    in M^-1 r and the sums would not close.
    """
    row, half = c.row, sizes.size // 2
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        saturated = potential[n] < SATURATED_BELOW
        sizes[np.uint64(row[n])] = temperature_weight * weights[n, 0]
        sizes[np.uint64(half + row[n])] = SATURATED_WEIGHT * weights[n, 1] if saturated else weights[n, 1]


@fused_kernel
def solve(c, groups, nodes, f, right, x, work, stop):
    """BiCGStab for some nodes, all of whose rows are in ``groups``; x (N, 2) holds a first guess, then the solution.

    ``work`` (11, 2 R): finite, zero in rows without a node, before and after; its tenth vector (9) turns the
    preconditioned remainder M^-1 (right - A x), which has the units of the unknowns, into shares of what is tolerable,
    see `scatter` and `weigh`.  ``stop``: a `support.arrays.Stop`.  What took `CHECK_AFTER` iterations or more is
    checked by a restart: the recurrence of four-byte numbers drifts from the true remainder.

    Returns the iterations used, negative if ``most`` was reached, the method broke down or the solution is no number.
    """
    row, most, tolerance, drop, floor = c.row, stop.most, stop.tolerance, stop.drop, stop.floor
    # the right side is asked for at the beginning of an iteration only
    sizes, sides, found = work[9], work[7], work[10]
    scatter(row, nodes, x, found)
    used, last, more = 0, 0, True
    while more:
        scatter(row, nodes, right, sides)
        allowed = min(RESTART_AFTER, most - used)
        last, tolerance = bicgstab(c, groups, f, sizes, sides, found, work, Stop(tolerance, drop, floor, allowed))
        used, drop, floor = used + abs(last), np.inf, 0.0
        more = used < most and (last == -allowed or last >= CHECK_AFTER)
    if not gather_solution(row, nodes, found, x) or last < 0:
        work[:, :] = 0.0
        return min(-used, -1)
    return used


@fused_kernel
def bicgstab(c, groups, f, scale, right, x, work, stop):
    """The iteration of `solve` on vectors; iterations used and the tolerance it worked to."""
    tolerance, drop = stop.tolerance, stop.drop
    # r: (1 + L)^-1 (right - A x) / D;  rest, half: (1 + U)^-1 r;  t + w: the matrix times p;  t + q: times r
    r, rest, half, spare, p, step = work[0], work[1], work[2], work[3], work[4], work[5]
    w, q, shadow = work[6], work[7], work[8]
    _remainder(c, groups, f, right, x, p, step)
    forward_sweep(c, groups, f, p, step, w, p, scale, False)
    _clear(groups, r)
    first = backward_sweep(c, groups, f, r, -1.0, step, w, spare, scale)
    if first <= tolerance and drop >= 1.0:
        _axpy(groups, x, 1.0, spare)
        return 0, tolerance
    # one step by the factors alone, then the iteration
    forward_sweep(c, groups, f, r, spare, w, r, scale, False)
    worst = backward_sweep(c, groups, f, r, 1.0, spare, w, rest, scale)
    rho = _start(groups, x, r, rest, spare, shadow, p, step, scale)
    if not math.isfinite(rho):
        return -1, tolerance
    tolerance = max(min(tolerance, drop * first), stop.floor * first)
    if worst <= tolerance:
        return 0, tolerance
    for iteration in range(1, stop.most + 1):
        along, _, _, _ = forward_sweep(c, groups, f, p, step, w, shadow, scale, False)
        if along == 0.0 or rho == 0.0 or not math.isfinite(along):
            return -iteration, tolerance
        alpha = rho / along
        worst = backward_sweep(c, groups, f, r, alpha, step, w, half, scale)
        if worst <= tolerance:
            _axpy(groups, x, alpha, step)
            return iteration, tolerance
        along, shade, with_r, square = forward_sweep(c, groups, f, r, half, q, shadow, scale, True)
        if with_r == 0.0 or not math.isfinite(square):
            return -iteration, tolerance
        omega = with_r / square
        rho, before = shade - omega * along, rho
        worst = backward_sweep(c, groups, f, r, omega, half, q, spare, scale)
        _update_directions(groups, x, r, spare, p, step, w, half, rest, alpha, omega, rho / before * (alpha / omega))
        rest, spare = spare, rest
        if worst <= tolerance:
            return iteration, tolerance
    return -stop.most, tolerance
