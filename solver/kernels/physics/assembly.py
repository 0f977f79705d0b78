"""Kernels of the balances: fluxes between nodes and through surfaces, residual and Jacobian.

Plain arrays only; nothing is allocated.  Equations per node: energy
[W/m] and water [kg/(m s)], storage rate minus net inflow.  See `layout` for the unknowns and the columns.
"""

from __future__ import annotations

import math

from stemwall.solver.kernels.support.jit import fused_kernel, kernel, part_of_kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT, AIR_PV, AIR_T, BETA, C_A, C_V, C_W, CON, CON_S, CON_T, DRAIN, EMISSIVITY, FILM, FLOW, FLOW_S,
    FLOW_T, FM, FM_T, FV, GRAVITY, HELD_PC, ICE, ICE_S, ICE_T, IMPEDANCE, KELVIN, L_V, LAM, LAM_S, LAM_T, LEVEL,
    LONGWAVE, MIXING, P0, PC, PC_S, PC_T, PRESS, PRESS_S, PV, PV_S, PV_T, RH, RH_S, RHO_W, SIGMA, SUN, SUPPLY,
    TOTAL, TOTAL_S, UNLIMITED, UPTAKE, VAP, VAP_S, VAP_T, WATER_FILM, WATER_ROW, WATER_T, unsigned,
)  # fmt: skip

