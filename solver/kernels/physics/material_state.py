"""The material state: what temperature and potential make of every node and its sub-control volumes.

See `layout` for the unknowns and the columns.
"""

from __future__ import annotations

import math

from stemwall.solver.kernels.support.jit import fused_kernel, kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT, BLOCK, BLOCK_T, BLOCK_Y, C_I, C_W, CLAPEYRON, CON, CON_S, CON_T, D1, DRIEST, FLOW, FLOW_S, FLOW_T,
    FM, FM_T, FULL, FV, FV_T, ICE, ICE_S, ICE_T, KELVIN, L_F, LAM, LAM_S, LAM_T, P0, PC, PC_S, PC_T, PER_ROOT,
    PRESS, PRESS_S, PV, PV_S, PV_T, R_V, RH, RH1, RH_S, RHO_W, RT_REFERENCE, SPREAD, T_FLOW, T_FROZEN, T_LAMBDA,
    T_VAPOUR, T_WATER, TAB_ALL, TAB_ALL_S, TAB_ICE, TAB_ICE_T, TOTAL, TOTAL_S, VAP, VAP_S, VAP_T, WATER, Y1,
    unsigned,
)  # fmt: skip

# isort: on
from stemwall.solver.kernels.support.cubic_tables import curvature_at, place_in, slope_at, value_at
from stemwall.solver.kernels.support.exp_log import exponential, exponentials, logarithm


@fused_kernel
def saturation_pressure(t):
    """Saturation pressure [Pa] and its slope [Pa/K] at t [degC]; ISO 13788:2012 Annex E form."""
    if t >= 0.0:
        return _over_water(t)
    p = 610.5 * exponential(21.875 * t / (265.5 + t))
    return p, p * 21.875 * 265.5 / ((265.5 + t) * (265.5 + t))


@fused_kernel
def _over_water(t):
    """Saturation pressure over liquid water, also below 0 degC, and its slope."""
    per = 1.0 / (237.3 + t)
    p = 610.5 * exponential(17.269 * t * per)
    return p, p * (17.269 * 237.3) * per * per


@kernel
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


@fused_kernel
def suction_of(y):
    """Suction [Pa] of a potential, and its derivative."""
    if y < 0.0:
        return P0 * y, P0
    if y <= Y1:
        up, down = exponentials(y)
        return 0.5 * P0 * (up - down), 0.5 * P0 * (up + down)
    rh = max(RH1 - (y - Y1) * D1, DRIEST)
    return -RT_REFERENCE * logarithm(rh), RT_REFERENCE * D1 / rh


@fused_kernel
def unfrozen(count, block):
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
        block[TAB_ICE * BLOCK + k] = 0.0
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


@fused_kernel
def _freeze(k, block, freezing):
    """Correct the state of a node below 0 degC for ice, if there is any, and state its humidity over ice."""
    t = block[BLOCK_T + k]
    if freezing:
        pc, pc_s = block[TOTAL * BLOCK + k], block[TOTAL_S * BLOCK + k]
        ice, ice_t = freezing_suction(t)
        if ice > pc:
            root = math.sqrt(ice * ice + P0 * P0)
            block[TAB_ICE * BLOCK + k], block[TAB_ICE_T * BLOCK + k] = (
                logarithm((root + ice) * (1.0 / P0)),
                ice_t / root,
            )
        bend = math.sqrt(pc * pc + FULL * FULL)
        pore = 0.5 * (pc + bend)
        if ice > pore:
            # the liquid keeps to the suction of ice, which bears what pressure there is in full pores
            press_s = 0.5 * pc_s * (1.0 - pc / bend)
            block[PRESS * BLOCK + k], block[PRESS_S * BLOCK + k] = pc - pore, press_s
            block[PC * BLOCK + k], block[PC_T * BLOCK + k], block[PC_S * BLOCK + k] = ice, ice_t, 0.0
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


