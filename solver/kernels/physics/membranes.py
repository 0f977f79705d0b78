"""Membranes and surface films between two nodes at one place: their flows and derivatives."""

from __future__ import annotations

from stemwall.solver.kernels.physics.edges import add_pair_derivatives
from stemwall.solver.kernels.support.jit import kernel

# isort: off
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT, C_V, C_W, FV, KELVIN, L_V, PC, PC_S, PC_T, PRESS, PRESS_S, PV, PV_S, PV_T, RH, RH_S,
)  # fmt: skip

# isort: on


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
        add_pair_derivatives(
            values, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            g + hv * fv_ta + hl * fl_ta + own, hv * fv_sa + hl * fl_sa, fv_ta + fl_ta, fv_sa + fl_sa,
            -g + hv * fv_tb + hl * fl_tb + own, hv * fv_sb + hl * fl_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip
