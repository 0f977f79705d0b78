"""One implicit stage: Newton's iteration for all nodes, local Newton on the active set, backtracking, balances."""

from __future__ import annotations

import numpy as np

from stemwall.solver.kernels.linear.bicgstab import precondition, solve, weigh
from stemwall.solver.kernels.linear.dilu import factorise_dirty
from stemwall.solver.kernels.newton.active_set import compact
from stemwall.solver.kernels.newton.balance_correction import MAX_CARRIED_RESIDUAL, TEMPERATURE_WEIGHT, close_balance
from stemwall.solver.kernels.newton.counts import JACOBIAN_OUTDATED, LINEAR, LINEAR_FAILED, MATRICES, RATE, UPDATES
from stemwall.solver.kernels.newton.damping import DIVERGED, apply_update
from stemwall.solver.kernels.newton.local_newton import (
    MAX_CONTRACTION,
    MAX_LINEAR_ITERATIONS,
    local_newton_rounds,
    mark_dirty,
)
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.linearised_state import update_state
from stemwall.solver.kernels.support.arrays import Mode, Stop, Subset
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import max_norm, steady

#: Newton's iteration stops when the next update would be below the first share of the wanted local error, and the
#: linear solver works to the second of them ...
NEWTON_SHARE, LINEAR_SHARE = 0.05, 0.0003
#: ... and at least to the first share of its first remainder, so that its noise does not feed on itself, and not below
#: the second, where four-byte numbers end: the next update goes on from there
LINEAR_DROP, LINEAR_FLOOR = 0.01, 1e-6
#: most updates of all nodes in a stage
MAX_UPDATES = 15
#: linear systems of a stage that the linear solver may leave unsolved: a shorter step has easier ones; no source
MAX_UNSOLVED = 3
#: the Jacobian is renewed before the next update of all nodes if that exceeds this share of the wanted local error, or
#: the share `MAX_CONTRACTION` of the update before
RENEW_ABOVE = 0.3
#: an update of all nodes after which the next is so many times as large, and this large, is halved, at most so often:
#: thaw in full ground
GROWTH_LIMIT, GROWTH_FLOOR, MAX_HALVINGS = 5.0, 1.0, 8
#: nodes whose next update exceeds this share of the wanted local error are active, at the end of a step and before
ACTIVE_TOL, ACTIVE_TOL_STAGE1 = 0.01, 0.03
#: residuals below this share of saturation, or of one kelvin, are round-off
ROUND_OFF = 1e-12

#: how a stage ends
SOLVED, FAILED = 0, 1


@part_of_kernel
def solve_stage(resolve, first, moved, start, u, stage, p):
    """Solve rate * storage = rhs + inflow in place; how that ended, and the node that failed.

    Newton's iteration starts from the last evaluated state.  After each update the residual is measured anew and
    turned into the next update it would cause, by the factors at hand: that estimate says when to stop.  Where it is
    still large, mostly at few nodes, the iteration goes on in these alone.  The Jacobian serves both stages of a step
    and is renewed if that does not suffice.  At the end of a step the residuals are made to add up to nothing.

    Parameters
    ----------
    resolve : bool
        The stage was solved before; ``moved`` were sub-stepped since.
    first : bool
        First stage of a step: the Jacobian is renewed, and sums need not close.
    moved : Subset
        See above.
    start, u : Unknowns
        At the beginning of the step; start and result.
    stage : Stage
        Equations.
    p : Problem
        Everything else.
    """
    newton = p.newton
    sums, done, sound = _begin(resolve, first, moved, u, stage, p)
    if done or not sound:
        return (SOLVED, -1) if done else (FAILED, worst_residual_node(p.balance.residual, newton.saturation))
    renew, left, before, worst = first, np.inf, np.inf, 0
    unsolved = newton.counts[LINEAR_FAILED] + MAX_UNSOLVED
    for attempt in range(MAX_UPDATES):
        dropped = 0
        if not resolve or attempt > 0:
            sound = newton.counts[LINEAR_FAILED] < unsolved
            if not sound or not _linear_update(attempt, renew, u, stage, p):
                return FAILED, worst_residual_node(p.balance.residual, newton.saturation)
            for n in range(u.temperature.size if attempt > 0 else 0):
                newton.spare[n, 0], newton.spare[n, 1] = u.temperature[n], u.potential[n]
            dropped = apply_update(newton.whole.nodes, u, stage.rate, p.damping.previous_update[:0], p)
            sums = assemble(newton.whole, u, stage, Mode(True, False, False), p)
        worst, left = next_update(p.linear, p.newton, p.balance.residual)
        if attempt > 0 and not left <= GROWTH_LIMIT * max(before, GROWTH_FLOOR):
            worst, left, sums = _backtrack(before, u, stage, p)
            dropped = DIVERGED
        if left > RENEW_ABOVE or dropped > 0:
            newton.flags[JACOBIAN_OUTDATED] = 1.0
        tolerance, may_carry = (ACTIVE_TOL_STAGE1, np.inf) if first else (ACTIVE_TOL, MAX_CARRIED_RESIDUAL)
        if left > tolerance or dropped > 0 or sums[2] > may_carry:
            now = worst, left, dropped, sums[0], sums[1], sums[2]
            worst, left, dropped, heat, water, carried = local_newton_rounds(
                tolerance, may_carry, p.tolerances.shares[0], now, u, stage, p
            )
            sums = heat, water, carried
        done = left <= p.tolerances.shares[0] and dropped == 0
        # sums matter at the end of a step alone
        if done and (first or close_balance(attempt, sums, start, u, stage.rate, p)):
            return SOLVED, -1
        renew, before = left > min(RENEW_ABOVE, MAX_CONTRACTION * before) or dropped != 0, left
    return FAILED, worst


