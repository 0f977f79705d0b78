"""Local time stepping (N7): select a subset of the nodes and sub-step it within one global step.

Fronts of frost and of rain ask for short steps in few nodes.  The global step is kept in all others; the subset is
marched through it again in steps of its own, with the ghost nodes around it interpolated between the stages of the
global step [1]_.  See `refluxing` for what becomes of what flows.

References
----------
.. [1] Savcenco, Hundsdorfer, Verwer (2007), BIT Numerical Mathematics 47, 137-155: a multirate strategy for stiff
   equations, without the refluxing (from memory, to be checked).
"""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.newton.active_set import compact, compact_interface, flag_active, flag_linked
from stemwall.solver.kernels.newton.counts import AT_FLOOR, LOCAL_NODES, LOCAL_UPDATES, REJECTED_SUBSTEPS, SUBSTEPS
from stemwall.solver.kernels.newton.local_newton import newton_on_subset
from stemwall.solver.kernels.newton.stage import ACTIVE_TOL
from stemwall.solver.kernels.physics.material_state import evaluate
from stemwall.solver.kernels.support.arrays import Local, Stage, Subset
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import max_norm
from stemwall.solver.kernels.time.coefficients import DIAGONAL, ERROR_0, ERROR_1, ERROR_2, STAGE, WEIGHT
from stemwall.solver.kernels.time.refluxing import (
    accumulate_substep,
    fluxes_at,
    store_stage_fluxes,
    subtract_global_flux,
)
from stemwall.solver.kernels.time.step_control import growth_factor, next_step_end, reduction_factor

#: nodes with more than this share of the wanted error are sub-stepped, with their neighbours
SUBSTEP_THRESHOLD = 0.3
#: least share of the global step that the first sub-step takes
MIN_SUBSTEP_FRACTION = 0.1
#: power of the length of a step with which its error falls where fronts pass
FRONT_ORDER = 1.0
#: most updates of a stage of a sub-step, the share to which the linear solver lowers what is left in them, and the
#: contraction for which the second keeps the Jacobian: none, since fronts move in every update
MAX_SUBSTEP_UPDATES, SUBSTEP_LINEAR_DROP, SUBSTEP_CONTRACTION = 20.0, 0.01, 0.0
#: most sub-steps, those taken again included, in one global step
MAX_SUBSTEPS = 2000

_growth, _reduction, _next_end = kernel(growth_factor), kernel(reduction_factor), kernel(next_step_end)


@kernel
def select_subset(allowed, work, p):
    """Select where the scaled error is large and what belongs to it; sizes of the subset, its edges, interface, ghosts.

    Only edges lead out of it: membranes and air links join none of its nodes to others.  The marks are those of
    ``newton.active``; ``work`` takes nodes with the ghost nodes behind them, edges, interface edges and their outer
    ends.  The first size is nothing if more than ``allowed`` nodes are selected.
    """
    newton, edges, marked = p.newton, p.edges, p.newton.active.marked
    flag_active(newton.update, newton.weights, SUBSTEP_THRESHOLD, p.jacobian.indptr, p.jacobian.indices, marked)
    more = True
    while more:
        more = flag_linked(p.membranes.a, p.membranes.b, marked)
        more = flag_linked(p.links.a, p.links.b, marked) or more
    found = 0
    for n in range(marked.size):
        found += marked[n]
    if found > allowed:
        return 0, 0, 0, 0
    whole = newton.whole.nodes
    count, joined = compact(whole, marked, edges.start, edges.of, edges.other, work.nodes, work.edges)
    crossing, both = compact_interface(
        marked, count, edges.start, edges.of, edges.other, work.seen, work.nodes, work.interface_edges,
        work.interface_nodes,
    )  # fmt: skip
    return count, joined, crossing, both - count


