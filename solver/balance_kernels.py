"""Kernels of the discrete balances: material state, fluxes, residual and Jacobian.

Plain arrays only; nothing is allocated.  Unknowns per node: temperature T
[degC] and a stretched potential y of the suction p_c [Pa] that keeps every range
nearly linear: pressure where saturated, logarithm where capillary, relative
humidity where dry,

    p_c = P0 y (y < 0),   P0 sinh y (y <= Y1),   Kelvin's suction of RH1 - (y - Y1) D1 beyond,

smooth to the first derivative.  Material tables run over s = asinh(p_c / P0).
Names ending in _S are derivatives with respect to y.  Equations per node: energy
[W/m] and water [kg/(m s)], storage rate minus net inflow.  The functions of this
file call only each other, so that the disk cache of compiled code can never serve
a stale callee.
"""

from __future__ import annotations

import math

from numba import njit

# Constants repeat stemwall.materials.water and stemwall.weather.moistair, because a
# compiled kernel must not read another file's globals; tests hold them equal.
P0 = 100.0  # scale of the stretched potential [Pa]
RHO_W = 1000.0  # density of water [kg/m3]
R_V = 461.5  # gas constant of water vapour [J/(kg K)]
GRAVITY = 9.81  # [m/s2]
C_W = 4180.0  # specific heat of liquid water [J/(kg K)]
C_V = 1870.0  # specific heat of water vapour [J/(kg K)]
L_V = 2.5e6  # latent heat of evaporation at 0 degC [J/kg]
SIGMA = 5.670374e-8  # Stefan-Boltzmann constant [W/(m2 K4)]
KELVIN = 273.15
AIR_EXPONENT = 0.81  # its growth with absolute temperature [-]
AIR_PERMEABILITY = 1.9664e-10  # vapour permeability of still air at 20 degC [kg/(m s Pa)]

# The dry branch of the potential: begins at suction P1, humidity RH1 at 20 degC, slope D1
P1 = 2.0e6
RT_REFERENCE = RHO_W * R_V * 293.15
Y1 = math.asinh(P1 / P0)
RH1 = math.exp(-P1 / RT_REFERENCE)
D1 = RH1 * math.sqrt(P1 * P1 + P0 * P0) / RT_REFERENCE
DRIEST = 1e-3  # relative humidity at 20 degC below which the dry branch stops

# Columns of the node state
PC, DPC, PV, PV_T, PV_S, RH, RH_S, FV, FM, FM_T, TAB, TAB_S = range(12)
NODE_COLUMNS = 12
# Columns of the part state
FLOW, FLOW_S, CON, CON_S, VAP, VAP_S, VAP_T, LAM, LAM_S, LAM_T, WATER = range(11)
PART_COLUMNS = 11
# Columns of the loads on a surface
AIR_T, AIR_PV, FILM, BETA, LONGWAVE, EMISSIVITY, SUN, SUPPLY, UPTAKE, HELD_PC, DRAIN = range(11)
LOAD_COLUMNS = 11


@njit(cache=True, error_model="numpy")
def _cubic(table, m, i, u, h):
    """Value, slope and curvature of the cubic Hermite table row m in cell i at 0 <= u <= 1."""
    f0 = table[m, i, 0]
    f1 = table[m, i + 1, 0]
    m0 = table[m, i, 1] * h
    m1 = table[m, i + 1, 1] * h
    c2 = 3.0 * (f1 - f0) - 2.0 * m0 - m1
    c3 = 2.0 * (f0 - f1) + m0 + m1
    value = f0 + u * (m0 + u * (c2 + u * c3))
    slope = (m0 + u * (2.0 * c2 + 3.0 * u * c3)) / h
    curve = (2.0 * c2 + 6.0 * u * c3) / (h * h)
    return value, slope, curve


@njit(cache=True, error_model="numpy")
def saturation_pressure(t):
    """Saturation pressure [Pa] and its slope [Pa/K] at t [degC]; ISO 13788:2012 Annex E form."""
    if t >= 0.0:
        a, b = 17.269, 237.3
    else:
        a, b = 21.875, 265.5
    p = 610.5 * math.exp(a * t / (b + t))
    return p, p * a * b / ((b + t) * (b + t))


