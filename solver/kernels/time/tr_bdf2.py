"""One step of all nodes by TR-BDF2 or implicit Euler (N1): two implicit stages, what flows at each, the error (N3)."""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.linear.dilu import factorise_dirty
from stemwall.solver.kernels.newton.counts import JACOBIAN_OUTDATED
from stemwall.solver.kernels.newton.stage import SOLVED, solve_stage
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.support.arrays import Mode, Stage, Subset
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.norms import copy, copy_rows, error_norm, error_weights
from stemwall.solver.kernels.time.coefficients import ERROR_0, ERROR_1, ERROR_2
from stemwall.solver.kernels.time.substeps import SUBSTEP_THRESHOLD


@kernel
def take_step(entry, step, loads, states, accounts, p):
    """Take a step of all nodes; returns status, stage, worst node, scaled error, and how many nodes may be sub-stepped.

    Parameters
    ----------
    entry : Entry
        Its scheme; to solve the last stage again: its right-hand side is given then, and no error asked for.
    step : float
        Length [s].
    loads : StepLoads
        At the three times of the step.
    states : StageStates
        The start is given, the others are found.
    accounts : Accounts
        Stage fluxes are noted, nothing is accounted yet.
    p : Problem
        ``newton.update`` ends as the filtered error.
    """
    newton, inflow, flows, resolve = p.newton, p.balance.inflow, p.balance.flows, entry.resolve
    tableau = entry.tableau
    rate = 1.0 / (tableau.diagonal * step)
    if not resolve:
        _begin(entry.current, loads, states, accounts, p)
    for number in range(2 if resolve else 1, 3):
        first = number == 1
        if not resolve:
            copy_rows(flows, accounts.flows[number - 1])
            if first:
                begin_middle(step, rate, tableau, accounts, inflow, newton.update)
            else:
                begin_end(step, rate, tableau, states, accounts, inflow, newton.update)
        source = loads.source_middle if first else loads.source_end
        stage = Stage(rate, accounts.rhs, loads.middle if first else loads.end, source)
        ended, node = solve_stage(resolve, first, entry.moved, states.start, states.end, stage, p)
        if ended != SOLVED:
            return ended, number, node, 0.0, 0
    copy_rows(flows, accounts.flows[2])
    if resolve:
        copy_rows(inflow, accounts.inflows[2])
        return SOLVED, 2, -1, 0.0, 0
    worst, size, large = filtered_error(rate * step, accounts.inflows, p)
    return SOLVED, 2, worst, size, large


@kernel
def _begin(current, loads, states, accounts, p):
    """Flows at the start of a step; the end begins there."""
    whole = p.newton.whole
    stage = Stage(0.0, accounts.zeros, loads.start, loads.source_start)
    given = 0 if current else whole.nodes.size
    along = 0 if current else whole.edges.size
    nodes = Subset(whole.nodes[:given], whole.edges[:along], whole.marked)
    assemble(nodes, states.start, stage, Mode(not current, False, False), p)
    copy(states.start, states.end)
    if not current:
        error_weights(p.state, p.newton, p.tolerances)


@kernel
def begin_middle(step, rate, tableau, accounts, inflow, update):
    """Note the net inflow at the start, fill right-hand side and foreseen change of the first stage."""
    conserved, drift, rhs, noted = accounts.conserved, accounts.drift, accounts.rhs, accounts.inflows[0]
    factor = -tableau.middle * step
    for n in range(update.shape[0]):
        for e in range(2):
            noted[n, e] = inflow[n, e]
            rhs[n, e] = rate * conserved[n, e] + tableau.begun * inflow[n, e]
            update[n, e] = factor * drift[n, e]


@kernel
def begin_end(step, rate, tableau, states, accounts, inflow, update):
    """Note inflow and unknowns of the first stage, fill the right-hand side of the last and the change to there.

    What is foreseen, with its sign turned, goes on as from the start to the first stage.
    """
    factor = (1.0 - tableau.middle) / tableau.middle
    earlier, weight = rate * tableau.before * step, rate * tableau.within * step
    start, middle, end = states.start, states.middle, states.end
    conserved, rhs, before, noted = accounts.conserved, accounts.rhs, accounts.inflows[0], accounts.inflows[1]
    for n in range(update.shape[0]):
        for e in range(2):
            noted[n, e] = inflow[n, e]
            rhs[n, e] = rate * conserved[n, e] + earlier * before[n, e] + weight * inflow[n, e]
        middle.temperature[n], middle.potential[n] = end.temperature[n], end.potential[n]
        update[n, 0] = factor * (start.temperature[n] - end.temperature[n])
        update[n, 1] = factor * (start.potential[n] - end.potential[n])


@kernel
def filtered_error(factor, inflows, p):
    """Error of a step, in ``newton.update``; its worst node, scaled size, and how many nodes may be sub-stepped.

    Stiff nodes follow their neighbours whatever they did before: the raw difference of the two formulas is filtered
    with the step's own matrix.
    """
    newton, linear, inflow, update = p.newton, p.linear, p.balance.inflow, p.newton.update
    if newton.flags[JACOBIAN_OUTDATED] != 0.0:
        factorise_dirty(linear)
    for n in range(update.shape[0]):
        for e in range(2):
            inflows[2, n, e] = inflow[n, e]
            update[n, e] = factor * (ERROR_0 * inflows[0, n, e] + ERROR_1 * inflows[1, n, e] + ERROR_2 * inflow[n, e])
    precondition(linear.rows, linear.groups, newton.whole.nodes, linear.factors, linear.zeros, update, update)
    error_weights(p.state, p.newton, p.tolerances)
    return error_norm(update, newton.weights, SUBSTEP_THRESHOLD)
