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

import numpy as np
from numba import njit

# An index of this kind is never taken for one that counts from the end, which spares a test at every access.  It is
# for nothing but access: a sum of it and a signed number would be a float.
unsigned = np.uint64

# Constants repeat stemwall.materials.water and stemwall.weather.moistair, because a
# compiled kernel must not read another file's globals; tests hold them equal.
P0 = 100.0  # scale of the stretched potential [Pa]
RHO_W = 1000.0  # density of water [kg/m3]
R_V = 461.5  # gas constant of water vapour [J/(kg K)]
GRAVITY = 9.81  # [m/s2]
C_W = 4180.0  # specific heat of liquid water [J/(kg K)]
C_V = 1870.0  # specific heat of water vapour [J/(kg K)]
L_V = 2.5e6  # latent heat of evaporation at 0 degC [J/kg]
L_F = 3.34e5  # latent heat of freezing at 0 degC [J/kg]
C_I = 2000.0  # specific heat of ice [J/(kg K)]
CLAPEYRON = RHO_W * L_F / 273.15  # suction of water at ice per kelvin of undercooling [Pa/K]
FULL = 300.0  # suction round zero over which ice comes to bear the pressure in full pores [Pa]; no source
SPREAD = 0.2  # undercooling over which freezing begins gently [K]
IMPEDANCE = 7.0 * math.log(10.0)  # liquid conductivity falls by 10^-7 as ice fills the pores (Lundin 1990, from memory)
SIGMA = 5.670374e-8  # Stefan-Boltzmann constant [W/(m2 K4)]
KELVIN = 273.15
AIR_EXPONENT = 0.81  # its growth with absolute temperature [-]
AIR_PERMEABILITY = 1.9664e-10  # vapour permeability of still air at 20 degC [kg/(m s Pa)]
C_A = 1005.0  # specific heat of air [J/(kg K)]
MIXING = 0.622 / 101325.0  # vapour per kilogram of dry air and pascal at sea level [1/Pa]

# Powers of e: LN_2 and LN_2_REST add up to ln 2 to more digits than a number holds
PER_LN_2, LN_2, LN_2_REST = 1.4426950408889634, 0.6931471803691238, 1.9082149292705877e-10
ROUNDING = 1.5 * 2.0**52
EXPONENT_BITS, EXPONENT_OF_ONE = 52, 1023
BITS_OF_ROOT_HALF = 0x3FE6A09E667F3BCC

# The dry branch of the potential: begins at suction P1, humidity RH1 at 20 degC, slope D1
P1 = 2.0e6
RT_REFERENCE = RHO_W * R_V * 293.15
Y1 = math.asinh(P1 / P0)
RH1 = math.exp(-P1 / RT_REFERENCE)
D1 = RH1 * math.sqrt(P1 * P1 + P0 * P0) / RT_REFERENCE
DRIEST = 1e-3  # relative humidity at 20 degC below which the dry branch stops