@njit(cache=True, error_model="numpy")
def _viscosity_factor(t):
    """Fluidity of water relative to 20 degC and its slope [1/K]; Vogel form, see materials.water."""
    above = max(t, 0.0) + KELVIN - 140.0
    factor = math.exp(570.5806 * (1.0 / 153.15 - 1.0 / above))
    return factor, factor * 570.5806 / (above * above) if t > 0.0 else 0.0


@njit(cache=True, error_model="numpy")
def suction_of(y):
    """Suction [Pa] of a potential, and its derivative."""
    if y < 0.0:
        return P0 * y, P0
    if y <= Y1:
        up = math.exp(y)
        return 0.5 * P0 * (up - 1.0 / up), 0.5 * P0 * (up + 1.0 / up)
    rh = max(RH1 - (y - Y1) * D1, DRIEST)
    return -RT_REFERENCE * math.log(rh), RT_REFERENCE * D1 / rh


@njit(cache=True, error_model="numpy")
def evaluate(
    temperature, potential, part_node, part_material, part_volume,
    s0, ds, water, flow, vapour, conductivity, t0, dt_table, temperature_factor, heat_capacity,
    vapour_exponent, node_state, part_state, storage, capacity,
):  # fmt: skip
    """Fill the node and part states, and storage with its derivative by node.

    storage (N, 2): enthalpy [J/m], water [kg/m]; capacity (N, 3): dH/dT, dH/ds, dw/ds.
    """
    for n in range(temperature.size):
        t, y = temperature[n], potential[n]
        pc, dpc = suction_of(y)
        kelvin = t + KELVIN
        rt = RHO_W * R_V * kelvin
        rh = math.exp(-pc / rt)
        ps, ps_t = saturation_pressure(t)
        node_state[n, PC], node_state[n, DPC] = pc, dpc
        node_state[n, TAB] = y if 0.0 <= y <= Y1 else math.asinh(pc / P0)
        node_state[n, TAB_S] = dpc / math.sqrt(pc * pc + P0 * P0)
        node_state[n, RH], node_state[n, RH_S] = rh, -rh * dpc / rt
        node_state[n, PV] = rh * ps
        node_state[n, PV_T] = rh * ps_t + rh * ps * pc / (rt * kelvin)
        node_state[n, PV_S] = ps * node_state[n, RH_S]
        x = (t - 20.0) / 293.15  # (1 + x)^0.81 to 2e-6 between -40 and 60 degC
        node_state[n, FV] = 1.0 + x * (0.81 + x * (-0.07695 + x * (0.0305235 - x * 0.016711616)))
        node_state[n, FM], node_state[n, FM_T] = _viscosity_factor(t)
        storage[n, 0] = 0.0
        storage[n, 1] = 0.0
        capacity[n, 0] = 0.0
        capacity[n, 1] = 0.0
        capacity[n, 2] = 0.0
    last = water.shape[1] - 2
    last_t = temperature_factor.shape[1] - 2
    for p in range(part_node.size):
        n, m, volume = part_node[p], part_material[p], part_volume[p]
        t, s, stretch = temperature[n], node_state[n, TAB], node_state[n, TAB_S]
        x = (s - s0) / ds
        i = min(max(int(x), 0), last)
        u = min(max(x - i, 0.0), 1.0)
        w, w_s, _ = _cubic(water, m, i, u, ds)
        phi, phi_s, phi_ss = _cubic(flow, m, i, u, ds)
        delta, delta_s, _ = _cubic(vapour, m, i, u, ds)
        lam, lam_s, _ = _cubic(conductivity, m, i, u, ds)
        x = (t - t0) / dt_table
        i = min(max(int(x), 0), last_t)
        u = min(max(x - i, 0.0), 1.0)
        factor, factor_t, _ = _cubic(temperature_factor, m, i, u, dt_table)
        pc = node_state[n, PC]
        dpc = math.sqrt(pc * pc + P0 * P0)  # dp_c/ds
        part_state[p, FLOW], part_state[p, FLOW_S] = phi, phi_s * stretch
        part_state[p, CON] = -phi_s / dpc
        part_state[p, CON_S] = stretch * (-phi_ss / dpc + phi_s * pc / (dpc * dpc))
        exponent = vapour_exponent[m]
        if exponent == AIR_EXPONENT:
            growth = node_state[n, FV]
        elif exponent == 0.0:
            growth = 1.0
        else:
            growth = ((t + KELVIN) / 293.15) ** exponent
        part_state[p, VAP], part_state[p, VAP_S] = delta * growth, delta_s * stretch * growth
        part_state[p, VAP_T] = delta * growth * exponent / (t + KELVIN)
        part_state[p, LAM], part_state[p, LAM_S] = lam * factor, lam_s * stretch * factor
        part_state[p, LAM_T] = lam * factor_t
        part_state[p, WATER] = w
        heat = heat_capacity[m] + C_W * w
        storage[n, 0] += volume * heat * t
        storage[n, 1] += volume * w
        capacity[n, 0] += volume * heat
        capacity[n, 1] += volume * C_W * w_s * stretch * t
        capacity[n, 2] += volume * w_s * stretch


