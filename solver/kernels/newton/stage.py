"""Kernels of a stage: Newton's iteration for all nodes, its rounds in patches, and the closing of the sums.

Plain arrays only; nothing is allocated.  Tuples of arrays, each made once by `system` or `stage`:

- ``matrix``: couplings, groups of rows, which rows have a node, blocks, factors, a vector of zeros, work space of the
  linear solver, which rows changed since they were factorised (N,), whether all and whether any did (2,), room for
  groups, all nodes, all paths, that all nodes are meant (N,).
- ``patches``: pattern of the matrix (indptr, indices), paths by node (start, paths, other ends), room for nodes and
  paths of a patch, which nodes are marked (N,), and what `newton_kernels.iterate` solves with.
- ``unknowns``: temperature and potential of the state to go back to; an array (N, 2) to work in.
- ``cautious``, ``evaluation``, ``balances``: see `newton_kernels`.

numba compiles what a kernel calls once for every constant that it is called with, truths and whole numbers: those are
avoided, or other arguments are spread out with a star, which hinders it.
"""

from __future__ import annotations

import numpy as np

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.linear.focus import solve_all
from stemwall.solver.kernels.newton.active_set import gather, groups_of, mark, mark_owing, widen
from stemwall.solver.kernels.newton.damping import DROP, MOST_LINEAR, SLOW, UNSETTLED, iterate, move
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.linearised_state import follow
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import at_rest, close, largest, put
from stemwall.solver.kernels.support.simd import WIDTH

#: Newton stops when the next update would be below the first share of the wanted local error, and the linear solver
#: works to the second of them ...
SHARES = (0.05, 0.0003)
#: ... and at least to this share of its first residual, so that its noise does not feed on itself
LINEAR_DROP = 0.01
#: what temperatures count for it, and for the closing of sums: their smooth errors go last
HEAT = 0.1
#: most updates of all nodes in a stage
MOST_NEWTON = 15
#: the matrix is renewed before the next update of all nodes if that exceeds this share of the wanted local error,
#: or the share `SLOW` of the update before
RENEW = 0.3
#: an update of all nodes after which the next is so many times as large, and this large, is halved, at most so often:
#: thaw in full ground
GROWN, LARGE, HALVINGS = 5.0, 1.0, 8
#: updates after which sums that are not small may be closed by larger shifts (frost), or are left open (saturation)
ENOUGH, TOO_MANY = 4, 10
#: nodes whose next update exceeds this share of the wanted local error are iterated further, alone ...
SPOT, SPOT_FIRST = 0.01, 0.03
#: ... and so are nodes that carry more than a share of what one may, to a share of that update, ...
OWING, STRICT = 0.3, 0.1
#: ... in at most so many rounds of so many updates, the next only if an update still exceeds this share, and as long as
#: they are at most this share of all nodes
ROUNDS = 5
MOST_LOCAL = 8.0
AGAIN = 0.02
LARGEST_PATCH = 0.3
#: a step may end when the residuals add up to this share of what flows through all surfaces ...
FLOWING = 0.1
#: ... or of the water held and of ten kelvin of heat; then they are taken out of all nodes ...
BALANCE = 1e-8
TEN_KELVIN = 10.0
#: ... if that moves none by more than this share of its wanted local errors, more where sums are small or it is late
CLOSING, STILL = 3e-4, 1e-2
#: ... and that moved by more than this share of them in the step, if that suffices
AT_REST = 1e-3
#: water residual that a node may carry over a step, as a share of the water it holds
CARRIED = 0.1
#: residuals below this share of saturation, or of one kelvin, are round-off
REST = 1e-12

#: how a stage begins: at its beginning, after a patch has moved, with the update that a direct solution gave
BEGIN, RESUME, GO_ON = 0, 1, 2
#: how it ends: solved, failed at a node, or with a matrix that is to be solved directly
SOLVED, FAILED, DIRECT = 0, 1, 2
#: places of what is counted
(
    UPDATES, LOCAL_UPDATES, LOCAL_NODES, MATRICES, LINEAR, LEFT_OPEN, LOCAL_STEPS, LOCAL_REJECTED, UNRESOLVED, COUNTS,
) = range(10)  # fmt: skip
#: places of what a stage remembers while a matrix is solved directly, and of whether it bent the matrix
ATTEMPT, LEFT, BEFORE, BENT, RATE, MEMORY = range(6)


@part_of_kernel
def solve_stage(
    entry, fresh, marked_nodes, marked_paths, start_t, start_y, temperature, potential, rate, history, loads, controls,
    scale, update, residual, flows, shares, counts, memory, unknowns, matrix, patches, cautious, evaluation, balances,
):  # fmt: skip
    """Solve rate * storage = history + inflow in place; how that ended, and the node that failed.

    See `stage.StageSolver`.  ``entry``: `BEGIN`; `RESUME` after ``marked_nodes`` have moved, which ``marked_paths``
    touch; `GO_ON` with the ``update`` that was asked for.  ``fresh``: the matrix is renewed, and sums need not close.
    ``start_t``, ``start_y``: unknowns at the beginning of the step.
    """
    _, _, _, _, _, _, _, changed, flags, _, nodes, paths, everyone = matrix
    capacity, matrix_capacity = cautious[1], cautious[2]
    newton_share, linear_share = shares
    heat, water, carried = 0.0, 0.0, 0.0
    if entry == BEGIN:
        if fresh:
            heat, water, carried = _renew(
                temperature, rate, history, loads, controls, memory, matrix, patches, cautious, evaluation, balances
            )
        else:
            heat, water, carried = assemble(
                nodes[:0], paths[:0], everyone, temperature, rate, history, loads, controls, False, False, False,
                *balances,
            )  # fmt: skip
        if at_rest(residual, capacity, cautious[12], rate, REST):
            return SOLVED, -1
    elif entry == RESUME:
        heat, water, carried = assemble(
            marked_nodes, marked_paths, patches[6], temperature, rate, history, loads, controls, False, True, False,
            *balances,
        )  # fmt: skip
        flags[1] = True
        for number in range(marked_nodes.size):
            n = marked_nodes[number]
            changed[n] = True
            for e in range(3):
                matrix_capacity[n, e] = capacity[n, e]
        if not factorise_changed(matrix):
            return FAILED, _worst_defect(residual, cautious[12])
    first, renew, left, before = 0, fresh, np.inf, np.inf
    if entry == GO_ON:
        first, renew, left, before = int(memory[ATTEMPT]), False, memory[LEFT], memory[BEFORE]
    worst = 0
    for attempt in range(first, MOST_NEWTON):
        soft = 0
        going_on = entry == GO_ON and attempt == first
        if entry != RESUME or attempt > 0:
            if renew:
                if attempt > 0:
                    memory[RATE] = 0.0
                    _renew(
                        temperature, rate, history, loads, controls, memory, matrix, patches, cautious, evaluation,
                        balances,
                    )  # fmt: skip
                counts[MATRICES] += 1
            if not going_on:
                if not factorise_changed(matrix):
                    return FAILED, _worst_defect(residual, cautious[12])
                if attempt > 0:
                    update[:, :] = 0.0
                used = solve_linear(
                    matrix, patches[7], potential, scale, HEAT, residual, update, linear_share, LINEAR_DROP
                )
                counts[LINEAR] += abs(used)
                if used < 0:
                    memory[ATTEMPT], memory[LEFT], memory[BEFORE] = attempt, left, before
                    return DIRECT, -1
            # the linear solver says so itself if what it found is no number, a direct solution does not
            elif not largest(nodes, update, scale)[1] < np.inf:
                return FAILED, _worst_defect(residual, cautious[12])
            counts[UPDATES] += 1
            if attempt > 0:
                put(temperature, potential, unknowns[2][:, 0], unknowns[2][:, 1])
            soft = move(nodes, temperature, potential, rate, scale, update, cautious[15][:0], cautious, evaluation)
            heat, water, carried = assemble(
                nodes, paths, everyone, temperature, rate, history, loads, controls, True, False, False, *balances
            )
        worst, left = _next_update(matrix, residual, update, scale)
        if attempt > 0:
            for _ in range(HALVINGS):
                if left <= GROWN * max(before, LARGE):
                    break
                for n in range(temperature.size):
                    temperature[n] = 0.5 * (temperature[n] + unknowns[2][n, 0])
                    potential[n] = 0.5 * (potential[n] + unknowns[2][n, 1])
                follow(nodes, temperature, potential, scale, cautious[14], evaluation)
                heat, water, carried = assemble(
                    nodes, paths, everyone, temperature, rate, history, loads, controls, True, False, False, *balances
                )
                worst, left = _next_update(matrix, residual, update, scale)
                soft = UNSETTLED
        if left > RENEW or soft > 0:
            memory[BENT] = 1.0
        spot, may_carry = (SPOT_FIRST, np.inf) if fresh else (SPOT, CARRIED)
        if left > spot or soft > 0 or carried > may_carry:
            worst, left, soft, heat, water, carried = _settle(
                spot, may_carry, worst, left, soft, heat, water, carried, temperature, potential, rate, history, loads,
                controls, scale, update, residual, newton_share, counts, unknowns, matrix, patches, cautious,
                evaluation, balances,
            )  # fmt: skip
        done = left <= newton_share and soft == 0
        # sums matter at the end of a step alone
        if done and not fresh:
            done = _close(
                attempt, heat, water, carried, start_t, start_y, temperature, potential, rate, scale, flows, counts,
                unknowns[2], cautious,
            )  # fmt: skip
        if done:
            return SOLVED, -1
        renew, before = left > min(RENEW, SLOW * before) or soft != 0, left
    return FAILED, worst


