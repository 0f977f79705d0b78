"""Kernels of a patch that marches alone through a long step of all nodes: how it is chosen, and its march.

Fronts of frost and of rain ask for short steps in a few nodes.  The step is kept in all others; these few are marched
through it again in steps of their own, with the nodes around them on the course that the long step took [1]_.  What
entered them and crossed their border then takes the place of what the long step said, as a given amount for each node,
see `trial_kernels`.

Plain arrays only; nothing is allocated.  Tuples of arrays, for a patch of n nodes with b nodes beyond its border and c
paths over it; all have room for more:

- ``patch``: nodes and paths of the patch, its marks (N,), the nodes beyond, paths over the border, and how what flows
  along each counts as outflow (c,).
- ``course``: temperature and potential of all nodes at the three stages of the long step; the last are replaced.
- ``beyond``: the same at the nodes beyond the border, (3, b) each.
- ``sums``: what the nodes hold (n, 2), and what entered them, crossed the border outwards and came through surfaces
  beyond the long step's account; these three at the three stages of a step; the unknowns at its start (2, n).
- ``loads``: rows at the three stages of the long step, and room for one more.
- ``narrow``: see `narrow_kernels`.
- ``solver``: the arguments of `newton_kernels.iterate` from ``controls`` on.

References
----------
.. [1] Savcenco, Hundsdorfer, Verwer (2007), BIT Numerical Mathematics 47, 137-155: a multirate strategy for stiff
   equations, without the accounts (from memory, to be checked).
"""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.newton.active_set import gather, gather_border, mark, mark_joined
from stemwall.solver.kernels.newton.narrow import iterate_narrowing
from stemwall.solver.kernels.newton.stage import (
    LOCAL_NODES,
    LOCAL_REJECTED,
    LOCAL_STEPS,
    LOCAL_UPDATES,
    SPOT,
    UNRESOLVED,
)
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.material_state import evaluate
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import largest
from stemwall.solver.kernels.time.coefficients import longer, next_end, shorter

#: nodes with more than this share of the wanted error march alone, with their neighbours
ALONE = 0.3
#: least share of the long step that the first step takes
SHORTEST = 0.1
#: power of the length of a step with which its error falls where fronts pass, which is why nodes march alone
FRONT = 1.0

_longer, _shorter, _next_end = kernel(longer), kernel(shorter), kernel(next_end)


@kernel
def choose(everywhere, update, scale, most, links, patches, room):
    """Choose where the scaled update is large and what belongs to it: sizes of the patch, its paths, border and beyond.

    Only paths lead out of it: sheets and streams, whose ``links`` are ends by ends, join none of its nodes to others.
    ``room``: for nodes of the patch and those beyond, its paths, paths over the border and their outer ends, whether a
    node was seen (N,), False before and after.  ``patches``: see `stage_kernels`; its marks are those of the patch.
    The first size is nothing if these are more than ``most``.
    """
    indptr, indices, path_start, paths_of, path_other, _, marked, _ = patches
    nodes, paths, over, outer, seen = room
    sheet_a, sheet_b, stream_a, stream_b = links
    mark(update, scale, ALONE, indptr, indices, marked)
    more = True
    while more:
        more = mark_joined(sheet_a, sheet_b, marked)
        more = mark_joined(stream_a, stream_b, marked) or more
    found = 0
    for n in range(marked.size):
        found += marked[n]
    if found > most:
        return 0, 0, 0, 0
    count, joined = gather(everywhere, marked, path_start, paths_of, path_other, nodes, paths)
    crossing, whole = gather_border(marked, count, path_start, paths_of, path_other, seen, nodes, over, outer)
    return count, joined, crossing, whole - count


@part_of_kernel
def march_alone(
    length, error, resolved, coefficients, counts, patch, course, beyond, sums, loads, history, narrow, solver
):  # fmt: skip
    """March from the beginning to the end of a long step; False if that fails.

    ``length`` [s] of the long step and its largest ``error``; errors of steps of at most ``resolved`` [s] are
    accepted.  ``history`` (N, 2): room.
    """
    nodes = patch[0]
    held, inflows, start = sums[0], sums[4], sums[7]
    at_middle, diagonal, weight, error_0, error_1, error_2 = coefficients
    scale, update, equations = solver[1], solver[2], solver[4]
    temperature, potential = course[4], course[5]
    # what flowed in the stages of the long step is taken back, the first last: there the march begins
    for back in range(2):
        number = 1 - back
        for i in range(nodes.size):
            start[0, i], start[1, i] = course[2 * number][nodes[i]], course[2 * number + 1][nodes[i]]
        _go_back(nodes, start, temperature, potential, solver)
        _surround(at_middle if number == 1 else 0.0, at_middle, patch, course, beyond, loads, solver)
        _take_back(weight * length, patch, course, sums, history, loads, solver)
    _note(0, patch, sums, solver)
    time, wanted = 0.0, length * _shorter(error, SHORTEST, FRONT)
    while time < length - 1e-6:
        after = _next_end(time, length, wanted)
        step = after - time
        rate = 1.0 / (diagonal * step)
        solved = True
        for stage in range(1, 3):
            first = stage == 1
            for i in range(nodes.size):
                for e in range(2):
                    known = inflows[0, i, e] if first else weight * rate * step * (inflows[0, i, e] + inflows[1, i, e])
                    history[nodes[i], e] = rate * held[i, e] + known
            now = time + at_middle * step if first else after
            _surround(now / length, at_middle, patch, course, beyond, loads, solver)
            solved, taken, moved = iterate_narrowing(
                nodes, patch[1], patch[2], SPOT, first, temperature, potential, rate, history, loads[3], narrow, *solver
            )
            counts[LOCAL_UPDATES] += taken
            counts[LOCAL_NODES] += moved
            if not solved:
                break
            _note(stage, patch, sums, solver)
        if solved:
            factor = rate * step
            for i in range(nodes.size):
                for e in range(2):
                    update[nodes[i], e] = factor * (
                        error_0 * inflows[0, i, e] + error_1 * inflows[1, i, e] + error_2 * inflows[2, i, e]
                    )
            couplings, room, groups, _, zeros, _, factors, _ = equations
            precondition(couplings, room[: groups[0]], nodes, factors, zeros, update, update)
            error = largest(nodes, update, scale)[1]
        if not solved or (error > 1.0 and step > resolved):
            wanted = step * (_shorter(error, 0.2, FRONT) if solved else 0.25)
            if not solved and wanted < resolved:
                return False
            wanted = max(wanted, resolved)
            counts[LOCAL_REJECTED] += 1
            _go_back(nodes, start, temperature, potential, solver)
            continue
        counts[LOCAL_STEPS] += 1
        counts[UNRESOLVED] += error > 1.0
        _gain(step, coefficients, patch, sums)
        _keep(nodes, temperature, potential, start)
        time = after
        wanted = step * _longer(error)
    _surround(1.0, at_middle, patch, course, beyond, loads, solver)
    _take_back(diagonal * length, patch, course, sums, history, loads, solver)
    return True


@kernel
def _go_back(nodes, start, temperature, potential, solver):
    """Put the nodes of a patch where they were kept, and evaluate them."""
    for i in range(nodes.size):
        temperature[nodes[i]], potential[nodes[i]] = start[0, i], start[1, i]
    evaluate(nodes, temperature, potential, solver[6])


@kernel
def _keep(nodes, temperature, potential, start):
    """Keep the unknowns of a patch (2, n)."""
    for i in range(nodes.size):
        start[0, i], start[1, i] = temperature[nodes[i]], potential[nodes[i]]


@kernel
def _surround(share, at_middle, patch, course, beyond, loads, solver):
    """Put loads and the nodes beyond the border where the long step saw them, a share of it gone, and evaluate these.

    Both go along straight lines between its stages.
    """
    outside = patch[3]
    temperature, potential = course[4], course[5]
    beyond_t, beyond_y = beyond
    early = share < at_middle
    first = 0 if early else 1
    part = share / at_middle if early else (share - at_middle) / (1.0 - at_middle)
    for b in range(outside.size):
        n = outside[b]
        temperature[n] = (1.0 - part) * beyond_t[first, b] + part * beyond_t[first + 1, b]
        potential[n] = (1.0 - part) * beyond_y[first, b] + part * beyond_y[first + 1, b]
    before, after, now = loads[first], loads[first + 1], loads[3]
    for k in range(now.shape[0]):
        for c in range(now.shape[1]):
            now[k, c] = before[k, c] + part * (after[k, c] - before[k, c])
    evaluate(outside, temperature, potential, solver[6])


@kernel
def _note(stage, patch, sums, solver):
    """Note what flows at a stage, as it was assembled last."""
    nodes, over, outwards = patch[0], patch[4], patch[5]
    inflows, crossings, flows = sums[4], sums[5], sums[6]
    inflow, path_flow, through = solver[7][-4], solver[7][-5], solver[7][-1]
    for i in range(nodes.size):
        inflows[stage, i, 0], inflows[stage, i, 1] = inflow[nodes[i], 0], inflow[nodes[i], 1]
    for c in range(over.size):
        for e in range(2):
            crossings[stage, c, e] = outwards[c] * path_flow[over[c], e]
    for k in range(through.shape[0]):
        for e in range(through.shape[1]):
            flows[stage, k, e] = through[k, e]


@kernel
def _take_back(seconds, patch, course, sums, history, loads, solver):
    """Take back what the long step says of a stage that weighs so many seconds, the system evaluated at it."""
    controls, balances = solver[0], solver[7]
    assemble(
        patch[0], patch[1], patch[2], course[4], 0.0, history, loads[3], controls, False, False, True, *balances
    )  # fmt: skip
    _note(0, patch, sums, solver)
    _book(-seconds, 0, patch, sums)


@kernel
def _book(seconds, stage, patch, sums):
    """Book what flows at a stage for so many seconds."""
    _, entered, crossed, through, inflows, crossings, flows, _ = sums
    for i in range(patch[0].size):
        for e in range(2):
            entered[i, e] += seconds * inflows[stage, i, e]
    for c in range(patch[4].size):
        for e in range(2):
            crossed[c, e] += seconds * crossings[stage, c, e]
    for k in range(through.shape[0]):
        for e in range(through.shape[1]):
            through[k, e] += seconds * flows[stage, k, e]


@kernel
def _gain(step, coefficients, patch, sums):
    """Book what flowed in a step; its last stage is the first of the next."""
    held, inflows, crossings, flows = sums[0], sums[4], sums[5], sums[6]
    _, diagonal, weight, _, _, _ = coefficients
    first, last = weight * step, diagonal * step
    for i in range(patch[0].size):
        for e in range(2):
            held[i, e] += first * (inflows[0, i, e] + inflows[1, i, e]) + last * inflows[2, i, e]
    for stage in range(3):
        _book(last if stage == 2 else first, stage, patch, sums)
    for i in range(patch[0].size):
        for e in range(2):
            inflows[0, i, e] = inflows[2, i, e]
    for c in range(patch[4].size):
        for e in range(2):
            crossings[0, c, e] = crossings[2, c, e]
    for k in range(flows.shape[1]):
        for e in range(flows.shape[2]):
            flows[0, k, e] = flows[2, k, e]
