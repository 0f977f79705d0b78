"""Interface resistances without thickness: membranes, and films before air zones."""

from __future__ import annotations

from stemwall.solver.kernels.physics.jacobian import add_pair
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import (
    AIR_EXPONENT,
    C_V,
    C_W,
    FV,
    KELVIN,
    L_V,
    PC,
    PC_S,
    PC_T,
    PRESS,
    PRESS_S,
    PV,
    PV_S,
    PV_T,
    RH,
    RH_S,
)


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
def through_membranes(subset, u, mode, membranes, state, balance, jacobian):
    """Membranes, and the films between faces and air zones (P8); flows through films are booked on their surface.

    The permeance runs from that of the dry cup (25 % mean humidity of both sides) to that of the wet cup (75 %).
    """
    temperature, rows, node = u.temperature, subset.marked, state.node
    blocks, diagonal, slots = jacobian.blocks, jacobian.diagonal, jacobian.membrane_slots
    membrane_a, membrane_b, membrane_width = membranes.a, membranes.b, membranes.width
    membrane_data, membrane_surface = membranes.data, membranes.surface
    residual, flows = balance.residual, balance.flows
    with_jacobian, subset_only = mode.jacobian, mode.subset_only
    for c in range(membrane_a.size):
        i, j, width = membrane_a[c], membrane_b[c], membrane_width[c]
        if subset_only and not (rows[i] or rows[j]):
            continue
        tm = 0.5 * (temperature[i] + temperature[j])
        permeance, by_rh, by_air = behind_film(
            0.5 * (node[i, RH] + node[j, RH]), 0.5 * (node[i, FV] + node[j, FV]),
            membrane_data[c, 1], membrane_data[c, 2], membrane_data[c, 4],
        )  # fmt: skip
        perm = width * permeance
        open_liquid = width * membrane_data[c, 3]
        dpv = node[i, PV] - node[j, PV]
        fv = perm * dpv
        fl = open_liquid * (node[j, PC] + node[j, PRESS] - node[i, PC] - node[i, PRESS])
        hv = L_V + C_V * tm
        g = width * membrane_data[c, 0]
        q = g * (temperature[i] - temperature[j]) + hv * fv + C_W * tm * fl
        residual[i, 0] += q
        residual[j, 0] -= q
        residual[i, 1] += fv + fl
        residual[j, 1] -= fv + fl
        k = membrane_surface[c]
        if k >= 0:
            flows[k, 0] -= q
            flows[k, 1] -= fv
            flows[k, 4] -= hv * fv
        if not with_jacobian or not (rows[i] or rows[j]):
            continue
        slope = 0.5 * width * by_rh * dpv
        bare = 0.5 * width * by_air * dpv * AIR_EXPONENT
        fv_ta = perm * node[i, PV_T] + bare * node[i, FV] / (temperature[i] + KELVIN)
        fv_tb = -perm * node[j, PV_T] + bare * node[j, FV] / (temperature[j] + KELVIN)
        fv_sa = perm * node[i, PV_S] + slope * node[i, RH_S]
        fv_sb = -perm * node[j, PV_S] + slope * node[j, RH_S]
        fl_sa = -open_liquid * (node[i, PC_S] + node[i, PRESS_S])
        fl_sb = open_liquid * (node[j, PC_S] + node[j, PRESS_S])
        fl_ta, fl_tb = -open_liquid * node[i, PC_T], open_liquid * node[j, PC_T]
        own = 0.5 * (C_V * fv + C_W * fl)
        hl = C_W * tm
        add_pair(
            blocks, rows[i], rows[j], diagonal[i], diagonal[j], slots[c, 0], slots[c, 1],
            g + hv * fv_ta + hl * fl_ta + own, hv * fv_sa + hl * fl_sa, fv_ta + fl_ta, fv_sa + fl_sa,
            -g + hv * fv_tb + hl * fl_tb + own, hv * fv_sb + hl * fl_sb, fv_tb + fl_tb, fv_sb + fl_sb,
        )  # fmt: skip
