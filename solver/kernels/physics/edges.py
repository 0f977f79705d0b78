"""Heat, vapour and liquid along an edge between two sub-volumes of one material: their flows and derivatives."""

from __future__ import annotations

from stemwall.solver.kernels.support.exp_log import exponential
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    C_V, C_W, CON, CON_S, CON_T, FLOW, FLOW_S, FLOW_T, FM, FM_T, GRAVITY, ICE, ICE_S, ICE_T, IMPEDANCE, L_V, LAM,
    LAM_S, LAM_T, P0, PC, PC_S, PC_T, PRESS, PRESS_S, PV, PV_S, PV_T, RHO_W, VAP, VAP_S, VAP_T, unsigned,
)  # fmt: skip

# isort: on


@part_of_kernel
def through_paths(
    paths, temperature, node_state, part_state, part_node, part_material, path_a, path_b, path_shape, path_rise,
    has_liquid, viscous, diagonal, slots, within, path_flow, anew, values, rows, with_jacobian,
):  # fmt: skip
    """Heat, vapour and liquid along some paths; what they change is added to ``within`` (N, 2)."""
    for number in range(paths.size):
        c = unsigned(paths[number])
        a, b, g = unsigned(path_a[c]), unsigned(path_b[c]), path_shape[c]
        i, j = unsigned(part_node[a]), unsigned(part_node[b])
        m = unsigned(part_material[a])
        ta, tb = temperature[i], temperature[j]
        dt, tm = ta - tb, 0.5 * (ta + tb)
        # vapour, driven by vapour pressure
        dpv = node_state[i, PV] - node_state[j, PV]
        dv = 0.5 * (part_state[a, VAP] + part_state[b, VAP])
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
                vis = 0.5 * (node_state[i, FM] + node_state[j, FM])
            ice = part_state[a, ICE] + part_state[b, ICE]
            if ice > 0.0:
                vis *= exponential(-0.5 * IMPEDANCE * ice)
            drive = part_state[a, FLOW] - part_state[b, FLOW]
            # ... and by the pressure of ice
            lift = RHO_W * GRAVITY * path_rise[c] + node_state[j, PRESS] - node_state[i, PRESS]
            if lift != 0.0:
                # integral mean where the lower end is wetter (exact at hydrostatic rest),
                # arithmetic mean where water falls into drier material
                dpc = node_state[i, PC] - node_state[j, PC]
                span = abs(node_state[i, PC]) + abs(node_state[j, PC]) + P0
                if dpc * lift > 0.0 and abs(dpc) > 1e-7 * span:
                    per_dpc = 1.0 / dpc
                    con_a, con_b = part_state[a, CON], part_state[b, CON]
                    # states that follow by their slopes agree to the second order only, and dpc may be small
                    con = min(max(-drive * per_dpc, min(con_a, con_b)), max(con_a, con_b))
                    above, below = (con_a - con) * per_dpc, (con - con_b) * per_dpc
                    con_sa, con_ta = above * node_state[i, PC_S], above * node_state[i, PC_T]
                    con_sb, con_tb = below * node_state[j, PC_S], below * node_state[j, PC_T]
                else:
                    con = 0.5 * (part_state[a, CON] + part_state[b, CON])
                    con_sa, con_ta = 0.5 * part_state[a, CON_S], 0.5 * part_state[a, CON_T]
                    con_sb, con_tb = 0.5 * part_state[b, CON_S], 0.5 * part_state[b, CON_T]
                drive += con * lift
                push_a, push_b = -con * node_state[i, PRESS_S], con * node_state[j, PRESS_S]
            fl = g * vis * drive
        lam = 0.5 * (part_state[a, LAM] + part_state[b, LAM])
        hv = L_V + C_V * tm
        q = g * lam * dt + hv * fv + C_W * tm * fl
        more, wetter = q, fv + fl
        if not anew:
            more -= path_flow[c, 0]
            wetter -= path_flow[c, 1]
        path_flow[c, 0], path_flow[c, 1] = q, fv + fl
        within[i, 0] += more
        within[j, 0] -= more
        within[i, 1] += wetter
        within[j, 1] -= wetter
        if not with_jacobian or not (rows[i] or rows[j]):
            continue
        fv_ta = g * (0.5 * part_state[a, VAP_T] * dpv + dv * node_state[i, PV_T])
        fv_tb = g * (0.5 * part_state[b, VAP_T] * dpv - dv * node_state[j, PV_T])
        fv_sa = g * (0.5 * part_state[a, VAP_S] * dpv + dv * node_state[i, PV_S])
        fv_sb = g * (0.5 * part_state[b, VAP_S] * dpv - dv * node_state[j, PV_S])
        fl_ta = 0.0
        fl_tb = 0.0
        fl_sa = 0.0
        fl_sb = 0.0
        if liquid:
            fl_sa = g * vis * (part_state[a, FLOW_S] + con_sa * lift + push_a)
            fl_sb = g * vis * (-part_state[b, FLOW_S] + con_sb * lift + push_b)
            fl_ta = g * vis * (part_state[a, FLOW_T] + con_ta * lift)
            fl_tb = g * vis * (-part_state[b, FLOW_T] + con_tb * lift)
            if ice > 0.0:
                fl_ta -= 0.5 * IMPEDANCE * fl * part_state[a, ICE_T]
                fl_tb -= 0.5 * IMPEDANCE * fl * part_state[b, ICE_T]
                fl_sa -= 0.5 * IMPEDANCE * fl * part_state[a, ICE_S]
                fl_sb -= 0.5 * IMPEDANCE * fl * part_state[b, ICE_S]
            if viscous[m]:
                per_fluidity = fl / (node_state[i, FM] + node_state[j, FM])
                fl_ta += per_fluidity * node_state[i, FM_T]
                fl_tb += per_fluidity * node_state[j, FM_T]
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        q_ta = g * (lam + 0.5 * part_state[a, LAM_T] * dt) + hv * fv_ta + hl * fl_ta + own
        q_tb = g * (-lam + 0.5 * part_state[b, LAM_T] * dt) + hv * fv_tb + hl * fl_tb + own
        q_sa = 0.5 * g * part_state[a, LAM_S] * dt + hv * fv_sa + hl * fl_sa
        q_sb = 0.5 * g * part_state[b, LAM_S] * dt + hv * fv_sb + hl * fl_sb
        add_pair_derivatives(
            values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            q_ta, q_sa, fv_ta + fl_ta, fv_sa + fl_sa, q_tb, q_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip


@kernel
def add_pair_derivatives(values, own_i, own_j, ii, jj, ij, ji, q_ta, q_sa, f_ta, f_sa, q_tb, q_sb, f_tb, f_sb):
    """Derivatives of a flow out of node i into node j, into the blocks of the rows that are renewed."""
    ii, jj, ij, ji = unsigned(ii), unsigned(jj), unsigned(ij), unsigned(ji)
    if own_i:
        values[ii, 0] += q_ta
        values[ii, 1] += q_sa
        values[ii, 2] += f_ta
        values[ii, 3] += f_sa
        values[ij, 0] += q_tb
        values[ij, 1] += q_sb
        values[ij, 2] += f_tb
        values[ij, 3] += f_sb
    if own_j:
        values[ji, 0] -= q_ta
        values[ji, 1] -= q_sa
        values[ji, 2] -= f_ta
        values[ji, 3] -= f_sa
        values[jj, 0] -= q_tb
        values[jj, 1] -= q_sb
        values[jj, 2] -= f_tb
        values[jj, 3] -= f_sb