# isort: on
from stemwall.solver.kernels.physics.material_state import saturation_pressure
from stemwall.solver.kernels.support.exp_log import exponential, logarithm


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
        temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, bends, loads,
        diagonal, residual, values, flows, rows, with_jacobian, alone,
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
        _add_pair(
            values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            q_ta, q_sa, fv_ta + fl_ta, fv_sa + fl_sa, q_tb, q_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip


@kernel
def _add_pair(values, own_i, own_j, ii, jj, ij, ji, q_ta, q_sa, f_ta, f_sa, q_tb, q_sb, f_tb, f_sb):
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


@kernel
def through_sheets(
    temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface, diagonal, slots,
    residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Membranes, and the films between faces and air zones; flows through films are booked on their surface.

    sheet_data (S, 4): conductance [W/(m2 K)], dry and wet permeance at 20 degC
    [kg/(m2 s Pa)], liquid conductance [kg/(m2 s Pa)].
    """
    for c in range(sheet_a.size):
        i, j, width = sheet_a[c], sheet_b[c], sheet_width[c]
        if alone and not (rows[i] or rows[j]):
            continue
        tm = 0.5 * (temperature[i] + temperature[j])
        dry, wet = sheet_data[c, 1], sheet_data[c, 2]
        rh = 0.5 * (node_state[i, RH] + node_state[j, RH])
        share = min(max((rh - 0.25) / 0.5, 0.0), 1.0)
        perm_rh = 0.5 * (wet - dry) / 0.5 if 0.25 < rh < 0.75 else 0.0
        air = 0.5 * (node_state[i, FV] + node_state[j, FV])
        perm = width * air * (dry + share * (wet - dry))
        open_liquid = width * sheet_data[c, 3]
        dpv = node_state[i, PV] - node_state[j, PV]
        fv = perm * dpv
        fl = open_liquid * (node_state[j, PC] + node_state[j, PRESS] - node_state[i, PC] - node_state[i, PRESS])
        hv = L_V + C_V * tm
        g = width * sheet_data[c, 0]
        q = g * (temperature[i] - temperature[j]) + hv * fv + C_W * tm * fl
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv + fl
        residual[j, 1] -= fv + fl
        k = sheet_surface[c]
        if k >= 0:
            flows[k, 0] -= q
            flows[k, 1] -= fv
            flows[k, 4] -= hv * fv
        if not with_jacobian or not (rows[i] or rows[j]):
            continue
        slope = width * air * perm_rh * dpv
        bare = 0.5 * width * (dry + share * (wet - dry)) * dpv * AIR_EXPONENT
        fv_ta = perm * node_state[i, PV_T] + bare * node_state[i, FV] / (temperature[i] + KELVIN)
        fv_tb = -perm * node_state[j, PV_T] + bare * node_state[j, FV] / (temperature[j] + KELVIN)
        fv_sa = perm * node_state[i, PV_S] + slope * node_state[i, RH_S]
        fv_sb = -perm * node_state[j, PV_S] + slope * node_state[j, RH_S]
        fl_sa = -open_liquid * (node_state[i, PC_S] + node_state[i, PRESS_S])
        fl_sb = open_liquid * (node_state[j, PC_S] + node_state[j, PRESS_S])
        fl_ta, fl_tb = -open_liquid * node_state[i, PC_T], open_liquid * node_state[j, PC_T]
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        _add_pair(
            values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            g + hv * fv_ta + hl * fl_ta + own, hv * fv_sa + hl * fl_sa, fv_ta + fl_ta, fv_sa + fl_sa,
            -g + hv * fv_tb + hl * fl_tb + own, hv * fv_sb + hl * fl_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip


@kernel
def through_faces(
    temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, bends, loads,
    diagonal, residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Exposed faces; face_data (F, 4): thermal resistance [m2 K/W] and vapour resistance
    [m2 s Pa/kg] of a membrane on the face (zero: bare), y of the face [m], and the conductance
    by which standing water enters it [kg/(m2 s Pa)].  ``bends`` (N,): the potential below which a node refuses some of
    the rain offered to it, the largest where it has several faces; infinite, and left so, where it has none."""
    for f in range(face_node.size):
        if not alone or rows[face_node[f]]:
            bends[face_node[f]] = 0.0
    for f in range(face_node.size):
        n, k, width = face_node[f], face_surface[f], face_width[f]
        if alone and not rows[n]:
            continue
        part = face_part[f]
        t = temperature[n]
        film, beta, around = loads[k, FILM], loads[k, BETA], loads[k, AIR_T]
        radiation, emissivity = loads[k, LONGWAVE] + loads[k, SUN], loads[k, EMISSIVITY]
        supply, uptake, held = loads[k, SUPPLY], loads[k, UPTAKE], loads[k, HELD_PC]
        depth = loads[k, LEVEL] - face_data[f, 2]
        row = k
        if loads[k, WATER_FILM] > 0.0 and depth > 0.0:
            # standing water takes the place of air, sky, sun and rain, and has a row of flows of its own
            row = int(loads[k, WATER_ROW])
            film, beta, around = loads[k, WATER_FILM], 0.0, loads[k, WATER_T]
            radiation, emissivity = 0.0, 0.0
            supply, uptake, held = UNLIMITED, face_data[f, 3], -RHO_W * GRAVITY * depth
        if film > 0.0:
            film = 1.0 / (1.0 / film + face_data[f, 0])
        if beta > 0.0:
            beta = 1.0 / (1.0 / beta + face_data[f, 1])
        kelvin = t + KELVIN
        glow = emissivity * SIGMA * kelvin * kelvin * kelvin
        fv = width * beta * (loads[k, AIR_PV] - node_state[n, PV])
        # water offered: taken up while the surface has suction, given back where it has none
        fl = 0.0
        fl_s = 0.0
        refused = 0.0
        if uptake > 0.0:
            if 0.0 < supply < 1e30:
                suction = max((held + supply / uptake) * (1.0 / P0), 0.0)
                bends[n] = max(bends[n], logarithm(suction + math.sqrt(suction * suction + 1.0)))
            wanted = uptake * (node_state[n, TOTAL] - held)
            if wanted >= supply:
                fl = width * supply
            else:
                fl = width * wanted
                fl_s = width * uptake * node_state[n, TOTAL_S]
                refused = width * supply - fl if supply < 1e30 else 0.0
        if loads[k, DRAIN] > 0.0:
            fl -= width * loads[k, DRAIN] * RHO_W * GRAVITY * part_state[part, CON] * node_state[n, FM]
            fl_s -= width * loads[k, DRAIN] * RHO_W * GRAVITY * part_state[part, CON_S] * node_state[n, FM]
        hv = L_V + C_V * t
        t_liquid = around if fl > 0.0 else t
        carried = hv * fv + C_W * t_liquid * fl
        q = width * (film * (around - t) + radiation - glow * kelvin) + carried
        residual[n, 0] -= q
        residual[n, 1] -= fv + fl
        flows[row, 0] += q
        flows[row, 1] += fv
        flows[row, 2] += fl
        flows[row, 3] += refused
        flows[row, 4] += carried
        if not with_jacobian or not rows[n]:
            continue
        d = diagonal[n]
        fv_t, fv_s = -width * beta * node_state[n, PV_T], -width * beta * node_state[n, PV_S]
        fl_t = (
            -width
            * loads[k, DRAIN]
            * RHO_W
            * GRAVITY
            * (part_state[part, CON] * node_state[n, FM_T] + part_state[part, CON_T] * node_state[n, FM])
        )
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        values[d, 0] -= q_t
        values[d, 1] -= hv * fv_s + C_W * t_liquid * fl_s
        values[d, 2] -= fv_t + fl_t
        values[d, 3] -= fv_s + fl_s


@kernel
def through_controls(temperature, node_state, controls, diagonal, residual, values, flows, rows, with_jacobian, alone):
    """Heaters and dehumidifiers; controls (Q, 7): node, kind (0 heats, 1 dries), set point
    [degC or -], capacity [W/m or kg/(s m)], band, heat per kilogram [J/kg], row of flows."""
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
def _carried(flow, t, pv):
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
                q, fv, wet = _carried(flow, loads[k, AIR_T], loads[k, AIR_PV])
            else:
                q, fv, wet = _carried(flow, temperature[i], node_state[i, PV])
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
            _add_pair(
                values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
                lean_t * own + hv * va * node_state[i, PV_T], hv * va * node_state[i, PV_S],
                va * node_state[i, PV_T], va * node_state[i, PV_S],
                (1.0 - lean_t) * own + hv * vb * node_state[j, PV_T], hv * vb * node_state[j, PV_S],
                vb * node_state[j, PV_T], vb * node_state[j, PV_S],
            )  # fmt: skip