@njit(cache=True, error_model="numpy")
def assemble(
    temperature, rate, history, source, storage, capacity, node_state, part_state,
    part_node, part_material, path_a, path_b, path_shape, path_rise, has_liquid, viscous,
    sheet_a, sheet_b, sheet_width, sheet_data, face_node, face_part, face_surface, face_width, face_data, loads,
    diagonal, path_slots, sheet_slots, inflow, residual, values, flows, with_jacobian,
):  # fmt: skip
    """Net inflow and residual (N, 2), Jacobian blocks (nnz, 4), flows through surfaces (surfaces, 4).

    residual = rate * storage - history - inflow, with ``rate`` the leading
    coefficient of the time scheme [1/s], ``history`` (N, 2) its known part and
    ``source`` (N, 2) given gains [W/m, kg/(m s)].
    flows: heat in total [W/m], vapour, liquid [kg/(m s)], water refused [kg/(m s)], positive inwards.
    Blocks are row-major: dE/dT, dE/dy, dM/dT, dM/dy.
    """
    # the parts below add outflows; the sign is turned at the end
    for n in range(temperature.size):
        residual[n, 0] = -source[n, 0]
        residual[n, 1] = -source[n, 1]
    if with_jacobian:
        values[:, :] = 0.0
        for n in range(temperature.size):
            d = diagonal[n]
            values[d, 0] = rate * capacity[n, 0]
            values[d, 1] = rate * capacity[n, 1]
            values[d, 3] = rate * capacity[n, 2]
    _paths(
        temperature, node_state, part_state, part_node, part_material, path_a, path_b, path_shape, path_rise,
        has_liquid, viscous, diagonal, path_slots, residual, values, with_jacobian,
    )  # fmt: skip
    _sheets(
        temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, diagonal, sheet_slots,
        residual, values, with_jacobian,
    )  # fmt: skip
    _faces(
        temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, loads,
        diagonal, residual, values, flows, with_jacobian,
    )  # fmt: skip
    for n in range(temperature.size):
        for e in range(2):
            inflow[n, e] = -residual[n, e]
            residual[n, e] += rate * storage[n, e] - history[n, e]


