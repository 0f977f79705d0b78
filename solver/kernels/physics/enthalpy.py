"""Kernels of the heat that a node holds at a temperature, which costs a fraction of its whole state."""

from __future__ import annotations

import math

from stemwall.solver.kernels.physics.material_state import freezing_suction, suction_of
from stemwall.solver.kernels.support.cubic_tables import place_in, slope_at, value_at
from stemwall.solver.kernels.support.exp_log import logarithm
from stemwall.solver.kernels.support.jit import fused_kernel, part_of_kernel
from stemwall.solver.kernels.support.layout import C_I, C_W, FULL, L_F, P0, T_WATER, unsigned


@fused_kernel
def places_of(y):
    """What holds the water of a node at a potential: its place in the tables, that of its pores, and their suction."""
    pc, _ = suction_of(y)
    pore = 0.5 * (pc + math.sqrt(pc * pc + FULL * FULL))
    return math.copysign(_stretched(abs(pc)), pc), _stretched(pore), pore


@fused_kernel
def _stretched(suction):
    """Place of a suction, at least zero, in the tables."""
    return logarithm((math.sqrt(suction * suction + P0 * P0) + suction) * (1.0 / P0))


@part_of_kernel
def heat_held(n, t, places, evaluation):
    """Enthalpy [J/m] of a node at a temperature, and its slope, as `state_kernels.evaluate` has them with ice."""
    (
        part_start, parts_of, part_material, part_volume,
        s0, ds, table, _, _, _, _, heat_capacity, _, _, _,
        _, _, _, _, _, _, _, _, _,
    ) = evaluation  # fmt: skip
    per_ds, last = 1.0 / ds, table.shape[1] - 1
    all_water, in_pores, pore = places
    suction, suction_t = freezing_suction(t)
    frozen = suction > pore
    at_ice, stretch = 0.0, 0.0
    if frozen:
        root = math.sqrt(suction * suction + P0 * P0)
        at_ice, stretch = logarithm((root + suction) * (1.0 / P0)), suction_t / root
    lift = (C_W - C_I) * t + L_F
    energy, energy_t = 0.0, 0.0
    for b in range(part_start[n], part_start[n + 1]):
        p = unsigned(parts_of[unsigned(b)])
        m, volume = unsigned(part_material[p]), part_volume[p]
        i, u = place_in(all_water, s0, per_ds, last)
        w = value_at(table, m, i, T_WATER, u)
        ice, ice_t = 0.0, 0.0
        if frozen:
            i, u = place_in(at_ice, s0, per_ds, last)
            liquid, liquid_s = value_at(table, m, i, T_WATER, u), slope_at(table, m, i, T_WATER, u, per_ds)
            i, u = place_in(in_pores, s0, per_ds, last)
            ice = max(value_at(table, m, i, T_WATER, u) - liquid, 0.0)
            ice_t = -liquid_s * stretch if ice > 0.0 else 0.0
        heat = heat_capacity[m] + C_W * (w - ice) + C_I * ice
        energy += volume * (heat * t - L_F * ice)
        energy_t += volume * (heat - lift * ice_t)
    return energy, energy_t
