"""The enthalpy of a node over its temperature, and its inversion where water freezes."""

from __future__ import annotations

import math

from stemwall.solver.kernels.physics.material_state import freezing_suction, suction_of
from stemwall.solver.kernels.support.cubic_tables import place_in, slope_at, value_at
from stemwall.solver.kernels.support.exp_log import logarithm
from stemwall.solver.kernels.support.jit import fused_kernel, kernel, part_of_kernel
from stemwall.solver.kernels.support.layout import C_I, C_W, L_F, P0, T_WATER, unsigned

#: farthest that a temperature moves in one update [K]
MAX_TEMPERATURE_UPDATE = 15.0
#: the enthalpy of freezing nodes is inverted to this share of the wanted error, in at most so many steps
ENTHALPY_TOL, MAX_INVERSION_STEPS = 1e-3, 30


@fused_kernel
def places_of(y):
    """What holds the water of a node at a potential: its place in the tables, and its suction."""
    pc, _ = suction_of(y)
    return math.copysign(_stretched(abs(pc)), pc), pc


@fused_kernel
def _stretched(suction):
    """Place of a suction, at least zero, in the tables."""
    return logarithm((math.sqrt(suction * suction + P0 * P0) + suction) * (1.0 / P0))


@part_of_kernel
def heat_held(n, t, places, volumes, tables):
    """Enthalpy [J/m] of a node at a temperature, and its slope, as `material_state.evaluate` has them with ice."""
    scv_start, scvs_of, scv_material, scv_volume = volumes.start, volumes.of, volumes.material, volumes.area
    s0, columns, heat_capacity, full = tables.s0, tables.columns, tables.heat_capacity, tables.full
    per_ds, last = 1.0 / tables.ds, tables.columns.shape[1] - 1
    all_water, total = places
    suction, suction_t = freezing_suction(t)
    frozen = suction > 0.0 and suction > total
    at_ice, stretch = 0.0, 0.0
    if frozen:
        root = math.sqrt(suction * suction + P0 * P0)
        at_ice, stretch = logarithm((root + suction) * (1.0 / P0)), suction_t / root
    lift = (C_W - C_I) * t + L_F
    energy, energy_t = 0.0, 0.0
    for b in range(scv_start[n], scv_start[n + 1]):
        q = unsigned(scvs_of[unsigned(b)])
        m, volume = unsigned(scv_material[q]), scv_volume[q]
        i, u = place_in(all_water, s0, per_ds, last)
        w = value_at(columns, m, i, T_WATER, u)
        ice, ice_t = 0.0, 0.0
        if frozen:
            i, u = place_in(at_ice, s0, per_ds, last)
            liquid, liquid_s = value_at(columns, m, i, T_WATER, u), slope_at(columns, m, i, T_WATER, u, per_ds)
            ice = max((w if all_water > 0.0 else full[m]) - liquid, 0.0)
            ice_t = -liquid_s * stretch if ice > 0.0 else 0.0
        heat = heat_capacity[m] + C_W * (w - ice) + C_I * ice
        energy += volume * (heat * t - L_F * ice)
        energy_t += volume * (heat - lift * ice_t)
    return energy, energy_t


@fused_kernel
def invert_enthalpy(count, u, rate, weights, volumes, tables, jacobian, damping):
    """Bring freezing nodes to the temperature at which they hold what the linearised balance gives them (N11).

    Latent heat bends the enthalpy far more than anything else: a node is left with
    rate * H(T) + own flow(T) = target, which grows with T, and takes safeguarded steps of Newton's method.
    The first ``count`` of ``damping.freezing_nodes`` are brought.
    """
    blocks, diagonal, capacity = jacobian.blocks, jacobian.diagonal, damping.capacity
    freezing_nodes, before = damping.freezing_nodes, damping.temperature_before
    for number in range(count):
        n = freezing_nodes[number]
        own = max(blocks[diagonal[n], 0] - rate * capacity[n, 0], 0.0)
        places = places_of(u.potential[n])
        t, low, high = u.temperature[n], before[n] - MAX_TEMPERATURE_UPDATE, before[n] + MAX_TEMPERATURE_UPDATE
        for _ in range(MAX_INVERSION_STEPS):
            held, slope = heat_held(n, t, places, volumes, tables)
            excess, slope = rate * held + own * t - damping.target[n], rate * slope + own
            t, low, high, there = safeguarded_newton_step(t, low, high, excess, slope, ENTHALPY_TOL / weights[n, 0])
            if there:
                break
        u.temperature[n] = t


@kernel
def safeguarded_newton_step(t, low, high, excess, slope, near):
    """A step of Newton's method within a bracket, for what grows with t: t, bracket, whether it is that near."""
    if excess > 0.0:
        high = t
    else:
        low = t
    change = -excess / slope
    if min(abs(change), high - low) <= near:
        return t, low, high, True
    after = t + change
    if not low < after < high:
        after = 0.5 * (low + high)
    return after, low, high, False
