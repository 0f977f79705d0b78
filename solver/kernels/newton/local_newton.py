"""Local Newton on a subset of the nodes, the rest held, and its rounds on the active set (N6)."""

from __future__ import annotations

import numpy as np

from stemwall.solver.kernels.linear.bicgstab import precondition, scatter, solve
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.linear.row_order import row_blocks_of
from stemwall.solver.kernels.newton.active_set import add_neighbours, compact, flag_active, flag_unbalanced
from stemwall.solver.kernels.newton.counts import LOCAL_NODES, LOCAL_UPDATES
from stemwall.solver.kernels.newton.damping import DIVERGED, apply_update
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.linearised_state import update_state
from stemwall.solver.kernels.support.arrays import Mode, Stop, Subset
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import copy, max_norm

#: the Jacobian is renewed if an update exceeds this share of the one before
MAX_CONTRACTION = 0.3
#: the linear solver lowers what is left to the first share in a round, or to the second of what is asked for in the end
LINEAR_DROP, LINEAR_SHARE = 0.03, 0.3
#: most iterations of the linear solver
MAX_LINEAR_ITERATIONS = 200
#: at most so many rounds of so many updates; the next only if an update still exceeds a share of the wanted error, and
#: as long as the active set is at most this share of all nodes
MAX_ROUNDS = 5
MAX_LOCAL_UPDATES = 8.0
REPEAT_ABOVE = 0.02
MAX_ACTIVE_SHARE = 0.3
#: nodes whose residual exceeds a share of the allowed carry-over are active too, with a so many times smaller tolerance
UNBALANCED, STRICT = 0.3, 0.1


@kernel
def newton_on_subset(subset, u, stage, controls, renew, p):
    """Newton's iteration in a subset until no update exceeds a share of the wanted error.

    Parameters
    ----------
    subset : Subset
        The nodes that move.
    u : Unknowns
        Start and result; the state is that of the result.
    stage : Stage
        Equations.
    controls : tuple of float
        Most updates; share to which the linear solver lowers what is left; share of the wanted error; contraction that
        the second update must reach for the Jacobian to stay.
    renew : bool
        Assemble and factorise the rows of the subset first; else they and ``linear.subset_groups`` are as they were.
    p : Problem
        Everything else.

    Returns
    -------
    tuple
        How many nodes lost heat capacity in the last update, or `DIVERGED`; whether it converged; the updates taken.
    """
    most, drop, tolerance, contraction = controls
    nodes, newton, linear = subset.nodes, p.newton, p.linear
    update, residual, previous = newton.update, p.balance.residual, p.damping.previous_update
    dropped, before = 0, 1e300
    for number in range(nodes.size):
        previous[nodes[number]] = 0.0
    if not renew:
        assemble(subset, u, stage, Mode(False, False, True), p)
    for taken in range(int(most)):
        if renew and not _renew_subset(subset, u, stage, p):
            return DIVERGED, False, taken
        groups = linear.subset_groups[: linear.subset_count[0]]
        precondition(linear.rows, groups, nodes, linear.subset_factors, linear.zeros, residual, update)
        left = max_norm(nodes, update, newton.weights)[1]
        if left <= tolerance and dropped == 0:
            return 0, True, taken
        if not left < 1e300:
            return DIVERGED, False, taken
        renew = left > (contraction if taken == 1 else MAX_CONTRACTION) * before or dropped > 0
        before = left
        enough = max(drop * left, LINEAR_SHARE * tolerance)
        scatter(linear.rows.row, nodes, newton.weights, linear.work[9])
        stop = Stop(enough, 1.0, 0.0, MAX_LINEAR_ITERATIONS)
        used = solve(linear.rows, groups, nodes, linear.subset_factors, residual, update, linear.work, stop)
        if used < 0:
            # full ground: what the factors alone say is the better guide
            precondition(linear.rows, groups, nodes, linear.subset_factors, linear.zeros, residual, update)
        dropped = apply_update(nodes, u, stage.rate, previous, p)
        assemble(subset, u, stage, Mode(False, False, True), p)
    return dropped, False, int(most)


@kernel
def _renew_subset(subset, u, stage, p):
    """Rows of the Jacobian of a subset and their factors; False if a block is singular."""
    nodes, linear, capacity, kept = subset.nodes, p.linear, p.state.capacity, p.damping.capacity
    assemble(subset, u, stage, Mode(False, True, True), p)
    for number in range(nodes.size):
        n = nodes[number]
        for e in range(3):
            kept[n, e] = capacity[n, e]
    linear.subset_count[0] = row_blocks_of(nodes, linear.rows.row, linear.subset_groups, linear.subset_mask)
    groups = linear.subset_groups[: linear.subset_count[0]]
    return factorise(linear.rows, groups, linear.subset_mask, linear.blocks, linear.subset_factors) < 0