@kernel
def localised(sizes, work, marked):
    """The subset of these sizes, see `select_subset`."""
    count, joined, crossing, ghosts = sizes
    subset = Subset(work.nodes[:count], work.edges[:joined], marked)
    return Local(
        subset, work.nodes[count : count + ghosts], work.interface_edges[:crossing], work.interface_nodes[:crossing]
    )


@kernel
def begin_substeps(local, states, accounts, work, edge_a, scv_node):
    """What sub-stepping begins with: what is held, nothing that flowed, and the ghost nodes at the three stages."""
    nodes, ghosts = local.subset.nodes, local.ghosts
    for i in range(nodes.size):
        for e in range(2):
            work.conserved[i, e], work.entered[i, e] = accounts.conserved[nodes[i], e], 0.0
    for c in range(local.interface.size):
        work.crossed[c, 0] = work.crossed[c, 1] = 0.0
        inwards = scv_node[edge_a[local.interface[c]]] == local.interface_nodes[c]
        work.interface_sign[c] = -1.0 if inwards else 1.0
    work.through[:, :] = 0.0
    for b in range(ghosts.size):
        n = ghosts[b]
        work.ghost_t[0, b], work.ghost_y[0, b] = states.start.temperature[n], states.start.potential[n]
        work.ghost_t[1, b], work.ghost_y[1, b] = states.middle.temperature[n], states.middle.potential[n]
        work.ghost_t[2, b], work.ghost_y[2, b] = states.end.temperature[n], states.end.potential[n]


@part_of_kernel
def substep(length, error, control, local, loads, states, work, p):
    """Sub-step a subset from the beginning to the end of a global step; False if that fails.

    Parameters
    ----------
    length, error : float
        Of the global step [s], and its largest scaled error.
    control : StepControl
        Errors of sub-steps of at most ``resolved`` are accepted.
    local : Local
        The subset; what it needs is in ``work``, see `begin_substeps`.
    loads : StepLoads
        At the three times of the global step, interpolated linearly between.
    states : StageStates
        The end is replaced in the subset.
    """
    nodes, u, counts = local.subset.nodes, states.end, p.newton.counts
    # what flowed in the stages of the global step is subtracted, the first stage last: there the sub-steps begin
    _save(nodes, states.middle, work)
    restore(nodes, work, u, p.volumes, p.tables, p.state)
    interpolate_ghosts(STAGE, local, loads, u, work, p.volumes, p.tables, p.state)
    subtract_global_flux(WEIGHT * length, local, u, work, loads, p)
    _save(nodes, states.start, work)
    restore(nodes, work, u, p.volumes, p.tables, p.state)
    interpolate_ghosts(0.0, local, loads, u, work, p.volumes, p.tables, p.state)
    subtract_global_flux(WEIGHT * length, local, u, work, loads, p)
    store_stage_fluxes(fluxes_at(0, work), local, work.interface_sign, p.balance)
    time, wanted = 0.0, length * _reduction(error, MIN_SUBSTEP_FRACTION, FRONT_ORDER)
    for _ in range(MAX_SUBSTEPS):
        if time >= length - 1e-6:
            break
        after = _next_end(time, length, wanted)
        step = after - time
        solved = _solve_substep(time, step, length, local, loads, u, work, p)
        if solved:
            error = _substep_error(nodes, work.inflows, p.linear, p.newton.update, p.newton.weights)
        if not solved or (error > 1.0 and step > control.resolved):
            wanted = step * (_reduction(error, 0.2, FRONT_ORDER) if solved else 0.25)
            if not solved and wanted < control.resolved:
                return False
            wanted = max(wanted, control.resolved)
            counts[REJECTED_SUBSTEPS] += 1
            restore(nodes, work, u, p.volumes, p.tables, p.state)
            continue
        counts[SUBSTEPS] += 1
        counts[AT_FLOOR] += error > 1.0
        accumulate_substep(step, local, work)
        _save(nodes, u, work)
        time = after
        wanted = step * _growth(error)
    if time < length - 1e-6:
        return False
    interpolate_ghosts(1.0, local, loads, u, work, p.volumes, p.tables, p.state)
    subtract_global_flux(DIAGONAL * length, local, u, work, loads, p)
    return True