@fused_kernel
def evaluate(nodes, u, volumes, tables, state):
    """Material state of some nodes and of all their sub-control volumes, and what the nodes store (P3), (P4).

    With ice, the water content is that of the total potential y and its liquid part the content at the suction of
    ice, so that the enthalpy falls by L_f times the ice: all that pores of any size hold without pressure can freeze.
    The pressure of ice in full pores drives the liquid but does not change how much of it there is.

    Parameters
    ----------
    nodes : (n,)
        Which.
    u : Unknowns
        [degC], [-].
    volumes, tables : Volumes, Tables
        Of the problem.
    state : MaterialState
        Filled; what is evaluated becomes dirty in the Jacobian.
    """
    block, temperature, potential = state.block, u.temperature, u.potential
    for first in range(0, nodes.size, BLOCK):
        count = min(BLOCK, nodes.size - first)
        for k in range(count):
            n = unsigned(nodes[first + k])
            block[BLOCK_T + k], block[BLOCK_Y + k] = temperature[n], potential[n]
        unfrozen(count, block)
        for k in range(count):
            if block[BLOCK_T + k] < 0.0:
                _freeze(k, block, tables.freezing)
        _fill(first, count, nodes, volumes, tables, state)


@fused_kernel
def _fill(first, count, nodes, volumes, tables, state):
    """Put a block into the rows of its nodes; fill their sub-control volumes, and what the nodes store.

    In one loop, so that the processor works on sub-control volumes while it writes nodes.
    """
    scv_start, scvs_of, scv_material, scv_volume = volumes.start, volumes.of, volumes.material, volumes.area
    s0, per_ds, columns, t0, per_dt = tables.s0, 1.0 / tables.ds, tables.columns, tables.t0, 1.0 / tables.dt
    factor_table, varies, heat_capacity = tables.factor, tables.varies, tables.heat_capacity
    vapour_exponent, has_liquid, full = tables.vapour_exponent, tables.has_liquid, tables.full
    block, node, scv, storage, capacity = state.block, state.node, state.scv, state.storage, state.capacity
    water_slope, linearised_at, dirty = state.water_slope, state.linearised_at, state.jacobian_dirty
    last, last_t = columns.shape[1] - 1, factor_table.shape[1] - 1
    for k in range(count):
        number = nodes[first + k]
        n = unsigned(number)
        node[n, PV] = block[PV * BLOCK + k]
        node[n, FM] = block[FM * BLOCK + k]
        node[n, PC] = block[PC * BLOCK + k]
        node[n, PRESS] = block[PRESS * BLOCK + k]
        node[n, PV_T] = block[PV_T * BLOCK + k]
        node[n, PV_S] = block[PV_S * BLOCK + k]
        node[n, FM_T] = block[FM_T * BLOCK + k]
        node[n, PC_T] = block[PC_T * BLOCK + k]
        node[n, PC_S] = block[PC_S * BLOCK + k]
        node[n, PRESS_S] = block[PRESS_S * BLOCK + k]
        node[n, TOTAL] = block[TOTAL * BLOCK + k]
        node[n, TOTAL_S] = block[TOTAL_S * BLOCK + k]
        node[n, RH] = block[RH * BLOCK + k]
        node[n, RH_S] = block[RH_S * BLOCK + k]
        node[n, FV] = block[FV * BLOCK + k]
        node[n, FV_T] = block[FV_T * BLOCK + k]
        t, y = block[BLOCK_T + k], block[BLOCK_Y + k]
        linearised_at[n, 0] = linearised_at[n, 2] = t
        linearised_at[n, 1] = linearised_at[n, 3] = y
        dirty[n] = True
        tab_all, all_s = block[TAB_ALL * BLOCK + k], block[TAB_ALL_S * BLOCK + k]
        # the flow begins to feel ice a few thousandths of a kelvin later, see `_freeze`
        iced, frozen = block[TAB_ICE * BLOCK + k] > 0.0, block[PRESS * BLOCK + k] < 0.0
        lift = (C_W - C_I) * t + L_F  # enthalpy of a kilogram of liquid over that of ice
        energy, content = 0.0, 0.0
        energy_t, energy_s, content_s = 0.0, 0.0, 0.0
        for b in range(scv_start[number], scv_start[number + 1]):
            q = unsigned(scvs_of[unsigned(b)])
            m, volume = unsigned(scv_material[q]), scv_volume[q]
            # what all the water says: content, heat conduction
            i, u = place_in(tab_all, s0, per_ds, last)
            w, w_s = value_at(columns, m, i, T_WATER, u), slope_at(columns, m, i, T_WATER, u, per_ds) * all_s
            lam, lam_s = value_at(columns, m, i, T_LAMBDA, u), slope_at(columns, m, i, T_LAMBDA, u, per_ds) * all_s
            lam_t = 0.0
            ice = 0.0
            ice_t = 0.0
            ice_s = 0.0
            per_full = 0.0
            stretch, stretch_t = all_s, 0.0
            if iced:
                lam_ice = value_at(columns, m, i, T_FROZEN, u)
                lam_ice_s = slope_at(columns, m, i, T_FROZEN, u, per_ds) * all_s
                j, v = place_in(block[TAB_ICE * BLOCK + k], s0, per_ds, last)
                at_ice, slope = value_at(columns, m, j, T_WATER, v), slope_at(columns, m, j, T_WATER, v, per_ds)
                in_pores = w if tab_all > 0.0 else full[m]
                if frozen:
                    i, u, stretch, stretch_t = j, v, 0.0, block[TAB_ICE_T * BLOCK + k]
                if at_ice < in_pores:
                    ice, ice_t = in_pores - at_ice, -slope * block[TAB_ICE_T * BLOCK + k]
                    ice_s = w_s if tab_all > 0.0 else 0.0
                    per_full = 1.0 / full[m]
                    share = ice / w
                    gap = lam_ice - lam
                    lam_s += share * (lam_ice_s - lam_s) + gap * (ice_s - share * w_s) / w
                    lam_t = gap * ice_t / w
                    lam += share * gap
            scv[q, WATER], water_slope[q] = w, w_s
            scv[q, ICE] = ice * per_full
            scv[q, ICE_T], scv[q, ICE_S] = ice_t * per_full, ice_s * per_full
            if varies[m]:
                j, v = place_in(t, t0, per_dt, last_t)
                grown = value_at(factor_table, m, j, 0, v)
                lam_t = lam_t * grown + lam * slope_at(factor_table, m, j, 0, v, per_dt)
                lam *= grown
                lam_s *= grown
            scv[q, LAM], scv[q, LAM_T], scv[q, LAM_S] = lam, lam_t, lam_s
            # what the liquid says: flow, vapour permeability
            if has_liquid[m]:
                phi, phi_s = value_at(columns, m, i, T_FLOW, u), slope_at(columns, m, i, T_FLOW, u, per_ds)
                pc, per_root = block[PC * BLOCK + k], block[PER_ROOT * BLOCK + k]
                con_s = (phi_s * pc * per_root - curvature_at(columns, m, i, T_FLOW, u, per_ds)) * per_root
                scv[q, FLOW], scv[q, CON] = phi, -phi_s * per_root
                scv[q, FLOW_T], scv[q, FLOW_S] = phi_s * stretch_t, phi_s * stretch
                scv[q, CON_T], scv[q, CON_S] = con_s * stretch_t, con_s * stretch
            growth, growth_t = block[FV * BLOCK + k], block[FV_T * BLOCK + k]
            exponent = vapour_exponent[m]
            if exponent != AIR_EXPONENT:
                growth = ((t + KELVIN) / 293.15) ** exponent
                growth_t = growth * exponent / (t + KELVIN)
            delta, delta_s = value_at(columns, m, i, T_VAPOUR, u), slope_at(columns, m, i, T_VAPOUR, u, per_ds) * growth
            scv[q, VAP], scv[q, VAP_S] = delta * growth, delta_s * stretch
            scv[q, VAP_T] = delta * growth_t + delta_s * stretch_t
            heat = heat_capacity[m] + C_W * (w - ice) + C_I * ice
            energy += volume * (heat * t - L_F * ice)
            content += volume * w
            energy_t += volume * (heat - lift * ice_t)
            energy_s += volume * (C_W * t * w_s - lift * ice_s)
            content_s += volume * w_s
        storage[n, 0], storage[n, 1] = energy, content
        capacity[n, 0], capacity[n, 1], capacity[n, 2] = energy_t, energy_s, content_s
