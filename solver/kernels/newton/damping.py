"""Kernels of Newton's iteration: cautious updates of the unknowns, and the iteration in a patch.

Plain arrays only; nothing is allocated.  ``evaluation``, ``balances`` and the fields of `couplings` are tuples of
arrays, the last arguments of the kernels that they are for.
"""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition, solve
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.newton.active_set import groups_of
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.enthalpy import heat_held, places_of
from stemwall.solver.kernels.physics.linearised_state import follow
from stemwall.solver.kernels.support.jit import fused_kernel, kernel
from stemwall.solver.kernels.support.norms import largest

STRIDE = 15.0  # farthest that a temperature moves in one update [K]
# potential to which a full node dries at most in one update; how far a node goes past where its uptake bends, drying
# and wetting; share of its last way that a node goes at most when it turns back
FULLEST, BEYOND, WITHIN, TURNED = 1.0, 0.2, 0.01, 0.5
TEMPERED = 1e-3  # cold nodes settle their own heat to this share of the wanted error ...
MOST_TEMPERING = 30  # ... in at most so many updates
SOFT = 0.5  # a node that holds less than this share of the heat per kelvin that its row says has to be seen again
SLOW = 0.3  # the matrix is renewed if an update exceeds this share of the one before
# the linear solver lowers what is left in a patch to the first share, or to the second of what is asked for in the end
DROP, ENOUGH = 0.03, 0.3
# most iterations of it, in a patch and elsewhere: numba compiles once for each constant; a direct solution costs more
MOST_LINEAR = 200
UNSETTLED = -1  # in place of softened nodes: the iteration did not get there


@kernel
def limited_update(
    nodes, temperature, potential, update, went, storage, matrix_capacity, values, diagonal, rate, bends, y1, driest,
    cold, promised, stood,
):  # fmt: skip
    """Take an update (N, 2) from some nodes with care.

    Temperatures move by at most ``STRIDE``.  In the capillary range (0 < y < y1) the potential moves by at
    most 2, and nowhere far from saturation or from the dry branch in one stride.

    A node in the rain takes up all of it down to the potential where it ``bends`` (N,) and refuses some below, infinite
    where there is no face: on this side a change of the potential changes little, on that much, and what is foreseen on
    one side says nothing of the other.  A node is stopped close to there, on the side to which it goes.  A conductivity
    that falls steeply near saturation does the same without a switch: a node that turns back goes at most half
    as far as it ``went`` (N,) in the update before, so that it does not do so for ever: zero at the beginning of an
    iteration, an empty array if no node is to be held back like this.

    Nodes that are or get below 0 degC are listed in ``cold``; how many is returned.  ``stood`` (N,) is where their
    temperature was, ``promised`` (N,) what storage and own flow of heat should come to by the matrix, whose capacities
    (N, 3), blocks and places of the ``diagonal`` are given; see `temper`.
    """
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        before = potential[n]
        after = before - update[n, 1]
        if before < 0.0:
            after = min(after, min(bends[n] + BEYOND, FULLEST))
        elif before < y1:
            after = min(max(after, before - 2.0), before + 2.0)
            if before > bends[n]:
                after = max(after, bends[n] - WITHIN)
        elif after < y1 - 1.0:
            after = y1 - 1.0
        after = min(after, driest)
        if went.size > 0:
            if (after - before) * went[n] < 0.0 and max(before, after) > 0.0:
                most = TURNED * abs(went[n])
                after = min(max(after, before - most), before + most)
            went[n] = after - before
        potential[n] = after
        t = temperature[n]
        dt = min(max(-update[n, 0], -STRIDE), STRIDE)
        temperature[n] = t + dt
        if min(t, t + dt) < 0.0:
            cold[count] = n
            count += 1
            own = max(values[diagonal[n], 0] - rate * matrix_capacity[n, 0], 0.0)
            kept = storage[n, 0] + matrix_capacity[n, 0] * dt + matrix_capacity[n, 1] * (after - before)
            promised[n] = rate * kept + own * (t + dt)
            stood[n] = t
    return count


@fused_kernel
def temper(
    cold, count, temperature, potential, matrix_capacity, values, diagonal, rate, promised, stood, scale, evaluation
):  # fmt: skip
    """Bring cold nodes to the temperature at which they hold what was promised.

    Latent heat bends the enthalpy far more than anything else: a node is left with
    rate * H(T) + own flow(T) = promised, which grows with T, and takes steps of Newton's method.
    """
    for number in range(count):
        n = cold[number]
        own = max(values[diagonal[n], 0] - rate * matrix_capacity[n, 0], 0.0)
        places = places_of(potential[n])
        t, low, high = temperature[n], stood[n] - STRIDE, stood[n] + STRIDE
        for _ in range(MOST_TEMPERING):
            held, slope = heat_held(n, t, places, evaluation)
            excess, slope = rate * held + own * t - promised[n], rate * slope + own
            t, low, high, there = tempered(t, low, high, excess, slope, TEMPERED / scale[n, 0])
            if there:
                break
        temperature[n] = t