# Columns of the node state, those first that flows along paths need.  TOTAL is the suction of all water were it
# liquid.  Where there is ice, the liquid has the suction PC + PRESS: PC holds it in the pores and says how much of it
# there is, PRESS (negative) is the pressure of ice that fills them.  _T and _S are derivatives with respect to T and y.
PV, FM, PC, PRESS, PV_T, PV_S, FM_T, PC_T, PC_S, PRESS_S, TOTAL, TOTAL_S, RH, RH_S, FV, FV_T = range(16)
NODE_COLUMNS = 16
# What only the parts of a node ask for besides.  TAB.. are the places of PC, TOTAL and PORE in the tables, where PORE
# is the suction that ice has to exceed; PER_ROOT is the slope of TAB over PC.
TAB, TAB_S, TAB_T, TAB_ALL, TAB_ALL_S, TAB_PORE, TAB_PORE_S, PER_ROOT = range(16, 24)
# Nodes are evaluated in blocks, each column of which fills BLOCK places; the unknowns stand behind the state.  At
# fixed places of one array, the compiler sees that columns do not overlap and does four nodes at once.
BLOCK = 64
BLOCK_T, BLOCK_Y, BLOCK_SIZE = 24 * BLOCK, 25 * BLOCK, 26 * BLOCK
# Columns of the part state
FLOW, CON, VAP, LAM, ICE, WATER, ICE_T, ICE_S, FLOW_T, FLOW_S, CON_T, CON_S, VAP_T, VAP_S, LAM_T, LAM_S = range(16)
PART_COLUMNS = 16
# Columns of the material tables over suction
T_WATER, T_FLOW, T_VAPOUR, T_LAMBDA, T_FROZEN = range(5)
# Columns of the loads on a surface
AIR_T, AIR_PV, FILM, BETA, LONGWAVE, EMISSIVITY, SUN, SUPPLY, UPTAKE, HELD_PC, DRAIN = range(11)
# ... and standing water before it: its level [m] and temperature, and the film in it, zero where there is none
LEVEL, WATER_T, WATER_FILM = range(11, 14)
LOAD_COLUMNS = 14
UNLIMITED = 1e33  # supply of a surface that offers whatever is taken [kg/(m2 s)]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def exponentials(x):
    """e^x and e^-x to 4e-16 for |x| < 690; NaN for NaN.

    Written out because a call to a library keeps the processor from doing several at once.
    x = k ln 2 + r with k whole: cosh r and sinh r are summed to r^13, which leaves 1e-17, and k is
    added to the exponent of the number.  The sum with ROUNDING has k in its last bits.
    """
    shifted = min(max(x * PER_LN_2, -1000.0), 1000.0) + ROUNDING
    k = shifted - ROUNDING
    r = (x - k * LN_2) - k * LN_2_REST
    z = r * r
    even = 1.0 / 3628800.0 + z * (1.0 / 479001600.0)
    even = 1.0 / 40320.0 + z * even
    even = 1.0 / 720.0 + z * even
    even = 1.0 / 24.0 + z * even
    even = 0.5 + z * even
    even = 1.0 + z * even
    odd = 1.0 / 39916800.0 + z * (1.0 / 6227020800.0)
    odd = 1.0 / 362880.0 + z * odd
    odd = 1.0 / 5040.0 + z * odd
    odd = 1.0 / 120.0 + z * odd
    odd = 1.0 / 6.0 + z * odd
    odd = r + r * z * odd
    bits = np.float64(shifted).view(np.int64)
    up = np.int64((EXPONENT_OF_ONE + bits) << EXPONENT_BITS).view(np.float64)
    down = np.int64((EXPONENT_OF_ONE - bits) << EXPONENT_BITS).view(np.float64)
    return (even + odd) * up, (even - odd) * down


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def exponential(x):
    """e^x, see `exponentials`."""
    return exponentials(x)[0]


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def logarithm(x):
    """Natural logarithm to 5e-16 of a number > 1e-300, inlined like `exponentials`.

    x = 2^k m with m between the roots of 1/2 and 2: ln m = 2 artanh((m - 1) / (m + 1)), whose series to
    the 21st power leaves 2e-17.
    """
    bits = np.float64(x).view(np.int64)
    k = (bits - BITS_OF_ROOT_HALF) >> EXPONENT_BITS
    m = np.int64(bits - (k << EXPONENT_BITS)).view(np.float64)
    r = (m - 1.0) / (m + 1.0)
    z = r * r
    p = 1.0 / 19.0 + z * (1.0 / 21.0)
    p = 1.0 / 17.0 + z * p
    p = 1.0 / 15.0 + z * p
    p = 1.0 / 13.0 + z * p
    p = 1.0 / 11.0 + z * p
    p = 1.0 / 9.0 + z * p
    p = 1.0 / 7.0 + z * p
    p = 0.2 + z * p
    p = 1.0 / 3.0 + z * p
    return k * (LN_2 + LN_2_REST) + 2.0 * (r + r * z * p)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _value(cells, m, i, c, u):
    """Value at 0 <= u <= 1 of column c of row m of a table, in cell i."""
    return cells[m, i, c, 0] + u * (cells[m, i, c, 1] + u * (cells[m, i, c, 2] + u * cells[m, i, c, 3]))


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _slope(cells, m, i, c, u, per_h):
    """Its slope; cells are 1 / per_h wide."""
    return (cells[m, i, c, 1] + u * (2.0 * cells[m, i, c, 2] + 3.0 * u * cells[m, i, c, 3])) * per_h


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _curvature(cells, m, i, c, u, per_h):
    """Its second derivative."""
    return (2.0 * cells[m, i, c, 2] + 6.0 * u * cells[m, i, c, 3]) * per_h * per_h


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _place(x, first, per_h, last):
    """Cell of a table in which x lies, and how far through it, 0 to 1; held at both ends."""
    steps = (x - first) * per_h
    i = min(max(int(steps), 0), last)
    return unsigned(i), min(max(steps - i, 0.0), 1.0)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def saturation_pressure(t):
    """Saturation pressure [Pa] and its slope [Pa/K] at t [degC]; ISO 13788:2012 Annex E form."""
    if t >= 0.0:
        return _over_water(t)
    p = 610.5 * exponential(21.875 * t / (265.5 + t))
    return p, p * 21.875 * 265.5 / ((265.5 + t) * (265.5 + t))


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _over_water(t):
    """Saturation pressure over liquid water, also below 0 degC, and its slope."""
    per = 1.0 / (237.3 + t)
    p = 610.5 * exponential(17.269 * t * per)
    return p, p * (17.269 * 237.3) * per * per


