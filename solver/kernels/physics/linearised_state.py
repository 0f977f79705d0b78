"""First-order update of the material state near where it was evaluated."""

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
LINEARISATION_RADIUS = 5.0
#: ... and in potential: conductivities go with a power of the suction
MAX_POTENTIAL_SHIFT = 0.004
#: temperature [degC] below which nodes are always evaluated: the enthalpy of freezing is far from linear
NO_LINEARISATION_BELOW = 1.0


@fused_kernel
def update_state(nodes, u, weights, listed, volumes, tables, state):
    """Bring states of some nodes, their storage and capacity to where the unknowns are now (N9).

    First-order update inside the linearisation radius, where slopes and rows of the Jacobian stay; full evaluation
    outside, of the nodes that are ``listed`` (N,).
    """
    temperature, potential, scv_start, scvs_of = u.temperature, u.potential, volumes.start, volumes.of
    node, scv, storage, capacity = state.node, state.scv, state.storage, state.capacity
    water_slope, linearised_at = state.water_slope, state.linearised_at
    count = 0
    for number in range(nodes.size):
        index = nodes[number]
        n = unsigned(index)
        t, y = temperature[n], potential[n]
        far_t, far_y = abs(t - linearised_at[n, 2]), abs(y - linearised_at[n, 3])
        near = (
            max(far_t * weights[n, 0], far_y * weights[n, 1]) <= LINEARISATION_RADIUS and far_y <= MAX_POTENTIAL_SHIFT
        )
        if not near or min(t, linearised_at[n, 2]) < NO_LINEARISATION_BELOW or (y < 0.0) != (linearised_at[n, 3] < 0.0):
            listed[count] = index
            count += 1
            continue
        dt, dy = t - linearised_at[n, 0], y - linearised_at[n, 1]
        linearised_at[n, 0], linearised_at[n, 1] = t, y
        rh, per_kelvin = node[n, RH], 1.0 / (t + KELVIN)
        rh_t = rh * node[n, PC] * per_kelvin * per_kelvin * (1.0 / (RHO_W * R_V))
        node[n, RH] = rh + rh_t * dt + node[n, RH_S] * dy
        node[n, PV] += node[n, PV_T] * dt + node[n, PV_S] * dy
        node[n, FM] += node[n, FM_T] * dt
        node[n, PC] += node[n, PC_S] * dy
        node[n, TOTAL] += node[n, TOTAL_S] * dy
        node[n, FV] += node[n, FV_T] * dt
        for b in range(scv_start[index], scv_start[index + 1]):
            q = unsigned(scvs_of[unsigned(b)])
            scv[q, FLOW] += scv[q, FLOW_T] * dt + scv[q, FLOW_S] * dy
            scv[q, CON] += scv[q, CON_T] * dt + scv[q, CON_S] * dy
            scv[q, VAP] += scv[q, VAP_T] * dt + scv[q, VAP_S] * dy
            scv[q, LAM] += scv[q, LAM_T] * dt + scv[q, LAM_S] * dy
            scv[q, WATER] += water_slope[q] * dy
        storage[n, 0] += capacity[n, 0] * dt + capacity[n, 1] * dy
        storage[n, 1] += capacity[n, 2] * dy
    if count > 0:
        evaluate(listed[:count], u, volumes, tables, state)