@part_of_kernel
def local_newton_rounds(tolerance, may_carry, newton_share, now, u, stage, p):
    """Local Newton on the active set, at most `MAX_ROUNDS` times; the state is restored on divergence.

    Parameters
    ----------
    tolerance : float
        Share of the wanted error above which a node is active.
    may_carry : float
        Largest residual that a node may carry over the step, as a share of its water.
    newton_share : float
        Share of the wanted error at which the iteration of all nodes ends.
    now : tuple
        Node and size of the largest next update, nodes that lost heat capacity, sums of the residuals of heat and
        water, and the largest relative residual; returned anew.
    u : Unknowns
        Changed in place.
    """
    newton, linear, balance = p.newton, p.linear, p.balance
    whole, active, before = newton.whole, newton.active, newton.before
    edges, indptr, indices = p.edges, p.jacobian.indptr, p.jacobian.indices
    copy(u, before)
    first = now
    diverged = False
    for _ in range(MAX_ROUNDS):
        near = tolerance
        flag_active(newton.update, newton.weights, tolerance, indptr, indices, active.marked)
        if now[5] > may_carry:
            bound = UNBALANCED * may_carry * stage.rate
            flag_unbalanced(balance.residual, p.state.storage, bound, indptr, indices, active.marked)
            near = STRICT * tolerance
        count, joined = compact(
            whole.nodes, active.marked, edges.start, edges.of, edges.other, active.nodes, active.edges
        )
        if count > MAX_ACTIVE_SHARE * whole.nodes.size:
            diverged = True
            break
        mine = Subset(active.nodes[:count], active.edges[:joined], active.marked)
        dropped, _, taken = newton_on_subset(
            mine, u, stage, (MAX_LOCAL_UPDATES, LINEAR_DROP, near, MAX_CONTRACTION), not diverged, p
        )
        mark_dirty(mine.nodes, linear.dirty, linear.factors_dirty)
        newton.counts[LOCAL_UPDATES] += taken
        newton.counts[LOCAL_NODES] += taken * count
        if dropped == DIVERGED:
            diverged = True
            break
        heat, water, carried = assemble(_nothing(whole), u, stage, Mode(False, False, False), p)
        node, size = _foreseen(mine.nodes, p.edges, p.jacobian, linear, newton, balance.residual)
        if node < 0 or not size < np.inf:
            diverged = True
            break
        now = node, size, dropped, heat, water, carried
        if size <= max(REPEAT_ABOVE, tolerance) and dropped == 0 and carried <= may_carry:
            return now
    if not diverged and now[1] <= max(first[1], newton_share):
        return now
    copy(before, u)
    update_state(whole.nodes, u, newton.weights, newton.listed, p.volumes, p.tables, p.state)
    heat, water, carried = assemble(whole, u, stage, Mode(True, False, False), p)
    return first[0], first[1], DIVERGED, heat, water, carried


@kernel
def _nothing(whole):
    """No nodes and no edges: only loads and sums are new."""
    return Subset(whole.nodes[:0], whole.edges[:0], whole.marked)


@kernel
def mark_dirty(nodes, dirty, factors_dirty):
    """Note that the rows of some nodes have other entries than their factors."""
    dirty[1] = True
    for number in range(nodes.size):
        factors_dirty[nodes[number]] = True


@kernel
def _foreseen(nodes, edges, jacobian, linear, newton, residual):
    """Node and size of the largest next update in a subset and round it, by renewed factors; -1 if a block is singular.

    Only round the subset has anything changed; factors that know nothing of what it has become foresee too much.
    """
    active = newton.active
    add_neighbours(nodes, jacobian.indptr, jacobian.indices, active.marked)
    count, _ = compact(
        newton.whole.nodes, active.marked, edges.start, edges.of, edges.other, active.nodes, active.edges
    )
    wider = active.nodes[:count]
    linear.subset_count[0] = row_blocks_of(wider, linear.rows.row, linear.subset_groups, linear.subset_mask)
    groups = linear.subset_groups[: linear.subset_count[0]]
    if factorise(linear.rows, groups, linear.row_mask, linear.blocks, linear.factors) >= 0:
        return -1, 0.0
    precondition(linear.rows, groups, wider, linear.factors, linear.zeros, residual, newton.update)
    return max_norm(wider, newton.update, newton.weights)
