"""A second solver, in one dimension: method of lines with a stiff integrator of a library.

Vertex-centred like the solver it checks, but otherwise its own: unknowns T and
ln p_c are integrated by backward differentiation formulas with their own error
control, conductivities are averaged between nodes and multiplied by differences
of suction (no flow potential), and material functions are evaluated directly
(no tables).  Good for states with p_c > 0 everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import diags

from stemwall.cases.verification.references.similarity import CONSERVED, VAPOUR_HEAT, EnergyForm
from stemwall.materials.material import Material
from stemwall.materials.water import (
    EVAPORATION_HEAT,
    GAS_CONSTANT,
    GRAVITY,
    WATER_DENSITY,
    WATER_HEAT,
    ZERO_CELSIUS,
    saturation_pressure,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class End:
    """What an end of the line meets: air behind films, or a held suction.

    Parameters
    ----------
    temperature : callable
        Of time [s] to [degC].
    film : float
        [W/(m2 K)].
    vapour_pressure, beta : float
        [Pa], [s/m].
    suction : float or None
        Held suction [Pa]; the end node does not move then.
    """

    temperature: Callable[[float], float] = lambda t: 0.0
    film: float = 0.0
    vapour_pressure: float = 0.0
    beta: float = 0.0
    suction: float | None = None


@dataclass(frozen=True)
class Layer:
    """Cells of one material between mesh lines [m]."""

    material: Material
    lines: Floats


class Line:
    """Layers one behind the other, integrated in time from a uniform or given start.

    Parameters
    ----------
    layers : sequence of Layer
        In order; the last line of one is the first of the next.
    ends : pair of End
    form : EnergyForm
        Which enthalpies count.
    gravity : float
        Pull along the line, positive towards its end [m/s2].
    """

    def __init__(
        self,
        layers: Sequence[Layer],
        ends: tuple[End, End],
        form: EnergyForm = CONSERVED,
        gravity: float = 0.0,
    ) -> None:
        self.layers, self.ends, self.form, self.gravity = layers, ends, form, gravity
        self.x = np.concatenate([layers[0].lines[:1], *(layer.lines[1:] for layer in layers)])
        counts = np.cumsum([0, *(layer.lines.size - 1 for layer in layers)])
        self.spans = [slice(a, b + 1) for a, b in pairwise(counts)]

    def run(self, temperature: float, suction: ArrayLike, times: Sequence[float], rtol: float = 1e-6) -> Floats:
        """States T, ln p_c at times [s] from t = 0, shape (times, 2, nodes)."""
        n = self.x.size
        start = np.stack([np.full(n, temperature), np.log(np.broadcast_to(suction, n))], axis=1)
        for node, end in ((0, self.ends[0]), (-1, self.ends[1])):
            if end.suction is not None:
                start[node, 1] = np.log(end.suction)
        pattern = diags([np.ones(2 * n - abs(k)) for k in range(-3, 4)], list(range(-3, 4)))
        found = solve_ivp(
            lambda t, y: self._rates(t, y.reshape(n, 2)).ravel(),
            (0.0, times[-1]),
            start.ravel(),
            "BDF",
            t_eval=list(times),
            rtol=rtol,
            atol=rtol,
            jac_sparsity=pattern,
        )
        if not found.success:
            raise RuntimeError(f"the method of lines stopped: {found.message}")
        return np.asarray(found.y.T.reshape(len(times), n, 2).transpose(0, 2, 1))

    def water(self, log_suction: Floats, layer: int) -> float:
        """Water in one layer [kg/m2]."""
        span, m, lines = self.spans[layer], self.layers[layer].material, self.layers[layer].lines
        return float(np.trapezoid(m.water_content(np.exp(log_suction[span])), lines))

    def inflow(self, t: float, temperature: Floats, log_suction: Floats, side: int) -> tuple[float, float, float]:
        """Film heat and energy in all [W/m2], vapour [kg/(m2 s)], entering at the first or last node."""
        end, node = self.ends[side], -side
        surface = float(temperature[node])
        heat = end.film * (end.temperature(t) - surface)
        vapour = 0.0
        if end.beta > 0.0:
            pressure = _vapour_pressure(temperature[node], log_suction[node])
            vapour = end.beta * (end.vapour_pressure - float(pressure))
        carried = EVAPORATION_HEAT + (VAPOUR_HEAT * surface if self.form.liquid else 0.0)
        return heat, heat + carried * vapour, vapour

    def _rates(self, t: float, state: Floats) -> Floats:
        temperature, log_suction = state[:, 0], state[:, 1]
        p_c, n = np.exp(log_suction), self.x.size
        gain_heat, gain_water = np.zeros(n), np.zeros(n)
        held_heat, held_moist, moist = np.zeros(n), np.zeros(n), np.zeros(n)
        for layer, span in zip(self.layers, self.spans, strict=True):
            m, dx = layer.material, np.diff(layer.lines)
            tt, pc = temperature[span], p_c[span]
            half = 0.5 * (np.append(dx, 0.0) + np.insert(dx, 0, 0.0))
            water, slope = m.water_content(pc), -m.storage.capacity(pc) * pc
            held_heat[span] += half * (m.heat_capacity + (WATER_HEAT * water if self.form.capacity else 0.0))
            held_moist[span] += half * (WATER_HEAT * tt * slope if self.form.liquid else 0.0)
            moist[span] += half * slope
            heat, flow = self._fluxes(m, dx, tt, log_suction[span], water)
            gain_heat[span] += np.insert(heat, 0, 0.0) - np.append(heat, 0.0)
            gain_water[span] += np.insert(flow, 0, 0.0) - np.append(flow, 0.0)
        for side in (0, 1):
            _, energy, vapour = self.inflow(t, temperature, log_suction, side)
            gain_heat[-side] += energy
            gain_water[-side] += vapour
        rate_s = gain_water / moist
        for side in (0, 1):
            if self.ends[side].suction is not None:
                rate_s[-side] = 0.0
        rate_t = (gain_heat - held_moist * rate_s) / held_heat
        return np.stack([rate_t, rate_s], axis=1)

    def _fluxes(self, m: Material, dx: Floats, t: Floats, log_suction: Floats, water: Floats) -> tuple[Floats, Floats]:
        """Energy [W/m2] and water [kg/(m2 s)] along the line between neighbouring nodes."""
        p_c = np.exp(log_suction)
        growth = ((t + ZERO_CELSIUS) / (20.0 + ZERO_CELSIUS)) ** m.vapour_exponent
        delta, liquid = m.vapour_permeability(p_c) * growth, m.liquid_conductivity(p_c)
        pressure, conductivity = _vapour_pressure(t, log_suction), m.thermal_conductivity(water)
        vapour = -_mean(delta) * np.diff(pressure) / dx
        flow = _mean(liquid) * (np.diff(p_c) / dx + WATER_DENSITY * self.gravity)
        carried = EVAPORATION_HEAT + (VAPOUR_HEAT * _mean(t) if self.form.liquid else 0.0)
        heat = -_mean(conductivity) * np.diff(t) / dx + carried * vapour
        if self.form.liquid:
            heat = heat + WATER_HEAT * _mean(t) * flow
        return heat, vapour + flow


def _mean(values: Floats) -> Floats:
    return np.asarray(0.5 * (values[1:] + values[:-1]))


def _vapour_pressure(temperature: ArrayLike, log_suction: ArrayLike) -> Floats:
    kelvin = np.asarray(temperature) + ZERO_CELSIUS
    phi = np.exp(-np.exp(log_suction) / (WATER_DENSITY * GAS_CONSTANT * kelvin))
    return np.asarray(phi * saturation_pressure(temperature))


#: pull of gravity along a line that runs downwards [m/s2]
DOWNWARDS = GRAVITY
