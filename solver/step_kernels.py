"""Kernels of the stepping: scales, norms and cautious updates of the unknowns.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

import math

from numba import njit

EDGE = 0.01  # a stride across the freezing point ends at most so far below it [K]
UNSATURATED = 150.0  # slope of suction [Pa] up to which a node counts as saturated or nearly so


@njit(cache=True, error_model="numpy")
def fill_scale(
    pressure_slope, humidity_slope, water_slope, saturation,
    wanted_t, wanted_rh, wanted_water, wanted_pressure, importance, scale,
):  # fmt: skip
    """Reciprocals of the wanted local errors of temperature and potential, (N, 2).

    The potential answers for the strictest of humidity, water content and pressure;
    the slopes are derivatives with respect to it.  ``importance`` (N,) weighs the nodes.
    """
    for n in range(scale.shape[0]):
        scale[n, 0] = 1.0 / wanted_t
        humidity = abs(humidity_slope[n]) / wanted_rh
        water = abs(water_slope[n]) / (wanted_water * saturation[n])
        scale[n, 1] = max(humidity, water)
        if pressure_slope[n] <= UNSATURATED:
            scale[n, 1] = max(scale[n, 1], pressure_slope[n] / wanted_pressure)
        scale[n, 0] *= importance[n]
        scale[n, 1] *= importance[n]


@njit(cache=True, error_model="numpy")
def largest(values, scale):
    """Row with the largest entry of values * scale, both (N, 2), and that entry's size."""
    worst = 0
    size = 0.0
    for n in range(values.shape[0]):
        here = max(abs(values[n, 0] * scale[n, 0]), abs(values[n, 1] * scale[n, 1]))
        if not here <= size:  # a NaN is the largest of all
            worst = n
            size = here
            if size != size:
                break
    return worst, size


@njit(cache=True, error_model="numpy")
def limited_update(
    temperature, potential, update, factor, suction, suction_slope, capacity, stiffness, rate, turns,
    switching, y1, driest, clapeyron, spread, latent_heat,
):  # fmt: skip
    """Add factor * update (N, 2) with care.

    Temperatures move by at most 15 K.  At the freezing point, which the node's
    ``suction`` sets, latent heat breaks the slope of the enthalpy: the part of an
    update beyond it is scaled by the ratio of the slopes (``stiffness``, the diagonal
    of the energy equation, less or plus ``rate`` times the latent part); where the
    break is too sharp for that, updates that turn back are damped (``turns`` (N, 2):
    last update and damping).  In the capillary range (0 < y < y1) the potential moves by at
    most 2, and nowhere far from saturation or from the dry branch in one stride.  A
    ``switching`` node takes up offered water or refuses it depending on the sign of
    its suction, and is stopped close to the switch.  Returns how many nodes crossed
    their freezing point.
    """
    crossed = 0
    for n in range(temperature.size):
        dt = min(max(factor * update[n, 0], -15.0), 15.0)
        t = temperature[n]
        if min(t, t + dt) < 0.0:
            q = max(suction[n], 0.0) / clapeyron
            below = 0.5 * (q + math.sqrt(q * q + 4.0 * q * spread))
            point = -below
            ice_slope = clapeyron * below * (2.0 * spread + below) / ((spread + below) * (spread + below))
            latent = rate * latent_heat * abs(capacity[n, 2]) / suction_slope[n] * ice_slope
            if rate > 0.0:
                turns[n, 1] = 0.5 * turns[n, 1] if turns[n, 0] * dt < 0.0 else min(1.0, 2.0 * turns[n, 1])
            dt *= turns[n, 1]
            turns[n, 0] = dt
            if t > point and t + dt < point:
                ratio = stiffness[n] / (stiffness[n] + latent) if rate > 0.0 else 0.0
                dt = point - t + max((t + dt - point) * ratio, -EDGE)
                crossed += 1
            elif t < point and t + dt > point:
                ratio = min(stiffness[n] / max(stiffness[n] - latent, 0.01 * stiffness[n]), 20.0) if rate > 0.0 else 0.0
                dt = point - t + (t + dt - point) * ratio
                crossed += 1
        temperature[n] = t + dt
        before = potential[n]
        after = before + factor * update[n, 1]
        if before < 0.0:
            after = min(after, 0.2 if switching[n] else 1.0)
        elif before < y1:
            after = min(max(after, before - 2.0), before + 2.0)
            if switching[n] and before > 0.0 and after < -0.2:
                after = -0.2
        elif after < y1 - 1.0:
            after = y1 - 1.0
        potential[n] = min(after, driest)
    return crossed


@njit(cache=True, error_model="numpy")
def carried_share(residual, storage, rate):
    """Largest water residual over a step as a share of the water its node holds."""
    share = 0.0
    for n in range(residual.shape[0]):
        held = rate * storage[n, 1]
        if abs(residual[n, 1]) > share * held:
            share = abs(residual[n, 1]) / max(held, 1e-300)
    return share


@njit(cache=True, error_model="numpy")
def at_rest(residual, heat_bound, water_bound, rate, share):
    """Whether all residuals are below a share of rate * bound."""
    for n in range(residual.shape[0]):
        if abs(residual[n, 0]) > share * rate * heat_bound[n, 0]:
            return False
        if abs(residual[n, 1]) > share * rate * water_bound[n]:
            return False
    return True
