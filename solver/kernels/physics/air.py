"""Advection of heat and vapour by air that moves along joints and between zones."""

from __future__ import annotations

from stemwall.solver.kernels.physics.jacobian import add_pair
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import (
    AIR_PV,
    AIR_T,
    C_A,
    C_V,
    L_V,
    LAM,
    MIXING,
    PV,
    PV_S,
    PV_T,
    VAP,
)


@kernel
def _carried(flow, t, pv):
    """Heat [W/m] and vapour [kg/(s m)] that a flow of dry air [kg/(s m)] carries, and the heat of that vapour."""
    vapour = flow * MIXING * pv
    heat = (L_V + C_V * t) * vapour
    return flow * C_A * t + heat, vapour, heat


@kernel
def through_air_links(subset, u, loads, mode, links, edges, state, balance, jacobian):
    """Air that moves from node to node, or between a node and the climate of a surface (link_b = -1), (P12).

    What a node passes on is the mean of both ends as long as diffusion along ``links.beside``, the edges beside the
    link, keeps that monotone, and leans on the upstream end beyond (share of it: 1 - 1/Peclet number).
    """
    temperature, rows, node, scv = u.temperature, subset.marked, state.node, state.scv
    blocks, diagonal, slots = jacobian.blocks, jacobian.diagonal, jacobian.link_slots
    edge_a, edge_b, edge_shape = edges.a, edges.b, edges.shape
    link_a, link_b, link_surface, link_edges = links.a, links.b, links.surface, links.beside
    link_flow, residual, flows = balance.link_flow, balance.residual, balance.flows
    with_jacobian, subset_only = mode.jacobian, mode.subset_only
    for c in range(link_a.size):
        flow = link_flow[c]
        if flow == 0.0:
            continue
        i, j, k = link_a[c], link_b[c], link_surface[c]
        if subset_only and not (rows[i] or (j >= 0 and rows[j])):
            continue
        if j < 0:
            if flow > 0.0:
                q, fv, wet = _carried(flow, loads[k, AIR_T], loads[k, AIR_PV])
            else:
                q, fv, wet = _carried(flow, temperature[i], node[i, PV])
            residual[i, 0] -= q
            residual[i, 1] -= fv
            flows[k, 0] += q
            flows[k, 1] += fv
            flows[k, 4] += wet
            if with_jacobian and rows[i] and flow < 0.0:
                d = diagonal[i]
                hv = L_V + C_V * temperature[i]
                fv_t, fv_s = flow * MIXING * node[i, PV_T], flow * MIXING * node[i, PV_S]
                blocks[d, 0] -= flow * C_A + hv * fv_t + C_V * fv
                blocks[d, 1] -= hv * fv_s
                blocks[d, 2] -= fv_t
                blocks[d, 3] -= fv_s
            continue
        heat = 0.0
        diffusion = 0.0
        for side in range(2):
            e = link_edges[c, side]
            if e >= 0:
                a, b = edge_a[e], edge_b[e]
                heat += 0.5 * edge_shape[e] * (scv[a, LAM] + scv[b, LAM])
                diffusion += 0.5 * edge_shape[e] * (scv[a, VAP] + scv[b, VAP])
        lean_t = max(0.5, 1.0 - heat / abs(flow * C_A))
        lean_v = max(0.5, 1.0 - diffusion / abs(flow * MIXING))
        if flow < 0.0:
            lean_t, lean_v = 1.0 - lean_t, 1.0 - lean_v
        t = lean_t * temperature[i] + (1.0 - lean_t) * temperature[j]
        pv = lean_v * node[i, PV] + (1.0 - lean_v) * node[j, PV]
        q, fv, wet = _carried(flow, t, pv)
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
            add_pair(
                blocks, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
                lean_t * own + hv * va * node[i, PV_T], hv * va * node[i, PV_S],
                va * node[i, PV_T], va * node[i, PV_S],
                (1.0 - lean_t) * own + hv * vb * node[j, PV_T], hv * vb * node[j, PV_S],
                vb * node[j, PV_T], vb * node[j, PV_S],
            )  # fmt: skip