@kernel
def _renew(
    temperature, rate, history, loads, controls, memory, matrix, patches, cautious, evaluation, balances
):  # fmt: skip
    """Renew the rows of the Jacobian that may have changed, all if the rate has; sums and largest as of `assemble`."""
    _, _, _, _, _, _, _, changed, flags, _, everywhere, _, _ = matrix
    _, _, path_start, paths_of, path_other, room, marked, _ = patches
    capacity, matrix_capacity, watched, stale = cautious[1], cautious[2], cautious[13], evaluation[23]
    if rate != memory[RATE]:
        memory[RATE] = rate
        stale[:] = True
    for n in range(marked.size):
        marked[n] = stale[n] or watched[n]
    count, joined = gather(everywhere, marked, path_start, paths_of, path_other, room[0], room[1])
    heat, water, carried = assemble(
        room[0][:count], room[1][:joined], marked, temperature, rate, history, loads, controls, False, True, False,
        *balances,
    )  # fmt: skip
    stale[:] = False
    for number in range(count):
        n = room[0][number]
        changed[n] = True
        for e in range(3):
            matrix_capacity[n, e] = capacity[n, e]
    flags[1] = True
    return heat, water, carried


@kernel
def factorise_changed(matrix):
    """Incomplete factors of the rows that changed; False if a block is singular."""
    couplings, groups, rows, blocks, factors, _, _, changed, flags, room, _, _, _ = matrix
    if not flags[1]:
        return True
    if flags[0]:
        failed = factorise(couplings, groups, rows, blocks, factors)
    else:
        count, last, row = 0, -1, couplings[0]
        for n in range(row.size):
            if changed[n] and row[n] // WIDTH != last:
                room[count] = last = row[n] // WIDTH
                count += 1
        failed = factorise(couplings, room[:count], rows, blocks, factors)
    changed[:] = False
    flags[0] = flags[1] = failed >= 0
    return failed < 0


@kernel
def _next_update(matrix, residual, update, scale):
    """Node and size of the largest update that the present residual would cause, by the factors."""
    couplings, groups, _, _, factors, zeros, _, _, _, _, nodes, _, _ = matrix
    precondition(couplings, groups, nodes, factors, zeros, residual, update)
    return largest(nodes, update, scale)


@kernel
def solve_linear(matrix, patch_solver, potential, scale, ease, right, update, share, drop):
    """Improve ``update`` (N, 2) for a right side, see `focus_kernels.solve_all`; iterations, negative if it failed.

    The factors are renewed where rows changed; what comes of a singular block is no number.
    """
    couplings, groups, _, blocks, factors, _, work, _, _, _, nodes, _, _ = matrix
    _, room, _, inside, _, _, own_factors, _ = patch_solver
    if not factorise_changed(matrix):
        update[:, :] = np.nan
        return 1
    return solve_all(
        couplings, groups, nodes, factors, blocks, (room, inside, own_factors), potential, scale, ease, right, update,
        work, share, drop, MOST_LINEAR,
    )  # fmt: skip


@kernel
def _worst_defect(residual, saturation):
    """Node with the largest water residual against its saturation."""
    worst, size = 0, -1.0
    for n in range(residual.shape[0]):
        here = abs(residual[n, 1]) / saturation[n]
        if not here <= size:
            worst, size = n, here
            if size != size:
                break
    return worst


