"""Fluxes along the edges between sub-control volumes of one material: heat, vapour, liquid."""

from __future__ import annotations

from stemwall.solver.kernels.physics.jacobian import add_pair
from stemwall.solver.kernels.support.exp_log import exponential
from stemwall.solver.kernels.support.jit import part_of_kernel
from stemwall.solver.kernels.support.layout import (
    C_V,
    C_W,
    CON,
    CON_S,
    CON_T,
    FLOW,
    FLOW_S,
    FLOW_T,
    FM,
    FM_T,
    GRAVITY,
    ICE,
    ICE_S,
    ICE_T,
    IMPEDANCE,
    L_V,
    LAM,
    LAM_S,
    LAM_T,
    P0,
    PC,
    PC_S,
    PC_T,
    PRESS,
    PRESS_S,
    PV,
    PV_S,
    PV_T,
    RHO_W,
    VAP,
    VAP_S,
    VAP_T,
    unsigned,
)


@part_of_kernel
def through_edges(subset, u, p, rebuild, with_jacobian):
    """Heat, vapour and liquid along the edges of a subset (P5), (P6), (P7).

    What a flow changed since the last call is added to ``edge_outflow`` (N, 2) [W/m, kg/(m s)] of its two nodes, its
    derivatives to the marked rows of the Jacobian.  ``rebuild``: the sums begin at nothing.

    The mean conductivity under gravity is the integral mean of the curve between both suctions where the lower end is
    the wetter one, which is exact at hydrostatic rest, and the arithmetic mean where water falls into drier material.
    """
    temperature, rows, edges = u.temperature, subset.marked, subset.edges
    node, scv = p.state.node, p.state.scv
    blocks, diagonal, slots = p.jacobian.blocks, p.jacobian.diagonal, p.jacobian.edge_slots
    edge_a, edge_b, edge_shape, edge_rise = p.edges.a, p.edges.b, p.edges.shape, p.edges.rise
    scv_node, scv_material = p.volumes.node, p.volumes.material
    has_liquid, viscous = p.tables.has_liquid, p.tables.viscous
    edge_flux, edge_outflow = p.balance.edge_flux, p.balance.edge_outflow
    for number in range(edges.size):
        c = unsigned(edges[number])
        a, b, g = unsigned(edge_a[c]), unsigned(edge_b[c]), edge_shape[c]
        i, j = unsigned(scv_node[a]), unsigned(scv_node[b])
        m = unsigned(scv_material[a])
        ta, tb = temperature[i], temperature[j]
        dt, tm = ta - tb, 0.5 * (ta + tb)
        # vapour, driven by vapour pressure
        dpv = node[i, PV] - node[j, PV]
        dv = 0.5 * (scv[a, VAP] + scv[b, VAP])
        fv = g * dv * dpv
        # liquid, driven by the flow potential and by gravity
        fl = 0.0
        vis = 1.0
        ice = 0.0
        lift = 0.0
        drive = 0.0
        con_sa = 0.0
        con_sb = 0.0
        con_ta = 0.0
        con_tb = 0.0
        push_a = 0.0
        push_b = 0.0
        liquid = has_liquid[m]
        if liquid:
            if viscous[m]:
                vis = 0.5 * (node[i, FM] + node[j, FM])
            ice = scv[a, ICE] + scv[b, ICE]
            if ice > 0.0:
                vis *= exponential(-0.5 * IMPEDANCE * ice)
            drive = scv[a, FLOW] - scv[b, FLOW]
            # ... and by the pressure of ice
            lift = RHO_W * GRAVITY * edge_rise[c] + node[j, PRESS] - node[i, PRESS]
            if lift != 0.0:
                # integral mean where the lower end is wetter (exact at hydrostatic rest),
                # arithmetic mean where water falls into drier material
                dpc = node[i, PC] - node[j, PC]
                span = abs(node[i, PC]) + abs(node[j, PC]) + P0
                if dpc * lift > 0.0 and abs(dpc) > 1e-7 * span:
                    per_dpc = 1.0 / dpc
                    con_a, con_b = scv[a, CON], scv[b, CON]
                    # states that follow by their slopes agree to the second order only, and dpc may be small
                    con = min(max(-drive * per_dpc, min(con_a, con_b)), max(con_a, con_b))
                    above, below = (con_a - con) * per_dpc, (con - con_b) * per_dpc
                    con_sa, con_ta = above * node[i, PC_S], above * node[i, PC_T]
                    con_sb, con_tb = below * node[j, PC_S], below * node[j, PC_T]
                else:
                    con = 0.5 * (scv[a, CON] + scv[b, CON])
                    con_sa, con_ta = 0.5 * scv[a, CON_S], 0.5 * scv[a, CON_T]
                    con_sb, con_tb = 0.5 * scv[b, CON_S], 0.5 * scv[b, CON_T]
                drive += con * lift
                push_a, push_b = -con * node[i, PRESS_S], con * node[j, PRESS_S]
            fl = g * vis * drive
        lam = 0.5 * (scv[a, LAM] + scv[b, LAM])
        hv = L_V + C_V * tm
        q = g * lam * dt + hv * fv + C_W * tm * fl
        more, wetter = q, fv + fl
        if not rebuild:
            more -= edge_flux[c, 0]
            wetter -= edge_flux[c, 1]
        edge_flux[c, 0], edge_flux[c, 1] = q, fv + fl
        edge_outflow[i, 0] += more
        edge_outflow[j, 0] -= more
        edge_outflow[i, 1] += wetter
        edge_outflow[j, 1] -= wetter
        if not with_jacobian or not (rows[i] or rows[j]):
            continue
        fv_ta = g * (0.5 * scv[a, VAP_T] * dpv + dv * node[i, PV_T])
        fv_tb = g * (0.5 * scv[b, VAP_T] * dpv - dv * node[j, PV_T])
        fv_sa = g * (0.5 * scv[a, VAP_S] * dpv + dv * node[i, PV_S])
        fv_sb = g * (0.5 * scv[b, VAP_S] * dpv - dv * node[j, PV_S])
        fl_ta = 0.0
        fl_tb = 0.0
        fl_sa = 0.0
        fl_sb = 0.0
        if liquid:
            fl_sa = g * vis * (scv[a, FLOW_S] + con_sa * lift + push_a)
            fl_sb = g * vis * (-scv[b, FLOW_S] + con_sb * lift + push_b)
            fl_ta = g * vis * (scv[a, FLOW_T] + con_ta * lift)
            fl_tb = g * vis * (-scv[b, FLOW_T] + con_tb * lift)
            if ice > 0.0:
                fl_ta -= 0.5 * IMPEDANCE * fl * scv[a, ICE_T]
                fl_tb -= 0.5 * IMPEDANCE * fl * scv[b, ICE_T]
                fl_sa -= 0.5 * IMPEDANCE * fl * scv[a, ICE_S]
                fl_sb -= 0.5 * IMPEDANCE * fl * scv[b, ICE_S]
            if viscous[m]:
                per_fluidity = fl / (node[i, FM] + node[j, FM])
                fl_ta += per_fluidity * node[i, FM_T]
                fl_tb += per_fluidity * node[j, FM_T]
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        q_ta = g * (lam + 0.5 * scv[a, LAM_T] * dt) + hv * fv_ta + hl * fl_ta + own
        q_tb = g * (-lam + 0.5 * scv[b, LAM_T] * dt) + hv * fv_tb + hl * fl_tb + own
        q_sa = 0.5 * g * scv[a, LAM_S] * dt + hv * fv_sa + hl * fl_sa
        q_sb = 0.5 * g * scv[b, LAM_S] * dt + hv * fv_sb + hl * fl_sb
        add_pair(
            blocks, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            q_ta, q_sa, fv_ta + fl_ta, fv_sa + fl_sa, q_tb, q_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip
