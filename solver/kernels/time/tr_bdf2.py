"""Kernels of a step of all nodes: its two stages with what flows at each, its error, and what is booked at its end.

Plain arrays only; nothing is allocated.  See `marching` for the scheme and `stage_kernels` for most of what is given.
"""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.newton.stage import BEGIN, BENT, RESUME, SOLVED, factorise_changed, solve_stage
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import RH_S, TOTAL_S
from stemwall.solver.kernels.support.norms import begin_end, begin_middle, fill_scale, judge, put, put_rows, weigh
from stemwall.solver.kernels.time.substeps import ALONE

#: how a step ends that waits for the loads of its next stage; else as a stage does
WAITING = 3


@kernel
def take_step(
    number, entry, in_turn, standing, marked_nodes, marked_paths, step, scheme, loads, course, accounts, wanted,
    controls, scale, update, residual, flows, shares, counts, memory, unknowns, matrix, patches, cautious, evaluation,
    balances,
):  # fmt: skip
    """Take a step of all nodes; how that ended, at which stage and node, the error, and how many nodes may march alone.

    ``number``: 0 at the beginning, else the stage to go on with; ``entry`` is how, as for a stage: `GO_ON` after a
    direct solution, `RESUME` to solve the last stage again after ``marked_nodes``, which ``marked_paths`` touch, have
    moved: the history is given then, and no error asked for.  If loads come ``in_turn``, the kernel is left before
    each stage.  ``standing``: the system stands at the state, the wanted errors are its, and only the loads are new.
    ``scheme``: `scheme.COEFFICIENTS`.  ``loads``: rows at the beginning, in the middle and at the end.  ``course``:
    temperature and potential at these three; the last are found.
    ``accounts``: what is conserved, its drift and history, zeros, all (N, 2), net inflow (3, N, 2) and flows through
    surfaces (3, surfaces, 5) at the three.  ``wanted``: the middle arguments of `step_kernels.fill_scale`.
    The error and its node are those of the step if it was solved.
    """
    temperature, potential, _, _, end_t, end_y = course
    conserved, drift, history, zeros, inflows, through = accounts
    at_middle, diagonal, weight, error_0, error_1, error_2 = scheme
    couplings, groups, _, _, factors, none, _, _, _, _, nodes, paths, everyone = matrix
    inflow = balances[-4]
    rate = 1.0 / (diagonal * step)
    if number == 0:
        memory[BENT] = 0.0
        given, along = (0, 0) if standing else (nodes.size, paths.size)
        assemble(
            nodes[:given], paths[:along], everyone, temperature, 0.0, zeros, loads[0], controls, not standing, False,
            False, *balances,
        )  # fmt: skip
        put(temperature, potential, end_t, end_y)
        if not standing:
            wish(wanted, cautious, evaluation, scale)
        if in_turn:
            return WAITING, 1, -1, 0.0, 0
    for stage in range(max(number, 1), 3):
        first, how = stage == 1, entry if stage == number else BEGIN
        if how == BEGIN:
            put_rows(flows, through[stage - 1])
            if first:
                begin_middle(-at_middle * step, rate, drift, conserved, inflow, inflows[0], history, update)
            else:
                begin_end(
                    (1.0 - at_middle) / at_middle, rate, rate * weight * step, course, conserved, inflows[0], inflow,
                    inflows[1], history, update,
                )  # fmt: skip
        ended, node = solve_stage(
            how, first, marked_nodes, marked_paths, temperature, potential, end_t, end_y, rate, history, loads[stage],
            controls, scale, update, residual, flows, shares, counts, memory, unknowns, matrix, patches, cautious,
            evaluation, balances,
        )  # fmt: skip
        if ended != SOLVED:
            return ended, stage, node, 0.0, 0
        if in_turn and first:
            return WAITING, 2, -1, 0.0, 0
    put_rows(flows, through[2])
    if entry == RESUME:
        put_rows(inflow, inflows[2])
        return SOLVED, 2, -1, 0.0, 0
    if memory[BENT] != 0.0:
        factorise_changed(matrix)
    # stiff nodes follow their neighbours whatever they did before: the raw difference of the two formulas is filtered
    # with the step's own matrix
    factor = rate * step
    weigh(factor * error_0, factor * error_1, factor * error_2, inflows, inflow, update)
    precondition(couplings, groups, nodes, factors, none, update, update)
    wish(wanted, cautious, evaluation, scale)
    worst, size, large = judge(update, scale, ALONE)
    return SOLVED, 2, worst, size, large


@kernel
def wish(wanted, cautious, evaluation, scale):
    """Fill ``scale`` (N, 2) with the reciprocals of the wanted local errors of a system as it was last evaluated."""
    node_state, capacity, saturation = evaluation[17], cautious[1], cautious[12]
    fill_scale(node_state[:, TOTAL_S], node_state[:, RH_S], capacity[:, 2], saturation, *wanted, scale)