@kernel
def _solve_substep(time, step, length, local, loads, u, work, p):
    """Solve both stages of a sub-step; False if one of them fails."""
    nodes, rhs, counts, inflows = local.subset.nodes, p.newton.spare, p.newton.counts, work.inflows
    rate = 1.0 / (DIAGONAL * step)
    for number in range(1, 3):
        first = number == 1
        for i in range(nodes.size):
            for e in range(2):
                flowed = inflows[0, i, e] if first else WEIGHT * rate * step * (inflows[0, i, e] + inflows[1, i, e])
                rhs[nodes[i], e] = rate * work.conserved[i, e] + flowed
        now = time + STAGE * step if first else time + step
        interpolate_ghosts(now / length, local, loads, u, work, p.volumes, p.tables, p.state)
        stage = Stage(rate, rhs, loads.now, loads.source_end)
        controls = MAX_SUBSTEP_UPDATES, SUBSTEP_LINEAR_DROP, ACTIVE_TOL, SUBSTEP_CONTRACTION
        dropped, solved, taken = newton_on_subset(local.subset, u, stage, controls, first, p)
        counts[LOCAL_UPDATES] += taken
        counts[LOCAL_NODES] += taken * nodes.size
        if not solved or dropped != 0:
            return False
        store_stage_fluxes(fluxes_at(number, work), local, work.interface_sign, p.balance)
    return True


@kernel
def _substep_error(nodes, inflows, linear, update, weights):
    """Scaled error of a sub-step, filtered as that of a global step."""
    factor = 1.0 / DIAGONAL
    for i in range(nodes.size):
        for e in range(2):
            update[nodes[i], e] = factor * (
                ERROR_0 * inflows[0, i, e] + ERROR_1 * inflows[1, i, e] + ERROR_2 * inflows[2, i, e]
            )
    groups = linear.subset_groups[: linear.subset_count[0]]
    precondition(linear.rows, groups, nodes, linear.subset_factors, linear.zeros, update, update)
    return max_norm(nodes, update, weights)[1]


@kernel
def restore(nodes, work, u, volumes, tables, state):
    """Put the nodes of a subset where they were saved, and evaluate them."""
    for i in range(nodes.size):
        u.temperature[nodes[i]], u.potential[nodes[i]] = work.start[0, i], work.start[1, i]
    evaluate(nodes, u, volumes, tables, state)


@kernel
def _save(nodes, u, work):
    """Save the unknowns of a subset."""
    for i in range(nodes.size):
        work.start[0, i], work.start[1, i] = u.temperature[nodes[i]], u.potential[nodes[i]]


@kernel
def interpolate_ghosts(share, local, loads, u, work, volumes, tables, state):
    """Loads and ghost nodes at a share of the global step, linearly between its stages; the ghosts are evaluated."""
    ghosts, ghost_t, ghost_y = local.ghosts, work.ghost_t, work.ghost_y
    early = share < STAGE
    first = 0 if early else 1
    part = share / STAGE if early else (share - STAGE) / (1.0 - STAGE)
    for b in range(ghosts.size):
        n = ghosts[b]
        u.temperature[n] = (1.0 - part) * ghost_t[first, b] + part * ghost_t[first + 1, b]
        u.potential[n] = (1.0 - part) * ghost_y[first, b] + part * ghost_y[first + 1, b]
    now = loads.now
    before = loads.start if early else loads.middle
    after = loads.middle if early else loads.end
    for k in range(now.shape[0]):
        for c in range(now.shape[1]):
            now[k, c] = before[k, c] + part * (after[k, c] - before[k, c])
    evaluate(ghosts, u, volumes, tables, state)
