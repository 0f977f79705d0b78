"""Kernels of a trial: a step of all nodes, the march of few of them where it was too long, and what is booked.

Plain arrays only; nothing is allocated.  See `march_kernels` and `alone_kernels` for most of what is given.
"""

from __future__ import annotations

from stemwall.solver.kernels.newton.stage import DIRECT, FAILED, RESUME, SOLVED, UNRESOLVED
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.norms import book, largest, put
from stemwall.solver.kernels.time.substeps import choose, march_alone
from stemwall.solver.kernels.time.tr_bdf2 import take_step, wish

#: nodes that march alone for each with a large error, about
NEIGHBOURS = 5
#: change of nodes, as a share of the wanted error, by what others did when they marched alone, and tries to do better
STRAYED, TRIES = 0.5, 2
#: how a trial ends whose step was too long; else as a step does
TOO_LONG = 4
#: places of what a trial remembers while a matrix is solved directly: how often few nodes have marched alone, how many
#: they, their paths and those over their border are, and the error that made them and its node
TRIED, NODES, PATHS, BORDER, ERROR, NODE, NOTES = range(7)


@kernel
def try_step(
    number, entry, in_turn, standing, equal, step, resolved, most, scheme, weights, booked, few, loads, course,
    accounts, wanted, controls, scale, update, residual, flows, shares, counts, memory, unknowns, matrix, patches,
    cautious, evaluation, balances,
):  # fmt: skip
    """Try a step of all nodes; how that ended, at which stage and node, the error, and whether large ones are few.

    Where the step was too long for few nodes they march through it alone, and its end is solved again.  If others end
    up elsewhere than before, they should have marched along: once more, with these.

    ``number`` and ``entry``: as for `march_kernels.take_step`, which is begun or gone on with.  If steps are ``equal``
    their error does not count.  Errors of steps of at most ``resolved`` [s] are accepted.  At most a share ``most`` of
    all nodes may march alone.  ``booked``: see `step_kernels.book`.
    ``few``: notes (NOTES,), links and room as for `alone_kernels.choose`, outward signs, sums, unknowns beyond the
    border, unknowns of all before others moved (2, N), room for a row of loads, ``narrow`` of `alone_kernels`.
    """
    notes, links, room, outwards, sums, beyond, before, row, narrow = few
    changed, flags, everywhere, stale = matrix[7], matrix[8], matrix[10], evaluation[23]
    history = accounts[2]
    nodes, paths, over, _, _ = room
    end_t, end_y = course[4], course[5]
    rate = 1.0 / (scheme[1] * step)
    if number == 0:
        notes[:] = 0.0
    error, node, few_enough = notes[ERROR], int(notes[NODE]), True
    count, joined, crossing = int(notes[NODES]), int(notes[PATHS]), int(notes[BORDER])
    while True:
        ended, number, worst, size, large = take_step(
            number, entry, in_turn, standing, nodes[:count], paths[:joined], step, scheme, loads, course, accounts,
            wanted, controls, scale, update, residual, flows, shares, counts, memory, unknowns, matrix, patches,
            cautious, evaluation, balances,
        )  # fmt: skip
        if notes[TRIED] == 0.0:
            if ended != SOLVED:
                return ended, number, worst, size, False
            error, node = 0.0 if equal else size, worst
            few_enough = NEIGHBOURS * large <= most * everywhere.size and not in_turn
            if error <= 1.0 or step <= resolved:
                counts[UNRESOLVED] += error > 1.0
                break
            if not few_enough:
                return TOO_LONG, number, node, error, False
            notes[ERROR], notes[NODE] = error, node
        elif ended == DIRECT:
            return ended, number, node, error, True
        elif ended == FAILED:
            break
        else:
            _settle_accounts(rate, count, crossing, before, course, accounts, room, sums, update)
            if largest(everywhere, update, scale)[1] <= STRAYED:
                break
            _give(-rate, count, crossing, room, sums, history)
            for i in range(count):
                update[nodes[i], 0] = 1.0 / scale[nodes[i], 0]  # they march again
        ended = TOO_LONG
        if notes[TRIED] == TRIES:
            break
        notes[TRIED] += 1.0
        allowed = int(min(most * everywhere.size, sums[0].shape[0]))
        count, joined, crossing, outside = choose(everywhere, update, scale, allowed, links, patches, room)
        if count == 0 or crossing > outwards.size or outside > outwards.size:
            break
        notes[NODES], notes[PATHS], notes[BORDER] = count, joined, crossing
        put(end_t, end_y, before[0], before[1])
        _begin(count, crossing, outside, course, accounts[0], room, outwards, sums, beyond, balances[5], balances[7])
        patch = nodes[:count], paths[:joined], patches[6], nodes[count : count + outside], over[:crossing], outwards
        solver = controls, scale, update, residual, patches[7], cautious, evaluation, balances
        if not march_alone(
            step, error, resolved, scheme, counts, patch, course, beyond, sums, (*loads, row), unknowns[2], narrow,
            solver,
        ):  # fmt: skip
            break
        flags[1] = True
        for i in range(count):
            changed[nodes[i]] = stale[nodes[i]] = True
        _give(rate, count, crossing, room, sums, history)
        number, entry = 2, RESUME
    if ended != SOLVED:
        return TOO_LONG, number, node, error, True
    if notes[TRIED] > 0.0:
        wish(wanted, cautious, evaluation, scale)
    per_second = 1.0 / ((1.0 - scheme[0]) * step)
    book(step, weights, per_second, course, accounts, balances[1], cautious[12], balances[0], booked)
    return SOLVED, number, node, error, few_enough


@kernel
def _settle_accounts(rate, count, crossing, before, course, accounts, room, sums, update):
    """Add what was given to the last stage of a step, and fill ``update`` with what it did to others (N, 2)."""
    inflows, through = accounts[4], accounts[5]
    end_t, end_y = course[4], course[5]
    _give(rate, count, crossing, room, sums, inflows[2])
    for k in range(through.shape[1]):
        for e in range(through.shape[2]):
            through[2, k, e] += rate * sums[3][k, e]
    for n in range(end_t.size):
        update[n, 0], update[n, 1] = before[0, n] - end_t[n], before[1, n] - end_y[n]
    for i in range(count):
        n = room[0][i]
        update[n, 0], update[n, 1] = 0.0, 0.0


@kernel
def _begin(count, crossing, outside, course, conserved, room, outwards, sums, beyond, part_node, path_a):
    """Fill what a march alone begins with: what is held, nothing that flowed, and the course beyond the border."""
    nodes, _, over, outer, _ = room
    held, entered, crossed, through = sums[:4]
    for i in range(count):
        for e in range(2):
            held[i, e], entered[i, e] = conserved[nodes[i], e], 0.0
    for c in range(crossing):
        crossed[c, 0] = crossed[c, 1] = 0.0
        outwards[c] = -1.0 if part_node[path_a[over[c]]] == outer[c] else 1.0
    through[:, :] = 0.0
    for stage in range(3):
        for b in range(outside):
            n = nodes[count + b]
            beyond[0][stage, b], beyond[1][stage, b] = course[2 * stage][n], course[2 * stage + 1][n]


@kernel
def _give(rate, count, crossing, room, sums, into):
    """Add what entered the nodes of a patch and what crossed its border, times a rate, to sums of nodes (N, 2)."""
    nodes, outer, entered, crossed = room[0], room[3], sums[1], sums[2]
    for i in range(count):
        for e in range(2):
            into[nodes[i], e] += rate * entered[i, e]
    for c in range(crossing):
        for e in range(2):
            into[outer[c], e] += rate * crossed[c, e]