@kernel
def tempered(t, low, high, excess, slope, near):
    """A step of Newton's method within a bracket, for what grows with t: t, bracket, whether it is that near."""
    if excess > 0.0:
        high = t
    else:
        low = t
    change = -excess / slope
    if min(abs(change), high - low) <= near:
        return t, low, high, True
    after = t + change
    if not low < after < high:
        after = 0.5 * (low + high)
    return after, low, high, False


@kernel
def softened(nodes, capacity, matrix_capacity, share):
    """Number of nodes that hold less heat per kelvin than a share of what the matrix was told."""
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        if capacity[n, 0] < share * matrix_capacity[n, 0]:
            count += 1
    return count


@kernel
def move(nodes, temperature, potential, rate, scale, update, went, cautious, evaluation):
    """Take an update from some nodes, cautiously, and evaluate them; cold ones settle their own heat.

    Returns how many nodes hold so much less heat per kelvin now that the matrix misleads.
    """
    (
        storage, capacity, matrix_capacity, values, diagonal, bends, y1, driest, cold, promised, stood, freezing, _, _,
        spare, _,
    ) = cautious  # fmt: skip
    count = limited_update(
        nodes, temperature, potential, update, went, storage, matrix_capacity, values, diagonal, rate, bends, y1,
        driest, cold, promised, stood,
    )  # fmt: skip
    if freezing:
        temper(
            cold, count, temperature, potential, matrix_capacity, values, diagonal, rate, promised, stood, scale,
            evaluation,
        )  # fmt: skip
    follow(nodes, temperature, potential, scale, spare, evaluation)
    return softened(nodes, capacity, matrix_capacity, SOFT) if freezing and count > 0 else 0


@kernel
def iterate(
    nodes, paths, marked, most, drop, spot, fresh, temperature, potential, rate, history, loads, controls, scale,
    update, residual, patch_solver, cautious, evaluation, balances,
):  # fmt: skip
    """Newton's iteration in marked nodes, the rest held, until no update exceeds ``spot`` of the wanted error.

    With at most so many updates, and with the matrix and the ``groups`` (1,) of rows in ``room`` unless ``fresh``.
    Returns how many nodes softened in the last update, or `UNSETTLED` if the iteration went astray, whether it
    converged, and the updates taken.
    """
    couplings, room, groups, inside, spare, blocks, factors, work = patch_solver
    capacity, matrix_capacity, went = cautious[1], cautious[2], cautious[15]
    count, before = 0, 1e300
    for number in range(nodes.size):
        went[nodes[number]] = 0.0
    renew = fresh
    if not fresh:
        assemble(
            nodes, paths, marked, temperature, rate, history, loads, controls, False, False, True, *balances
        )  # fmt: skip
    for taken in range(int(most)):
        if renew:
            assemble(
                nodes, paths, marked, temperature, rate, history, loads, controls, False, True, True, *balances
            )  # fmt: skip
            for number in range(nodes.size):
                n = nodes[number]
                for e in range(3):
                    matrix_capacity[n, e] = capacity[n, e]
            groups[0] = groups_of(nodes, couplings[0], room, inside)
        mine = room[: groups[0]]
        if renew and factorise(couplings, mine, inside, blocks, factors) >= 0:
            return UNSETTLED, False, taken
        precondition(couplings, mine, nodes, factors, spare, residual, update)
        left = largest(nodes, update, scale)[1]
        if left <= spot and count == 0:
            return 0, True, taken
        if not left < 1e300:
            return UNSETTLED, False, taken
        renew = left > SLOW * before or count > 0
        before = left
        enough = max(drop * left, ENOUGH * spot)
        if solve(couplings, mine, nodes, factors, scale, residual, update, work, enough, 1.0, MOST_LINEAR) < 0:
            # full ground: what the factors alone say is the better guide
            precondition(couplings, mine, nodes, factors, spare, residual, update)
        count = move(nodes, temperature, potential, rate, scale, update, went, cautious, evaluation)
        assemble(
            nodes, paths, marked, temperature, rate, history, loads, controls, False, False, True, *balances
        )  # fmt: skip
    return count, False, int(most)