@njit(cache=True, error_model="numpy")
def _paths(
    temperature, node_state, part_state, part_node, part_material, path_a, path_b, path_shape, path_rise,
    has_liquid, viscous, diagonal, slots, residual, values, with_jacobian,
):  # fmt: skip
    for c in range(path_a.size):
        a, b, g = path_a[c], path_b[c], path_shape[c]
        i, j = part_node[a], part_node[b]
        m = part_material[a]
        ta, tb = temperature[i], temperature[j]
        dt, tm = ta - tb, 0.5 * (ta + tb)
        # vapour, driven by vapour pressure
        dpv = node_state[i, PV] - node_state[j, PV]
        dv = 0.5 * (part_state[a, VAP] + part_state[b, VAP])
        fv = g * dv * dpv
        # liquid, driven by the flow potential and by gravity
        fl = 0.0
        con = 0.0
        vis = 1.0
        lift = 0.0
        drive = 0.0
        con_a = 0.0
        con_b = 0.0
        liquid = has_liquid[m]
        if liquid:
            if viscous[m]:
                vis = 0.5 * (node_state[i, FM] + node_state[j, FM])
            dflow = part_state[a, FLOW] - part_state[b, FLOW]
            lift = RHO_W * GRAVITY * path_rise[c]
            if lift != 0.0:
                # integral mean where the lower end is wetter (exact at hydrostatic rest),
                # arithmetic mean where water falls into drier material
                dpc = node_state[i, PC] - node_state[j, PC]
                span = abs(node_state[i, PC]) + abs(node_state[j, PC]) + P0
                if dpc * lift > 0.0 and abs(dpc) > 1e-7 * span:
                    con = -dflow / dpc
                    con_a = (part_state[a, CON] - con) * node_state[i, DPC] / dpc
                    con_b = (con - part_state[b, CON]) * node_state[j, DPC] / dpc
                else:
                    con = 0.5 * (part_state[a, CON] + part_state[b, CON])
                    con_a, con_b = 0.5 * part_state[a, CON_S], 0.5 * part_state[b, CON_S]
            drive = dflow + con * lift
            fl = g * vis * drive
        lam = 0.5 * (part_state[a, LAM] + part_state[b, LAM])
        hv = L_V + C_V * tm
        q = g * lam * dt + hv * fv + C_W * tm * fl
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv + fl
        residual[j, 1] -= fv + fl
        if not with_jacobian:
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
            fl_sa = g * vis * (part_state[a, FLOW_S] + con_a * lift)
            fl_sb = g * vis * (-part_state[b, FLOW_S] + con_b * lift)
            if viscous[m]:
                fl_ta = 0.5 * g * node_state[i, FM_T] * drive
                fl_tb = 0.5 * g * node_state[j, FM_T] * drive
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        q_ta = g * (lam + 0.5 * part_state[a, LAM_T] * dt) + hv * fv_ta + hl * fl_ta + own
        q_tb = g * (-lam + 0.5 * part_state[b, LAM_T] * dt) + hv * fv_tb + hl * fl_tb + own
        q_sa = 0.5 * g * part_state[a, LAM_S] * dt + hv * fv_sa + hl * fl_sa
        q_sb = 0.5 * g * part_state[b, LAM_S] * dt + hv * fv_sb + hl * fl_sb
        _add_pair(
            values, diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            q_ta, q_sa, fv_ta + fl_ta, fv_sa + fl_sa, q_tb, q_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip


@njit(cache=True, error_model="numpy")
def _add_pair(values, ii, jj, ij, ji, q_ta, q_sa, f_ta, f_sa, q_tb, q_sb, f_tb, f_sb):
    """Derivatives of a flow out of node i into node j, into the four blocks concerned."""
    values[ii, 0] += q_ta
    values[ii, 1] += q_sa
    values[ii, 2] += f_ta
    values[ii, 3] += f_sa
    values[ij, 0] += q_tb
    values[ij, 1] += q_sb
    values[ij, 2] += f_tb
    values[ij, 3] += f_sb
    values[ji, 0] -= q_ta
    values[ji, 1] -= q_sa
    values[ji, 2] -= f_ta
    values[ji, 3] -= f_sa
    values[jj, 0] -= q_tb
    values[jj, 1] -= q_sb
    values[jj, 2] -= f_tb
    values[jj, 3] -= f_sb


@njit(cache=True, error_model="numpy")
def _sheets(
    temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, diagonal, slots,
    residual, values, with_jacobian,
):  # fmt: skip
    """Membranes; sheet_data (S, 4): conductance [W/(m2 K)], dry and wet permeance at 20 degC
    [kg/(m2 s Pa)], liquid conductance [kg/(m2 s Pa)]."""
    for c in range(sheet_a.size):
        i, j, width = sheet_a[c], sheet_b[c], sheet_width[c]
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
        fl = open_liquid * (node_state[j, PC] - node_state[i, PC])
        hv = L_V + C_V * tm
        g = width * sheet_data[c, 0]
        q = g * (temperature[i] - temperature[j]) + hv * fv + C_W * tm * fl
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv + fl
        residual[j, 1] -= fv + fl
        if not with_jacobian:
            continue
        slope = width * air * perm_rh * dpv
        bare = 0.5 * width * (dry + share * (wet - dry)) * dpv * AIR_EXPONENT
        fv_ta = perm * node_state[i, PV_T] + bare * node_state[i, FV] / (temperature[i] + KELVIN)
        fv_tb = -perm * node_state[j, PV_T] + bare * node_state[j, FV] / (temperature[j] + KELVIN)
        fv_sa = perm * node_state[i, PV_S] + slope * node_state[i, RH_S]
        fv_sb = -perm * node_state[j, PV_S] + slope * node_state[j, RH_S]
        fl_sa, fl_sb = -open_liquid * node_state[i, DPC], open_liquid * node_state[j, DPC]
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        _add_pair(
            values, diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            g + hv * fv_ta + own, hv * fv_sa + hl * fl_sa, fv_ta, fv_sa + fl_sa,
            -g + hv * fv_tb + own, hv * fv_sb + hl * fl_sb, fv_tb, fv_sb + fl_sb,
        )  # fmt: skip


@njit(cache=True, error_model="numpy")
def _faces(
    temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, loads,
    diagonal, residual, values, flows, with_jacobian,
):  # fmt: skip
    """Exposed faces; face_data (F, 2): thermal resistance [m2 K/W] and vapour resistance
    [m2 s Pa/kg] of a membrane on the face (zero: bare)."""
    flows[:, :] = 0.0
    for f in range(face_node.size):
        n, k, width = face_node[f], face_surface[f], face_width[f]
        load, state, part = loads[k], node_state[n], part_state[face_part[f]]
        t = temperature[n]
        film = load[FILM]
        if film > 0.0:
            film = 1.0 / (1.0 / film + face_data[f, 0])
        beta = load[BETA]
        if beta > 0.0:
            beta = 1.0 / (1.0 / beta + face_data[f, 1])
        kelvin = t + KELVIN
        glow = load[EMISSIVITY] * SIGMA * kelvin * kelvin * kelvin
        fv = width * beta * (load[AIR_PV] - state[PV])
        # water offered: taken up while the surface has suction, given back where it has none
        fl = 0.0
        fl_s = 0.0
        refused = 0.0
        if load[UPTAKE] > 0.0:
            wanted = load[UPTAKE] * (state[PC] - load[HELD_PC])
            if wanted >= load[SUPPLY]:
                fl = width * load[SUPPLY]
            else:
                fl = width * wanted
                fl_s = width * load[UPTAKE] * state[DPC]
                refused = width * load[SUPPLY] - fl if load[SUPPLY] < 1e30 else 0.0
        if load[DRAIN] > 0.0:
            fl -= width * load[DRAIN] * RHO_W * GRAVITY * part[CON] * state[FM]
            fl_s -= width * load[DRAIN] * RHO_W * GRAVITY * part[CON_S] * state[FM]
        hv = L_V + C_V * t
        t_liquid = load[AIR_T] if fl > 0.0 else t
        q = width * (film * (load[AIR_T] - t) + load[LONGWAVE] - glow * kelvin + load[SUN])
        q += hv * fv + C_W * t_liquid * fl
        residual[n, 0] -= q
        residual[n, 1] -= fv + fl
        flows[k, 0] += q
        flows[k, 1] += fv
        flows[k, 2] += fl
        flows[k, 3] += refused
        if not with_jacobian:
            continue
        block = values[diagonal[n]]
        fv_t, fv_s = -width * beta * state[PV_T], -width * beta * state[PV_S]
        fl_t = -width * load[DRAIN] * RHO_W * GRAVITY * part[CON] * state[FM_T]
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        block[0] -= q_t
        block[1] -= hv * fv_s + C_W * t_liquid * fl_s
        block[2] -= fv_t + fl_t
        block[3] -= fv_s + fl_s
