"""Air that moves from node to node, and what heats or dries the air of a zone: flows and derivatives."""

from __future__ import annotations

from stemwall.solver.kernels.physics.edges import add_pair_derivatives
from stemwall.solver.kernels.physics.material_state import saturation_pressure
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import AIR_PV, AIR_T, C_A, C_V, C_W, L_V, LAM, MIXING, PV, PV_S, PV_T, VAP


@kernel
def through_controls(temperature, node_state, controls, diagonal, residual, values, flows, rows, with_jacobian, alone):
    """Heaters and dehumidifiers (P13).

    controls (Q, 7): node, kind (0 heats, 1 dries), set point [degC or -], capacity [W/m or kg/(s m)], band,
    heat per kilogram [J/kg], row of flows.
    """
    for c in range(controls.shape[0]):
        n, row = int(controls[c, 0]), int(controls[c, 6])
        if alone and not rows[n]:
            continue
        set_point, capacity, band = controls[c, 2], controls[c, 3], controls[c, 4]
        t = temperature[n]
        if controls[c, 1] == 0.0:
            share = (set_point - t) / band
            slope = -capacity / band if 0.0 < share < 1.0 else 0.0
            q = capacity * min(max(share, 0.0), 1.0)
            residual[n, 0] -= q
            flows[row, 0] += q
            if with_jacobian and rows[n]:
                values[diagonal[n], 0] -= slope
            continue
        ps, ps_t = saturation_pressure(t)
        rh = node_state[n, PV] / ps
        share = (rh - set_point) / band
        active = 0.0 < share < 1.0
        taken = capacity * min(max(share, 0.0), 1.0)
        # the water leaves as liquid at zone temperature; its heat of evaporation stays, and the electricity
        leaves = C_W * t
        residual[n, 0] -= taken * (controls[c, 5] - leaves)
        residual[n, 1] += taken
        flows[row, 0] += taken * (controls[c, 5] - leaves)
        flows[row, 2] -= taken
        flows[row, 4] -= taken * leaves
        if with_jacobian and rows[n]:
            taken_t = 0.0
            taken_s = 0.0
            if active:
                taken_t = capacity / band * (node_state[n, PV_T] - rh * ps_t) / ps
                taken_s = capacity / band * node_state[n, PV_S] / ps
            d = diagonal[n]
            values[d, 0] -= taken_t * (controls[c, 5] - leaves) - taken * C_W
            values[d, 1] -= taken_s * (controls[c, 5] - leaves)
            values[d, 2] += taken_t
            values[d, 3] += taken_s


@kernel
def _carried_by_air(flow, t, pv):
    """Heat [W/m] and vapour [kg/(s m)] that a flow of dry air [kg/(s m)] carries, and the heat of that vapour."""
    vapour = flow * MIXING * pv
    heat = (L_V + C_V * t) * vapour
    return flow * C_A * t + heat, vapour, heat


@kernel
def through_streams(
    temperature, node_state, part_state, path_a, path_b, path_shape, stream_a, stream_b, stream_surface,
    stream_path, stream_flow, loads, diagonal, slots, residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Air that moves from node to node, or between a node and the climate of a surface (stream_b = -1).

    stream_flow (Q,): dry air [kg/(s m)] from a to b; from the climate into a.  What a node
    passes on is the mean of both ends as long as diffusion along ``stream_path`` (Q, 2), the
    paths beside the stream or -1, keeps that monotone, and leans on the upstream end beyond
    (share of it: 1 - 1/Peclet number).
    """
    for c in range(stream_a.size):
        flow = stream_flow[c]
        if flow == 0.0:
            continue
        i, j, k = stream_a[c], stream_b[c], stream_surface[c]
        if alone and not (rows[i] or (j >= 0 and rows[j])):
            continue
        if j < 0:
            if flow > 0.0:
                q, fv, wet = _carried_by_air(flow, loads[k, AIR_T], loads[k, AIR_PV])
            else:
                q, fv, wet = _carried_by_air(flow, temperature[i], node_state[i, PV])
            residual[i, 0] -= q
            residual[i, 1] -= fv
            flows[k, 0] += q
            flows[k, 1] += fv
            flows[k, 4] += wet
            if with_jacobian and rows[i] and flow < 0.0:
                d = diagonal[i]
                hv = L_V + C_V * temperature[i]
                fv_t, fv_s = flow * MIXING * node_state[i, PV_T], flow * MIXING * node_state[i, PV_S]
                values[d, 0] -= flow * C_A + hv * fv_t + C_V * fv
                values[d, 1] -= hv * fv_s
                values[d, 2] -= fv_t
                values[d, 3] -= fv_s
            continue
        heat = 0.0
        diffusion = 0.0
        for side in range(2):
            p = stream_path[c, side]
            if p >= 0:
                a, b = path_a[p], path_b[p]
                heat += 0.5 * path_shape[p] * (part_state[a, LAM] + part_state[b, LAM])
                diffusion += 0.5 * path_shape[p] * (part_state[a, VAP] + part_state[b, VAP])
        lean_t = max(0.5, 1.0 - heat / abs(flow * C_A))
        lean_v = max(0.5, 1.0 - diffusion / abs(flow * MIXING))
        if flow < 0.0:
            lean_t, lean_v = 1.0 - lean_t, 1.0 - lean_v
        t = lean_t * temperature[i] + (1.0 - lean_t) * temperature[j]
        pv = lean_v * node_state[i, PV] + (1.0 - lean_v) * node_state[j, PV]
        q, fv, wet = _carried_by_air(flow, t, pv)
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv
        residual[j, 1] -= fv
        if k >= 0:
            flows[k, 0] -= q
            flows[k, 1] -= fv
            flows[k, 4] -= wet
        if with_jacobian:
            hv = L_V + C_V * t
            own = flow * C_A + C_V * fv
            va, vb = flow * MIXING * lean_v, flow * MIXING * (1.0 - lean_v)
            add_pair_derivatives(
                values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
                lean_t * own + hv * va * node_state[i, PV_T], hv * va * node_state[i, PV_S],
                va * node_state[i, PV_T], va * node_state[i, PV_S],
                (1.0 - lean_t) * own + hv * vb * node_state[j, PV_T], hv * vb * node_state[j, PV_S],
                vb * node_state[j, PV_T], vb * node_state[j, PV_S],
            )  # fmt: skip
