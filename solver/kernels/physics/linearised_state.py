"""Kernels that let the material state follow the unknowns: by its slopes where they moved little, anew elsewhere.

Plain arrays only; nothing is allocated.  See `layout` for the columns.
"""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import fused_kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    CON, CON_S, CON_T, FLOW, FLOW_S, FLOW_T, FM, FM_T, FV, FV_T, KELVIN, LAM, LAM_S, LAM_T, PC, PC_S, PV, PV_S, PV_T,
    R_V, RH, RH_S, RHO_W, TOTAL, TOTAL_S, VAP, VAP_S, VAP_T, WATER, unsigned,
)  # fmt: skip

# isort: on
from stemwall.solver.kernels.physics.material_state import evaluate

#: farthest that a node is from where it was evaluated, as a share of its wanted local errors ...
FAR = 5.0
#: ... and in potential: conductivities go with a power of the suction
FAR_POTENTIAL = 0.004
#: temperature [degC] below which nodes are always evaluated: ice bends everything
COLD = 1.0


@fused_kernel
def follow(nodes, temperature, potential, scale, room, evaluation):
    """Bring states of some nodes and all their parts, storage and capacity to where the unknowns are now.

    What is not far from where it was last evaluated moves along its slopes there, which stay; the rest is evaluated.
    ``room`` (N,) takes the list of these.  ``known`` (N, 4): unknowns that the state holds for now, and
    those it was evaluated at.
    """
    part_start, parts_of = evaluation[0], evaluation[1]
    node_state, part_state, storage, capacity, water_slope, known, _ = evaluation[17:]
    count = 0
    for number in range(nodes.size):
        index = nodes[number]
        n = unsigned(index)
        t, y = temperature[n], potential[n]
        far_t, far_y = abs(t - known[n, 2]), abs(y - known[n, 3])
        near = max(far_t * scale[n, 0], far_y * scale[n, 1]) <= FAR and far_y <= FAR_POTENTIAL
        if not near or min(t, known[n, 2]) < COLD or (y < 0.0) != (known[n, 3] < 0.0):
            room[count] = index
            count += 1
            continue
        dt, dy = t - known[n, 0], y - known[n, 1]
        known[n, 0], known[n, 1] = t, y
        rh, per_kelvin = node_state[n, RH], 1.0 / (t + KELVIN)
        rh_t = rh * node_state[n, PC] * per_kelvin * per_kelvin * (1.0 / (RHO_W * R_V))
        node_state[n, RH] = rh + rh_t * dt + node_state[n, RH_S] * dy
        node_state[n, PV] += node_state[n, PV_T] * dt + node_state[n, PV_S] * dy
        node_state[n, FM] += node_state[n, FM_T] * dt
        node_state[n, PC] += node_state[n, PC_S] * dy
        node_state[n, TOTAL] += node_state[n, TOTAL_S] * dy
        node_state[n, FV] += node_state[n, FV_T] * dt
        for b in range(part_start[index], part_start[index + 1]):
            p = unsigned(parts_of[unsigned(b)])
            part_state[p, FLOW] += part_state[p, FLOW_T] * dt + part_state[p, FLOW_S] * dy
            part_state[p, CON] += part_state[p, CON_T] * dt + part_state[p, CON_S] * dy
            part_state[p, VAP] += part_state[p, VAP_T] * dt + part_state[p, VAP_S] * dy
            part_state[p, LAM] += part_state[p, LAM_T] * dt + part_state[p, LAM_S] * dy
            part_state[p, WATER] += water_slope[p] * dy
        storage[n, 0] += capacity[n, 0] * dt + capacity[n, 1] * dy
        storage[n, 1] += capacity[n, 2] * dy
    if count > 0:
        evaluate(room[:count], temperature, potential, evaluation)