@part_of_kernel
def _settle(
    spot, may_carry, worst, left, soft, heat, water, carried, temperature, potential, rate, history, loads, controls,
    scale, update, residual, newton_share, counts, unknowns, matrix, patches, cautious, evaluation, balances,
):  # fmt: skip
    """Iterate in rounds where updates are still large; the state is put back if that led astray.

    No node may carry more than ``may_carry``, a share of its water.  Takes and returns node and size of the largest
    next update, nodes that softened, sums of the residuals and the largest that a node carries.
    """
    couplings, _, rows, blocks, factors, zeros, _, changed, flags, _, nodes, paths, everyone = matrix
    _, room_of_groups, groups, inside, _, _, _, _ = patches[7]
    indptr, indices, path_start, paths_of, path_other, room, marked, patch_solver = patches
    before_t, before_y, _ = unknowns
    storage = cautious[0]
    put(temperature, potential, before_t, before_y)
    now = worst, left, soft, heat, water, carried
    astray = False
    for _ in range(ROUNDS):
        mark(update, scale, spot, indptr, indices, marked)
        near = spot
        if now[5] > may_carry:
            mark_owing(residual, storage, OWING * may_carry * rate, indptr, indices, marked)
            near = STRICT * spot
        count, joined = gather(nodes, marked, path_start, paths_of, path_other, room[0], room[1])
        if count > LARGEST_PATCH * nodes.size:
            astray = True
            break
        mine = room[0][:count]
        soft_now, _, taken = iterate(
            mine, room[1][:joined], marked, MOST_LOCAL, DROP, near, not astray, temperature, potential, rate, history,
            loads, controls, scale, update, residual, patch_solver, cautious, evaluation, balances,
        )  # fmt: skip
        flags[1] = True
        for number in range(count):
            changed[mine[number]] = True
        counts[LOCAL_UPDATES] += taken
        counts[LOCAL_NODES] += taken * count
        if soft_now == UNSETTLED:
            astray = True
            break
        heat_now, water_now, carried_now = assemble(
            nodes[:0], paths[:0], everyone, temperature, rate, history, loads, controls, False, False, False, *balances
        )
        # only round the patch has anything changed
        widen(mine, indptr, indices, marked)
        count, _ = gather(nodes, marked, path_start, paths_of, path_other, room[0], room[1])
        mine = room[0][:count]
        groups[0] = groups_of(mine, couplings[0], room_of_groups, inside)
        # factors that know nothing of what the patch has become foresee too much
        if factorise(couplings, room_of_groups[: groups[0]], rows, blocks, factors) >= 0:
            astray = True
            break
        precondition(couplings, room_of_groups[: groups[0]], mine, factors, zeros, residual, update)
        node, size = largest(mine, update, scale)
        now = node, size, soft_now, heat_now, water_now, carried_now
        if size <= max(AGAIN, spot) and soft_now == 0 and carried_now <= may_carry:
            return now
    if not astray and now[1] <= max(left, newton_share):
        return now
    put(before_t, before_y, temperature, potential)
    follow(nodes, temperature, potential, scale, cautious[14], evaluation)
    heat, water, carried = assemble(
        nodes, paths, everyone, temperature, rate, history, loads, controls, True, False, False, *balances
    )
    return worst, left, UNSETTLED, heat, water, carried


@part_of_kernel
def _close(
    attempt, heat, water, carried, start_t, start_y, temperature, potential, rate, scale, flows, counts, spare, cautious
):  # fmt: skip
    """Make small sums of residuals at the end of a step nothing; False if there is more to iterate.

    None may be large against its own node's water: what is carried must never ask a
    nearly dry node for more than it has.  After some attempts sums need not be small, and after many they are
    left open.
    """
    storage, capacity, _, values, diagonal = cautious[:5]
    still_heat, still_water, flowing_heat, flowing_water = 0.0, 0.0, 0.0, 0.0
    for n in range(storage.shape[0]):
        still_heat += capacity[n, 0]
        still_water += storage[n, 1]
    for k in range(flows.shape[0]):
        flowing_heat += abs(flows[k, 0])
        flowing_water += abs(flows[k, 1]) + abs(flows[k, 2])
    still_heat *= BALANCE * rate * TEN_KELVIN
    still_water *= BALANCE * rate
    still = abs(heat) <= still_heat and abs(water) <= still_water
    small = abs(heat) <= max(FLOWING * flowing_heat, still_heat)
    small = small and abs(water) <= max(FLOWING * flowing_water, still_water)
    late, last = attempt >= ENOUGH, attempt >= TOO_MANY
    if carried > CARRIED or not (small or late):
        return False
    most = STILL if still or late else CLOSING
    closed = close(
        temperature, potential, start_t, start_y, storage, capacity, scale, values, diagonal, rate, heat / rate,
        water / rate, most, HEAT, AT_REST, spare,
    )  # fmt: skip
    # nodes at rest are asked last, and late
    if late and not closed:
        closed = close(
            temperature, potential, start_t, start_y, storage, capacity, scale, values, diagonal, rate, heat / rate,
            water / rate, most, HEAT, 0.0, spare,
        )  # fmt: skip
    counts[LEFT_OPEN] += last and not closed and not still
    return closed or last