@njit(cache=True, error_model="numpy")
def freezing_suction(t):
    """Suction [Pa] of water in equilibrium with ice at t [degC], and its slope [Pa/K].

    Clapeyron, rho_w L_f / T_0 per kelvin (1.22 MPa/K), rounded over the first
    tenths of a kelvin below 0 degC: t^2/(t - SPREAD) for -t.  The rounding gives
    coarse soils, whose water would all freeze within hundredths of a kelvin, a
    freezing interval that a step can resolve; it costs no energy.
    """
    if t >= 0.0:
        return 0.0, 0.0
    below = SPREAD - t
    return CLAPEYRON * t * t / below, CLAPEYRON * t * (2.0 * below + t) / (below * below)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def suction_of(y):
    """Suction [Pa] of a potential, and its derivative."""
    if y < 0.0:
        return P0 * y, P0
    if y <= Y1:
        up, down = exponentials(y)
        return 0.5 * P0 * (up - down), 0.5 * P0 * (up + down)
    rh = max(RH1 - (y - Y1) * D1, DRIEST)
    return -RT_REFERENCE * logarithm(rh), RT_REFERENCE * D1 / rh


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _unfrozen(count, block):
    """State of the first nodes of a block were their water liquid; no branches, so that several are done at once."""
    for k in range(count):
        t, y = block[BLOCK_T + k], block[BLOCK_Y + k]
        wet, dry = y < 0.0, y > Y1
        # suction as in `suction_of`, its stretched value asinh(p_c / P0), and sqrt(p_c^2 + P0^2)
        up, down = exponentials(y)
        humid = max(RH1 - (y - Y1) * D1, DRIEST) if dry else 1.0
        pc = P0 * y if wet else -RT_REFERENCE * logarithm(humid) if dry else 0.5 * P0 * (up - down)
        pc_s = P0 if wet else RT_REFERENCE * D1 / humid if dry else 0.5 * P0 * (up + down)
        root = math.sqrt(pc * pc + P0 * P0)
        per_root = 1.0 / root
        stretched = logarithm((root + abs(pc)) * (1.0 / P0))
        block[TOTAL * BLOCK + k], block[TOTAL_S * BLOCK + k] = pc, pc_s
        block[PC * BLOCK + k], block[PC_T * BLOCK + k], block[PC_S * BLOCK + k] = pc, 0.0, pc_s
        block[PRESS * BLOCK + k], block[PRESS_S * BLOCK + k] = 0.0, 0.0
        block[TAB_ALL * BLOCK + k] = -stretched if wet else stretched if dry else y
        block[TAB_ALL_S * BLOCK + k] = pc_s * per_root
        block[PER_ROOT * BLOCK + k] = per_root
        # one division for three reciprocals: of absolute temperature and of what the two formulas below divide by
        kelvin, magnus, vogel = t + KELVIN, t + 237.3, max(t, 0.0) + KELVIN - 140.0
        per_all = 1.0 / (kelvin * magnus * vogel)
        per_kelvin, per_magnus = magnus * vogel * per_all, kelvin * vogel * per_all
        per_vogel = kelvin * magnus * per_all
        # vapour: Kelvin's humidity times saturation pressure over liquid water, see `saturation_pressure`
        per_rt = per_kelvin * (1.0 / (RHO_W * R_V))
        rh = exponential(-pc * per_rt)
        pv = rh * 610.5 * exponential(17.269 * t * per_magnus)
        block[PV * BLOCK + k] = pv
        block[PV_T * BLOCK + k] = pv * (17.269 * 237.3 * per_magnus * per_magnus + pc * per_kelvin * per_rt)
        block[PV_S * BLOCK + k] = -pv * pc_s * per_rt
        block[RH * BLOCK + k], block[RH_S * BLOCK + k] = rh, -rh * pc_s * per_rt
        x = (t - 20.0) * (1.0 / 293.15)  # (1 + x)^0.81 to 2e-6 between -40 and 60 degC
        growth = 1.0 + x * (0.81 + x * (-0.07695 + x * (0.0305235 - x * 0.016711616)))
        block[FV * BLOCK + k], block[FV_T * BLOCK + k] = growth, growth * AIR_EXPONENT * per_kelvin
        # fluidity relative to 20 degC; Vogel form, see materials.water
        fluidity = exponential(570.5806 * (1.0 / 153.15 - per_vogel))
        block[FM * BLOCK + k] = fluidity
        block[FM_T * BLOCK + k] = fluidity * 570.5806 * per_vogel * per_vogel if t > 0.0 else 0.0


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _freeze(k, block, freezing):
    """Correct the state of a node below 0 degC for ice, if there is any, and state its humidity over ice."""
    t = block[BLOCK_T + k]
    if freezing:
        pc, pc_s = block[TOTAL * BLOCK + k], block[TOTAL_S * BLOCK + k]
        ice, ice_t = freezing_suction(t)
        bend = math.sqrt(pc * pc + FULL * FULL)
        pore, pore_s = 0.5 * (pc + bend), 0.5 * pc_s * (1.0 + pc / bend)
        if ice > pore:
            # the liquid keeps to the suction of ice, which bears what pressure there is in full pores
            press_s = 0.5 * pc_s * (1.0 - pc / bend)
            block[PRESS * BLOCK + k], block[PRESS_S * BLOCK + k] = pc - pore, press_s
            block[PC * BLOCK + k], block[PC_T * BLOCK + k], block[PC_S * BLOCK + k] = ice, ice_t, 0.0
            root = math.sqrt(pore * pore + P0 * P0)
            block[TAB_PORE * BLOCK + k] = logarithm((root + pore) * (1.0 / P0))
            block[TAB_PORE_S * BLOCK + k] = pore_s / root
            root = math.sqrt(ice * ice + P0 * P0)
            block[TAB * BLOCK + k] = logarithm((root + ice) * (1.0 / P0))
            block[TAB_T * BLOCK + k], block[TAB_S * BLOCK + k] = ice_t / root, 0.0
            block[PER_ROOT * BLOCK + k] = 1.0 / root
            # the suction of the liquid is higher than was thought, by that of ice over that of the pores
            per_kelvin = 1.0 / (t + KELVIN)
            per_rt = per_kelvin * (1.0 / (RHO_W * R_V))
            lowering = exponential((pore - ice) * per_rt)
            pv = block[PV * BLOCK + k] * lowering
            block[PV * BLOCK + k] = pv
            block[PV_T * BLOCK + k] *= lowering
            block[PV_T * BLOCK + k] += pv * ((ice - pore) * per_kelvin - ice_t) * per_rt
            block[PV_S * BLOCK + k] = -pv * press_s * per_rt
    per_ice = 1.0 / saturation_pressure(t)[0]  # relative to ice, as the trade states it
    block[RH * BLOCK + k], block[RH_S * BLOCK + k] = block[PV * BLOCK + k] * per_ice, block[PV_S * BLOCK + k] * per_ice


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def evaluate(
    nodes, temperature, potential, part_start, parts_of, part_material, part_volume,
    s0, ds, table, t0, dt_table, temperature_factor, varies, heat_capacity, vapour_exponent, has_liquid, saturation,
    freezing, block, node_state, part_state, storage, capacity,
):  # fmt: skip
    """Fill the states of some nodes and all their parts, and storage with its derivative by node.

    part_start (N + 1,), parts_of (P,): parts by node; table (M, K, 5, 4): coefficients of a cubic in each cell, see the
    column names; ``varies`` (M,): whether conductivity depends on temperature; ``saturation`` (M,): water
    content at zero suction; ``block`` (BLOCK_SIZE,): room to work.
    storage (N, 2): enthalpy [J/m], water and ice [kg/m]; capacity (N, 3): dH/dT,
    dH/dy, dw/dy.  With ice, w is the content at the total potential y and the liquid
    part is the content at the suction of ice, so that H falls by L_f w_ice; the pressure of ice in full pores
    drives the liquid but does not change how much of it there is.
    """
    for first in range(0, nodes.size, BLOCK):
        count = min(BLOCK, nodes.size - first)
        for k in range(count):
            n = unsigned(nodes[first + k])
            block[BLOCK_T + k], block[BLOCK_Y + k] = temperature[n], potential[n]
        _unfrozen(count, block)
        for k in range(count):
            if block[BLOCK_T + k] < 0.0:
                _freeze(k, block, freezing)
        _fill(
            first, count, nodes, block, part_start, parts_of, part_material, part_volume, s0, 1.0 / ds, table,
            t0, 1.0 / dt_table, temperature_factor, varies, heat_capacity, vapour_exponent, has_liquid, saturation,
            node_state, part_state, storage, capacity,
        )  # fmt: skip


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _fill(
    first, count, nodes, block, part_start, parts_of, part_material, part_volume, s0, per_ds, table,
    t0, per_dt, temperature_factor, varies, heat_capacity, vapour_exponent, has_liquid, saturation,
    node_state, part_state, storage, capacity,
):  # fmt: skip
    """Put a block into the rows of its nodes; fill the states of all their parts, and what the nodes store.

    In one loop, so that the processor works on parts while it writes nodes.
    """
    last, last_t = table.shape[1] - 1, temperature_factor.shape[1] - 1
    for k in range(count):
        number = nodes[first + k]
        n = unsigned(number)
        node_state[n, PV] = block[PV * BLOCK + k]
        node_state[n, FM] = block[FM * BLOCK + k]
        node_state[n, PC] = block[PC * BLOCK + k]
        node_state[n, PRESS] = block[PRESS * BLOCK + k]
        node_state[n, PV_T] = block[PV_T * BLOCK + k]
        node_state[n, PV_S] = block[PV_S * BLOCK + k]
        node_state[n, FM_T] = block[FM_T * BLOCK + k]
        node_state[n, PC_T] = block[PC_T * BLOCK + k]
        node_state[n, PC_S] = block[PC_S * BLOCK + k]
        node_state[n, PRESS_S] = block[PRESS_S * BLOCK + k]
        node_state[n, TOTAL] = block[TOTAL * BLOCK + k]
        node_state[n, TOTAL_S] = block[TOTAL_S * BLOCK + k]
        node_state[n, RH] = block[RH * BLOCK + k]
        node_state[n, RH_S] = block[RH_S * BLOCK + k]
        node_state[n, FV] = block[FV * BLOCK + k]
        node_state[n, FV_T] = block[FV_T * BLOCK + k]
        t, tab_all, all_s = block[BLOCK_T + k], block[TAB_ALL * BLOCK + k], block[TAB_ALL_S * BLOCK + k]
        frozen = block[PRESS * BLOCK + k] < 0.0
        lift = (C_W - C_I) * t + L_F  # enthalpy of a kilogram of liquid over that of ice
        energy, content = 0.0, 0.0
        energy_t, energy_s, content_s = 0.0, 0.0, 0.0
        for b in range(part_start[number], part_start[number + 1]):
            p = unsigned(parts_of[unsigned(b)])
            m, volume = unsigned(part_material[p]), part_volume[p]
            # what all the water says: content, heat conduction
            i, u = _place(tab_all, s0, per_ds, last)
            w, w_s = _value(table, m, i, T_WATER, u), _slope(table, m, i, T_WATER, u, per_ds) * all_s
            lam, lam_s = _value(table, m, i, T_LAMBDA, u), _slope(table, m, i, T_LAMBDA, u, per_ds) * all_s
            lam_t = 0.0
            ice = 0.0
            ice_t = 0.0
            ice_s = 0.0
            per_full = 0.0
            stretch, stretch_t = all_s, 0.0
            if frozen:
                lam_ice, lam_ice_s = _value(table, m, i, T_FROZEN, u), _slope(table, m, i, T_FROZEN, u, per_ds) * all_s
                i, u = _place(block[TAB_PORE * BLOCK + k], s0, per_ds, last)
                in_pores, pores_s = _value(table, m, i, T_WATER, u), _slope(table, m, i, T_WATER, u, per_ds)
                stretch, stretch_t = block[TAB_S * BLOCK + k], block[TAB_T * BLOCK + k]
                i, u = _place(block[TAB * BLOCK + k], s0, per_ds, last)
                at_ice, slope = _value(table, m, i, T_WATER, u), _slope(table, m, i, T_WATER, u, per_ds)
                if at_ice < in_pores:
                    ice, ice_t, ice_s = in_pores - at_ice, -slope * stretch_t, pores_s * block[TAB_PORE_S * BLOCK + k]
                    per_full = 1.0 / saturation[m]
                    share = ice / w
                    gap = lam_ice - lam
                    lam_s += share * (lam_ice_s - lam_s) + gap * (ice_s - share * w_s) / w
                    lam_t = gap * ice_t / w
                    lam += share * gap
            part_state[p, WATER] = w
            part_state[p, ICE] = ice * per_full
            part_state[p, ICE_T], part_state[p, ICE_S] = ice_t * per_full, ice_s * per_full
            if varies[m]:
                j, v = _place(t, t0, per_dt, last_t)
                factor = _value(temperature_factor, m, j, 0, v)
                lam_t = lam_t * factor + lam * _slope(temperature_factor, m, j, 0, v, per_dt)
                lam *= factor
                lam_s *= factor
            part_state[p, LAM], part_state[p, LAM_T], part_state[p, LAM_S] = lam, lam_t, lam_s
            # what the liquid says: flow, vapour permeability
            if has_liquid[m]:
                phi, phi_s = _value(table, m, i, T_FLOW, u), _slope(table, m, i, T_FLOW, u, per_ds)
                pc, per_root = block[PC * BLOCK + k], block[PER_ROOT * BLOCK + k]
                con_s = (phi_s * pc * per_root - _curvature(table, m, i, T_FLOW, u, per_ds)) * per_root
                part_state[p, FLOW], part_state[p, CON] = phi, -phi_s * per_root
                part_state[p, FLOW_T], part_state[p, FLOW_S] = phi_s * stretch_t, phi_s * stretch
                part_state[p, CON_T], part_state[p, CON_S] = con_s * stretch_t, con_s * stretch
            growth, growth_t = block[FV * BLOCK + k], block[FV_T * BLOCK + k]
            exponent = vapour_exponent[m]
            if exponent != AIR_EXPONENT:
                growth = ((t + KELVIN) / 293.15) ** exponent
                growth_t = growth * exponent / (t + KELVIN)
            delta, delta_s = _value(table, m, i, T_VAPOUR, u), _slope(table, m, i, T_VAPOUR, u, per_ds) * growth
            part_state[p, VAP], part_state[p, VAP_S] = delta * growth, delta_s * stretch
            part_state[p, VAP_T] = delta * growth_t + delta_s * stretch_t
            heat = heat_capacity[m] + C_W * (w - ice) + C_I * ice
            energy += volume * (heat * t - L_F * ice)
            content += volume * w
            energy_t += volume * (heat - lift * ice_t)
            energy_s += volume * (C_W * t * w_s - lift * ice_s)
            content_s += volume * w_s
        storage[n, 0], storage[n, 1] = energy, content
        capacity[n, 0], capacity[n, 1], capacity[n, 2] = energy_t, energy_s, content_s


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def assemble(
    nodes, paths, rows, temperature, rate, history, source, storage, capacity, node_state, part_state,
    part_node, part_material, path_a, path_b, path_shape, path_rise, has_liquid, viscous,
    sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface,
    face_node, face_part, face_surface, face_width, face_data, loads, controls,
    stream_a, stream_b, stream_surface, stream_path, stream_flow,
    indptr, diagonal, path_slots, sheet_slots, stream_slots,
    within, path_flow, anew, inflow, residual, values, flows, with_jacobian,
):  # fmt: skip
    """Net inflow and residual (N, 2), Jacobian blocks (nnz, 4), flows through surfaces (surfaces, 4).

    residual = rate * storage - history - inflow, with ``rate`` the leading
    coefficient of the time scheme [1/s], ``history`` (N, 2) its known part and
    ``source`` (N, 2) given gains [W/m, kg/(m s)].
    flows: heat in total [W/m], vapour, liquid [kg/(m s)], water refused [kg/(m s)], positive inwards.
    Blocks are row-major: dE/dT, dE/dy, dM/dT, dM/dy; they are renewed in the rows of ``nodes``,
    which ``rows`` (N,) marks, and need all paths that touch them.

    ``path_flow`` (C, 2) and ``within`` (N, 2), what leaves each node along all its paths, are kept
    from call to call: only ``paths`` whose ends have changed need be given, all of them to begin ``anew``.
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
    residual[:, :] = 0.0
    through_sheets(
        temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface, diagonal, sheet_slots,
        residual, values, flows, rows, with_jacobian,
    )  # fmt: skip
    through_faces(
        temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, loads,
        diagonal, residual, values, flows, rows, with_jacobian,
    )  # fmt: skip
    through_controls(temperature, node_state, controls, diagonal, residual, values, flows, rows, with_jacobian)
    through_streams(
        temperature, node_state, part_state, path_a, path_b, path_shape, stream_a, stream_b, stream_surface,
        stream_path, stream_flow, loads, diagonal, stream_slots, residual, values, flows, rows, with_jacobian,
    )  # fmt: skip
    heat, water, carried = 0.0, 0.0, 0.0
    for n in range(temperature.size):
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


@njit(cache=True, error_model="numpy", inline="always")
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
                    con = -drive * per_dpc
                    above, below = (part_state[a, CON] - con) * per_dpc, (con - part_state[b, CON]) * per_dpc
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


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def through_sheets(
    temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface, diagonal, slots,
    residual, values, flows, rows, with_jacobian,
):  # fmt: skip
    """Membranes, and the films between faces and air zones; flows through films are booked on their surface.

    sheet_data (S, 4): conductance [W/(m2 K)], dry and wet permeance at 20 degC
    [kg/(m2 s Pa)], liquid conductance [kg/(m2 s Pa)].
    """
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


@njit(cache=True, error_model="numpy")
def through_faces(
    temperature, node_state, part_state, face_node, face_part, face_surface, face_width, face_data, loads,
    diagonal, residual, values, flows, rows, with_jacobian,
):  # fmt: skip
    """Exposed faces; face_data (F, 4): thermal resistance [m2 K/W] and vapour resistance
    [m2 s Pa/kg] of a membrane on the face (zero: bare), y of the face [m], and the conductance
    by which standing water enters it [kg/(m2 s Pa)]."""
    for f in range(face_node.size):
        n, k, width = face_node[f], face_surface[f], face_width[f]
        part = face_part[f]
        t = temperature[n]
        film, beta, around = loads[k, FILM], loads[k, BETA], loads[k, AIR_T]
        radiation, emissivity = loads[k, LONGWAVE] + loads[k, SUN], loads[k, EMISSIVITY]
        supply, uptake, held = loads[k, SUPPLY], loads[k, UPTAKE], loads[k, HELD_PC]
        depth = loads[k, LEVEL] - face_data[f, 2]
        if loads[k, WATER_FILM] > 0.0 and depth > 0.0:
            # standing water takes the place of air, sky, sun and rain
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
        q = width * (film * (around - t) + radiation - glow * kelvin)
        q += hv * fv + C_W * t_liquid * fl
        residual[n, 0] -= q
        residual[n, 1] -= fv + fl
        flows[k, 0] += q
        flows[k, 1] += fv
        flows[k, 2] += fl
        flows[k, 3] += refused
        if not with_jacobian or not rows[n]:
            continue
        d = diagonal[n]
        fv_t, fv_s = -width * beta * node_state[n, PV_T], -width * beta * node_state[n, PV_S]
        fl_t = -width * loads[k, DRAIN] * RHO_W * GRAVITY * (
            part_state[part, CON] * node_state[n, FM_T] + part_state[part, CON_T] * node_state[n, FM]
        )
        own = C_W * fl if fl <= 0.0 else 0.0
        q_t = -width * (film + 4.0 * glow) + hv * fv_t + C_V * fv + own + C_W * t_liquid * fl_t
        values[d, 0] -= q_t
        values[d, 1] -= hv * fv_s + C_W * t_liquid * fl_s
        values[d, 2] -= fv_t + fl_t
        values[d, 3] -= fv_s + fl_s


@njit(cache=True, error_model="numpy")
def through_controls(temperature, node_state, controls, diagonal, residual, values, flows, rows, with_jacobian):
    """Heaters and dehumidifiers; controls (Q, 7): node, kind (0 heats, 1 dries), set point
    [degC or -], capacity [W/m or kg/(s m)], band, heat per kilogram [J/kg], row of flows."""
    for c in range(controls.shape[0]):
        n, row = int(controls[c, 0]), int(controls[c, 6])
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


@njit(cache=True, error_model="numpy")
def _carried(flow, t, pv):
    """Heat [W/m] and vapour [kg/(s m)] that a flow of dry air [kg/(s m)] carries."""
    vapour = flow * MIXING * pv
    return flow * C_A * t + (L_V + C_V * t) * vapour, vapour


@njit(cache=True, error_model="numpy")
def through_streams(
    temperature, node_state, part_state, path_a, path_b, path_shape, stream_a, stream_b, stream_surface,
    stream_path, stream_flow, loads, diagonal, slots, residual, values, flows, rows, with_jacobian,
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
        if j < 0:
            if flow > 0.0:
                q, fv = _carried(flow, loads[k, AIR_T], loads[k, AIR_PV])
            else:
                q, fv = _carried(flow, temperature[i], node_state[i, PV])
            residual[i, 0] -= q
            residual[i, 1] -= fv
            flows[k, 0] += q
            flows[k, 1] += fv
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
        q, fv = _carried(flow, t, pv)
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv
        residual[j, 1] -= fv
        if k >= 0:
            flows[k, 0] -= q
            flows[k, 1] -= fv
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
