"""The balances: residual and Jacobian of all nodes, or of some.

Plain arrays only; nothing is allocated.  Equations per node: energy
[W/m] and water [kg/(m s)], storage rate minus net inflow.  See `layout` for the unknowns and the columns.
"""

from __future__ import annotations

from stemwall.solver.kernels.physics.air import through_controls, through_streams
from stemwall.solver.kernels.physics.edges import through_paths
from stemwall.solver.kernels.physics.membranes import through_sheets
from stemwall.solver.kernels.physics.surfaces import through_faces
from stemwall.solver.kernels.support.jit import fused_kernel
from stemwall.solver.kernels.support.layout import unsigned


@fused_kernel
def assemble(
    nodes, paths, rows, temperature, rate, history, loads, controls, anew, with_jacobian, alone,
    source, storage, capacity, node_state, part_state,
    part_node, part_material, path_a, path_b, path_shape, path_rise, has_liquid, viscous,
    sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface,
    face_node, face_part, face_surface, face_width, face_data, bends,
    stream_a, stream_b, stream_surface, stream_path, stream_flow,
    indptr, diagonal, path_slots, sheet_slots, stream_slots,
    within, path_flow, inflow, residual, values, flows,
):  # fmt: skip
    """Net inflow and residual (N, 2), Jacobian blocks (nnz, 4), flows through surfaces (surfaces, 5).

    residual = rate * storage - history - inflow, with ``rate`` the leading
    coefficient of the time scheme [1/s], ``history`` (N, 2) its known part and
    ``source`` (N, 2) given gains [W/m, kg/(m s)].
    flows: heat in total [W/m], vapour, liquid [kg/(m s)], water refused [kg/(m s)], positive inwards; and the share of
    the heat that vapour and liquid carry, above liquid water at 0 degC [W/m].
    Blocks are row-major: dE/dT, dE/dy, dM/dT, dM/dy; they are renewed in the rows of ``nodes``,
    which ``rows`` (N,) marks, and need all paths that touch them.

    ``path_flow`` (C, 2) and ``within`` (N, 2), what leaves each node along all its paths, are kept
    from call to call: only ``paths`` whose ends have changed need be given, all of them to begin ``anew``.
    If ``nodes`` stand ``alone``, only their balances are asked for, and what enters them through surfaces if no sheet
    and no stream joins them to others; other rows of the residual are anything.
    Returns the sums of the residuals of energy and of water, and the largest water
    residual over a step as a share of the water its node holds.
    """
    flows[:, :] = 0.0
    if anew:
        within[:, :] = 0.0
    if with_jacobian:
        for number in range(nodes.size):
            n = nodes[number]
            for slot in range(indptr[n], indptr[n + 1]):
                k = unsigned(slot)
                values[k, 0] = 0.0
                values[k, 1] = 0.0
                values[k, 2] = 0.0
                values[k, 3] = 0.0
            d = unsigned(diagonal[n])
            values[d, 0] = rate * capacity[n, 0]
            values[d, 1] = rate * capacity[n, 1]
            values[d, 3] = rate * capacity[n, 2]
    # the same twice: what only the Jacobian needs falls away where the compiler knows that there is none
    if with_jacobian:
        through_paths(
            paths, temperature, node_state, part_state, part_node, part_material, path_a, path_b, path_shape, path_rise,
            has_liquid, viscous, diagonal, path_slots, within, path_flow, anew, values, rows, True,
        )  # fmt: skip
    else:
        through_paths(
            paths, temperature, node_state, part_state, part_node, part_material, path_a, path_b, path_shape, path_rise,
            has_liquid, viscous, diagonal, path_slots, within, path_flow, anew, values, rows, False,
        )  # fmt: skip
    # what is not along paths is gathered as outflows first
    if alone:
        for number in range(nodes.size):
            residual[nodes[number], 0], residual[nodes[number], 1] = 0.0, 0.0
    else:
        residual[:, :] = 0.0
    through_sheets(
        temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface, diagonal, sheet_slots,
        residual, values, flows, rows, with_jacobian, alone,
    )  # fmt: skip
    through_faces(
        temperature, node_state, part_state, part_material, viscous, face_node, face_part, face_surface, face_width,
        face_data, bends, loads, diagonal, residual, values, flows, rows, with_jacobian, alone,
    )  # fmt: skip
    through_controls(temperature, node_state, controls, diagonal, residual, values, flows, rows, with_jacobian, alone)
    through_streams(
        temperature, node_state, part_state, path_a, path_b, path_shape, stream_a, stream_b, stream_surface,
        stream_path, stream_flow, loads, diagonal, stream_slots, residual, values, flows, rows, with_jacobian, alone,
    )  # fmt: skip
    heat, water, carried = 0.0, 0.0, 0.0
    for number in range(nodes.size if alone else temperature.size):
        n = unsigned(nodes[number] if alone else number)
        inflow[n, 0] = source[n, 0] - within[n, 0] - residual[n, 0]
        inflow[n, 1] = source[n, 1] - within[n, 1] - residual[n, 1]
        held = rate * storage[n, 1]
        residual[n, 0] = rate * storage[n, 0] - history[n, 0] - inflow[n, 0]
        residual[n, 1] = held - history[n, 1] - inflow[n, 1]
        heat += residual[n, 0]
        water += residual[n, 1]
        if abs(residual[n, 1]) > carried * held:
            carried = abs(residual[n, 1]) / max(held, 1e-300)
    return heat, water, carried
