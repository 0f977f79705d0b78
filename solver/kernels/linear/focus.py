"""Kernels of the linear solver for all nodes: BiCGStab, and where few rows are left, for these alone.

What a step changes begins at the surfaces, and what many iterations are needed for is temperature in a wall of small
cells: after a few of them two thirds of the rows of a fine mesh are solved.  The others then get factors of their own
and are solved alone, the rest held; then all are looked at anew.

``c`` and ``f`` are the fields of `couplings.Couplings` and `Factors`, vectors those of `krylov_kernels`.
"""

from __future__ import annotations

import numpy as np

from stemwall.solver.kernels.linear.bicgstab import RESTART, bicgstab, end, spread
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.support.jit import fused_kernel, kernel
from stemwall.solver.kernels.support.simd import WIDTH, every, farther, largest_of, load, store

#: iterations of all rows before others are left out: those that leave less than a share of what is tolerable ...
FEW, SHARE = 4, 0.03
#: ... and do not stand in full ground or nearly so, which stores no water: what is smooth there shows little in
#: M^-1 r, so that sums would not close; its potential counts so many times for the same reason, ...
FULL, COUNTS = 1.0, 30.0
#: ... if more than a share of the groups can be left out, and at most so many times
LEFT_OUT, TIMES = 0.4, 4
#: what is tolerable in rows that are solved alone, as a share of what is tolerable in the end
NEAR = 0.3
#: from how many iterations of all rows on it begins anew even if it got there: short numbers lose sight of what is left
BLIND = 12


@fused_kernel
def solve_all(c, groups, nodes, f, blocks, alone, potential, scale, ease, right, x, work, tolerance, drop, most):
    """BiCGStab for all nodes, see `krylov_kernels.solve`; the first unknown counts ``ease`` times.

    ``potential`` (N,): where it is below `FULL` it counts `COUNTS` times, and the row is never left out.  ``alone``:
    room for groups, for which rows are inside (R,) and for factors.  Iterations of few rows count by their share of all
    groups.
    """
    row, chosen, inside, own_factors = c[0], alone[0], alone[1], alone[2]
    sizes, sides, found = work[9], work[7], work[10]
    _weigh(row, nodes, scale, ease, potential, sizes)
    spread(row, nodes, x, found)
    used, last, allowed, times, more = 0, 0, FEW, 0, True
    while more:
        spread(row, nodes, right, sides)
        allowed = min(allowed, most - used)
        last, tolerance = bicgstab(c, groups, f, sizes, sides, found, work, tolerance, drop, allowed)
        used, drop = used + abs(last), np.inf
        if last >= 0:
            more = last >= BLIND and used < most
        elif last > -allowed or used == most:
            more = False
        else:
            # an even number of iterations leaves M^-1 (right - A x) in its first place
            count = _not_there(c[1], groups, work[1], sizes, SHARE * tolerance, potential, chosen)
            allowed = RESTART
            if times < TIMES and count <= (1.0 - LEFT_OUT) * groups.size:
                taken = _solve_alone(c, chosen[:count], inside, own_factors, blocks, right, work, NEAR * tolerance)
                if taken >= 0:
                    times, allowed = times + 1, FEW
                    used += -(-taken * count // groups.size)
                    more = used < most
    if not end(row, nodes, found, x) or last < 0:
        work[:, :] = 0.0
        return min(-used, -1)
    return used


@kernel
def _weigh(row, nodes, scale, ease, potential, sizes):
    """A vector of sizes from scales (N, 2), see `solve_all`."""
    half = sizes.size // 2
    for number in range(nodes.size):
        n = np.uint64(nodes[number])
        sizes[np.uint64(row[n])] = ease * scale[n, 0]
        sizes[np.uint64(half + row[n])] = COUNTS * scale[n, 1] if potential[n] < FULL else scale[n, 1]


@fused_kernel
def _solve_alone(c, groups, inside, f, blocks, right, work, tolerance):
    """Improve the solution in all rows of some groups, the others held; iterations, negative if it could not be."""
    node, half = c[1], c[1].size
    sizes, sides, found, shift = work[9], work[7], work[10], work[11]
    inside[:] = False
    for number in range(groups.size):
        for lane in range(WIDTH):
            r = np.uint64(WIDTH * groups[number] + lane)
            inside[r] = node[r] >= 0
    if factorise(c, groups, inside, blocks, f) >= 0:
        return -1
    _remainder(c, groups, blocks, right, found, sides)
    taken, _ = bicgstab(c, groups, f, sizes, sides, shift, work, tolerance, np.inf, RESTART)
    spoiled, nothing = 0.0, every(shift, 0.0)
    for number in range(2 * groups.size):
        i = np.uint64(WIDTH * groups[number // 2] + half * (number % 2))
        for lane in range(WIDTH):
            spoiled += 0.0 * shift[i + np.uint64(lane)]
    good = spoiled == 0.0 and abs(taken) < RESTART
    for number in range(2 * groups.size):
        i = np.uint64(WIDTH * groups[number // 2] + half * (number % 2))
        if good:
            store(found, i, load(found, i) + load(shift, i))
        store(shift, i, nothing)
    if not good:
        # what is no number must not stay
        for k in range(9):
            work[k, :] = 0.0
        return -1
    return abs(taken)


@kernel
def _not_there(node, groups, rest, scale, share, potential, chosen):
    """List the groups with an entry of rest * scale beyond a share or a node in full ground; returns how many."""
    half, count = rest.size // 2, 0
    for number in range(groups.size):
        i = np.uint64(WIDTH * groups[number])
        k = np.uint64(half) + i
        worst = farther(every(rest, 0.0), load(rest, i) * load(scale, i))
        asked = largest_of(farther(worst, load(rest, k) * load(scale, k))) > share
        for lane in range(WIDTH):
            n = node[i + np.uint64(lane)]
            asked = asked or (n >= 0 and potential[n] < FULL)
        if asked:
            chosen[count] = groups[number]
            count += 1
    return count


@fused_kernel
def _remainder(c, groups, blocks, right, x, left):
    """left = right - A x in the rows of some groups; right (N, 2), the others vectors."""
    _, node, own, lower_first, lower_start, lower_slot, _, upper_first, upper_start, upper_slot = c
    half = np.uint64(node.size)
    for number in range(groups.size):
        group = groups[number]
        for lane in range(WIDTH):
            r = np.uint64(WIDTH * group + lane)
            n = node[r]
            if n < 0:
                continue
            a = blocks[own[r]]
            left_0 = right[n, 0] - a[0] * x[r] - a[1] * x[half + r]
            left_1 = right[n, 1] - a[2] * x[r] - a[3] * x[half + r]
            for link in range(lower_first[group], lower_first[group + 1]):
                a, k = blocks[lower_slot[link, lane]], np.uint64(lower_start[link] + lane)
                left_0 -= a[0] * x[k] + a[1] * x[half + k]
                left_1 -= a[2] * x[k] + a[3] * x[half + k]
            for link in range(upper_first[group], upper_first[group + 1]):
                a, k = blocks[upper_slot[link, lane]], np.uint64(upper_start[link] + lane)
                left_0 -= a[0] * x[k] + a[1] * x[half + k]
                left_1 -= a[2] * x[k] + a[3] * x[half + k]
            left[r], left[half + r] = left_0, left_1