@kernel
def _begin(resolve, first, moved, u, stage, p):
    """Assemble what a stage begins with; sums of the residuals, whether it is solved already, whether it can be."""
    newton, whole = p.newton, p.newton.whole
    if resolve:
        sums = assemble(moved, u, stage, Mode(False, True, False), p)
        _keep_capacity(moved.nodes, p.linear, p.state.capacity, p.damping.capacity)
        return sums, False, factorise_dirty(p.linear)
    if first:
        sums = reassemble_dirty_rows(u, stage, p)
    else:
        nothing = Subset(whole.nodes[:0], whole.edges[:0], whole.marked)
        sums = assemble(nothing, u, stage, Mode(False, False, False), p)
    return sums, steady(p.balance.residual, p.state.capacity, newton.saturation, stage.rate, ROUND_OFF), True


@kernel
def reassemble_dirty_rows(u, stage, p):
    """Renew the rows of the Jacobian that may have changed, all if the rate has; what `assemble` returns."""
    newton, dirty, active, edges = p.newton, p.state.jacobian_dirty, p.newton.active, p.edges
    if stage.rate != newton.flags[RATE]:
        newton.flags[RATE] = stage.rate
        dirty[:] = True
    for n in range(dirty.size):
        active.marked[n] = dirty[n] or newton.always_dirty[n]
    count, joined = compact(
        newton.whole.nodes, active.marked, edges.start, edges.of, edges.other, active.nodes, active.edges
    )
    rows = Subset(active.nodes[:count], active.edges[:joined], active.marked)
    sums = assemble(rows, u, stage, Mode(False, True, False), p)
    dirty[:] = False
    _keep_capacity(rows.nodes, p.linear, p.state.capacity, p.damping.capacity)
    return sums


@kernel
def _keep_capacity(nodes, linear, capacity, kept):
    """Note the capacity that rows of the Jacobian were assembled with, and that their factors are none of them."""
    mark_dirty(nodes, linear.dirty, linear.factors_dirty)
    for number in range(nodes.size):
        n = nodes[number]
        for e in range(3):
            kept[n, e] = capacity[n, e]


@kernel
def _linear_update(attempt, renew, u, stage, p):
    """Solve for the next update of all nodes; False if a block is singular or the update is no number."""
    newton, linear, update, residual = p.newton, p.linear, p.newton.update, p.balance.residual
    if renew:
        if attempt > 0:
            newton.flags[RATE] = 0.0
            reassemble_dirty_rows(u, stage, p)
        newton.counts[MATRICES] += 1
    if not factorise_dirty(linear):
        return False
    if attempt > 0:
        update[:, :] = 0.0
    nodes = newton.whole.nodes
    weigh(linear.rows, nodes, newton.weights, TEMPERATURE_WEIGHT, u.potential, linear.work[9])
    shares = p.tolerances.shares
    stop = Stop(shares[1], LINEAR_DROP, shares[2], MAX_LINEAR_ITERATIONS)
    used = solve(linear.rows, linear.groups, nodes, linear.factors, residual, update, linear.work, stop)
    newton.counts[LINEAR] += abs(used)
    if used < 0:
        # full ground, where water has no storage: what the factors alone say is the better guide
        newton.counts[LINEAR_FAILED] += 1
        precondition(linear.rows, linear.groups, nodes, linear.factors, linear.zeros, residual, update)
        if not max_norm(nodes, update, newton.weights)[1] < np.inf:
            return False
    newton.counts[UPDATES] += 1
    return True


@kernel
def next_update(linear, newton, residual):
    """Node and size of the largest update that the present residual would cause, by the factors."""
    nodes = newton.whole.nodes
    precondition(linear.rows, linear.groups, nodes, linear.factors, linear.zeros, residual, newton.update)
    return max_norm(nodes, newton.update, newton.weights)


@kernel
def _backtrack(before, u, stage, p):
    """Halve the last update of all nodes until the next is not much larger; its node and size, sums of residuals."""
    newton, spare = p.newton, p.newton.spare
    worst, left, sums = 0, np.inf, (0.0, 0.0, 0.0)
    for _ in range(MAX_HALVINGS):
        for n in range(u.temperature.size):
            u.temperature[n] = 0.5 * (u.temperature[n] + spare[n, 0])
            u.potential[n] = 0.5 * (u.potential[n] + spare[n, 1])
        update_state(newton.whole.nodes, u, newton.weights, newton.listed, p.volumes, p.tables, p.state)
        sums = assemble(newton.whole, u, stage, Mode(True, False, False), p)
        worst, left = next_update(p.linear, p.newton, p.balance.residual)
        if left <= GROWTH_LIMIT * max(before, GROWTH_FLOOR):
            break
    return worst, left, sums


@kernel
def worst_residual_node(residual, saturation):
    """Node with the largest water residual against its saturation."""
    worst, size = 0, -1.0
    for n in range(residual.shape[0]):
        here = abs(residual[n, 1]) / saturation[n]
        if not here <= size:
            worst, size = n, here
            if size != size:
                break
    return worst
