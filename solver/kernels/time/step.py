"""One global step, with local time stepping where it was too long for few nodes, and what it accounts for."""

from __future__ import annotations

from stemwall.solver.kernels.newton.counts import AT_FLOOR, JACOBIAN_OUTDATED
from stemwall.solver.kernels.newton.stage import SOLVED
from stemwall.solver.kernels.support.arrays import Entry, Subset, Unknowns
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.norms import copy, error_weights, max_norm
from stemwall.solver.kernels.time.coefficients import DIAGONAL, IMPLICIT_EULER, TR_BDF2
from stemwall.solver.kernels.time.refluxing import apply_reflux, reflux
from stemwall.solver.kernels.time.substeps import begin_substeps, localised, select_subset, substep
from stemwall.solver.kernels.time.tr_bdf2 import take_step

#: nodes that are sub-stepped for each with a large error, about
DILATION = 5
#: change of nodes outside the subset, as a share of the wanted error, with which it is repeated with them in it, and
#: how often it is tried
COUPLING_TOL, MAX_COUPLING_ITERATIONS = 0.5, 2
#: how a step ends whose error was too large; else as a stage does
TOO_LONG = 4


@kernel
def attempt_step(current, step, control, loads, states, accounts, work, p):
    """Attempt one global step.

    Where it is too long for few nodes they are sub-stepped, and its last stage is solved again.  If nodes outside the
    subset change by more than `COUPLING_TOL`, it is repeated with them in it.

    Parameters
    ----------
    current : bool
        See `tr_bdf2.take_step`.
    step : float
        Length [s].
    control : StepControl
        What is accepted.
    loads : StepLoads
        At the three times of the step.
    states : StageStates
        From the start to the end.
    accounts : Accounts
        Sums over the run are added to if the step is accepted.
    work : Substeps
        Work space.
    p : Problem
        Everything else.

    Returns
    -------
    tuple
        `SOLVED`, `FAILED` or `TOO_LONG`, the worst node, the scaled error of the global step, and whether few enough
        nodes had a large one to be sub-stepped.
    """
    newton, whole = p.newton, p.newton.whole.nodes
    newton.flags[JACOBIAN_OUTDATED] = 0.0
    none = Subset(whole[:0], newton.whole.edges[:0], newton.active.marked)
    tableau = IMPLICIT_EULER if control.damped else TR_BDF2
    ended, _, worst, error, large = take_step(Entry(False, current, none, tableau), step, loads, states, accounts, p)
    if ended != SOLVED:
        return ended, worst, error, False
    if control.equal or control.damped:
        error = 0.0
    few = DILATION * large <= control.max_local_share * whole.size
    if error <= 1.0 or step <= control.resolved:
        newton.counts[AT_FLOOR] += error > 1.0 or control.damped
        account(step, tableau, states, accounts, loads, p.state.storage, newton.saturation)
        return SOLVED, worst, error, few
    if not few or not _substepped(step, error, control, loads, states, accounts, work, p):
        return TOO_LONG, worst, error, few
    error_weights(p.state, newton, p.tolerances)
    account(step, tableau, states, accounts, loads, p.state.storage, newton.saturation)
    return SOLVED, worst, error, True


@kernel
def _substepped(step, error, control, loads, states, accounts, work, p):
    """Sub-step the nodes with large errors until nodes outside do not change any more; False if that fails."""
    newton, linear, whole, rhs = p.newton, p.linear, p.newton.whole.nodes, accounts.rhs
    update, weights, dirty = newton.update, newton.weights, p.state.jacobian_dirty
    rate = 1.0 / (DIAGONAL * step)
    before = Unknowns(work.end[0], work.end[1])
    room = work.interface_sign.size
    for _ in range(MAX_COUPLING_ITERATIONS):
        allowed = int(min(control.max_local_share * whole.size, work.conserved.shape[0]))
        sizes = select_subset(allowed, work, p)
        if sizes[0] == 0 or sizes[2] > room or sizes[3] > room:
            return False
        local = localised(sizes, work, newton.active.marked)
        nodes = local.subset.nodes
        copy(states.end, before)
        begin_substeps(local, states, accounts, work, p.edges.a, p.volumes.node)
        if not substep(step, error, control, local, loads, states, work, p):
            return False
        linear.dirty[1] = True
        for i in range(nodes.size):
            linear.factors_dirty[nodes[i]] = dirty[nodes[i]] = True
        reflux(rate, local, work, rhs)
        ended, _, _, _, _ = take_step(Entry(True, False, local.subset, TR_BDF2), step, loads, states, accounts, p)
        if ended != SOLVED:
            return False
        apply_reflux(rate, local, states, accounts, work, update)
        if max_norm(whole, update, weights)[1] <= COUPLING_TOL:
            return True
        reflux(-rate, local, work, rhs)
        for i in range(nodes.size):
            update[nodes[i], 0] = 1.0 / weights[nodes[i], 0]  # they are sub-stepped again
    return False


@kernel
def account(step, tableau, states, accounts, loads, storage, saturation):
    """Add the weighted stage fluxes of an accepted step to the sums of the run, and note the drift at its end."""
    conserved, drift, inflows, flows = accounts.conserved, accounts.drift, accounts.inflows, accounts.flows
    through = accounts.through
    first, second, last = tableau.before * step, tableau.within * step, tableau.diagonal * step
    per_second = 1.0 / ((1.0 - tableau.middle) * step)
    middle, end = states.middle, states.end
    before, within, after = loads.source_start, loads.source_middle, loads.source_end
    worst, heat, water = 0.0, 0.0, 0.0
    for n in range(conserved.shape[0]):
        for e in range(2):
            conserved[n, e] += first * inflows[0, n, e] + second * inflows[1, n, e] + last * inflows[2, n, e]
        heat += first * before[n, 0] + second * within[n, 0] + last * after[n, 0]
        water += first * before[n, 1] + second * within[n, 1] + last * after[n, 1]
        drift[n, 0] = (end.temperature[n] - middle.temperature[n]) * per_second
        drift[n, 1] = (end.potential[n] - middle.potential[n]) * per_second
        worst = max(worst, abs(storage[n, 1] - conserved[n, 1]) / saturation[n])
    accounts.injected[0] += heat
    accounts.injected[1] += water
    accounts.defect[0] = worst
    for k in range(through.shape[0]):
        for e in range(through.shape[1]):
            through[k, e] += first * flows[0, k, e] + second * flows[1, k, e] + last * flows[2, k, e]
