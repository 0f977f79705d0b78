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
def behind_film(humidity, air, dry, wet, film):
    """Permeance [kg/(m2 s Pa)] of a membrane behind a film (P8), and its slopes over humidity and over ``air``.

    ``humidity`` [-] is the mean of both sides: below a quarter the dry cup holds, above three quarters the wet one,
    a line between.  ``air`` [-] is the growth of permeability with temperature from 20 degC, ``film`` [m2 s Pa/kg]
    the resistance in series.
    """
    share = min(max((humidity - 0.25) / 0.5, 0.0), 1.0)
    cup = dry + share * (wet - dry)
    cup_rh = (wet - dry) / 0.5 if 0.25 < humidity < 0.75 else 0.0
    passing = 1.0 / (1.0 + film * air * cup)
    return air * cup * passing, air * cup_rh * passing * passing, cup * passing * passing


@kernel
def through_sheets(
    temperature, node_state, sheet_a, sheet_b, sheet_width, sheet_data, sheet_surface, diagonal, slots,
    residual, values, flows, rows, with_jacobian, alone,
):  # fmt: skip
    """Membranes (P8), and the films between faces and air zones; flows through films are booked on their surface.

    sheet_data (S, 5): conductance [W/(m2 K)], dry and wet permeance of a membrane at 20 degC [kg/(m2 s Pa)], liquid
    conductance [kg/(m2 s Pa)], vapour resistance of a film before it [m2 s Pa/kg].
    """
    for c in range(sheet_a.size):
        i, j, width = sheet_a[c], sheet_b[c], sheet_width[c]
        if alone and not (rows[i] or rows[j]):
            continue
        tm = 0.5 * (temperature[i] + temperature[j])
        permeance, by_rh, by_air = behind_film(
            0.5 * (node_state[i, RH] + node_state[j, RH]), 0.5 * (node_state[i, FV] + node_state[j, FV]),
            sheet_data[c, 1], sheet_data[c, 2], sheet_data[c, 4],
        )  # fmt: skip
        perm = width * permeance
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
        slope = 0.5 * width * by_rh * dpv
        bare = 0.5 * width * by_air * dpv * AIR_EXPONENT
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
