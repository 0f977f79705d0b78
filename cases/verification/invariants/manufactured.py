"""Manufactured solution: chosen fields of temperature and suction, the sources they need, observed order.

Two moist soils side by side, temperature and suction swinging in space and time.
The sources are the residual of the differential equations for these fields: rate of
storage plus divergence of the fluxes, the fluxes in closed form from the material
functions, their divergence by fourth-order differences.  Where the two soils meet, the jump of
the flux is supplied along the line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import SHORTFALL, Comparison, Refinement, compare
from stemwall.cases.verification.moisture.gravity import soil
from stemwall.cases.verification.references.similarity import VAPOUR_HEAT
from stemwall.cases.verification.rig import Bench, PlaceLoad
from stemwall.materials.material import Material
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import ConstantVapour
from stemwall.materials.water import (
    EVAPORATION_HEAT,
    GAS_CONSTANT,
    GRAVITY,
    WATER_DENSITY,
    WATER_HEAT,
    ZERO_CELSIUS,
    fluidity_ratio,
    saturation_pressure,
)
from stemwall.solver.integration.integrator import LoadsInTime
from stemwall.solver.model.section import Edge, Region, Section
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
WIDTH, HEIGHT, MIDDLE = 0.5, 0.4, 0.2
END = 4e5
TIGHT = Accuracy(temperature=1e-6, humidity=1e-7, saturation=1e-7, longest_step=END)
SOURCE = "manufactured fields; design order of the scheme"


@dataclass(frozen=True)
class Swing:
    """mean + size sin(kx x + 0.4) sin(ky y + 0.7) cos(w t + 0.3)."""

    mean: float
    size: float
    kx: float
    ky: float
    w: float

    def value(self, x: Floats, y: Floats, t: float) -> Floats:
        """Value at places [m] and a time [s]."""
        swing = np.sin(self.kx * x + 0.4) * np.sin(self.ky * y + 0.7) * np.cos(self.w * t + 0.3)
        return np.asarray(self.mean + self.size * swing)

    def slope(self, x: Floats, y: Floats, t: float, axis: int) -> Floats:
        """Along x (0) or y (1)."""
        a, b = self.kx * x + 0.4, self.ky * y + 0.7
        along = self.kx * np.cos(a) * np.sin(b) if axis == 0 else self.ky * np.sin(a) * np.cos(b)
        return np.asarray(self.size * along * np.cos(self.w * t + 0.3))


TEMPERATURE = Swing(15.0, 6.0, 7.0, 5.0, 1.1e-5)
#: of the logarithm of suction [Pa]
LOG_SUCTION = Swing(9.1, 0.8, 5.0, 8.0, 0.8e-5)


def moist_soils() -> dict[str, Material]:
    """Two soils with liquid and vapour flow and conductivities that follow water."""
    left, right = soil(0.078, 0.43, 3.6, 1.56, 3e-7), soil(0.06, 0.36, 2.0, 2.1, 6e-8)
    return {
        key: replace(
            base,
            id=key,
            vapour=ConstantVapour(delta),
            conductivity=LinearConductivity(dry, slope),
            viscous=True,
            vapour_exponent=0.81,
        )
        for key, base, delta, dry, slope in (
            ("left", left, 8e-11, 0.5, 2e-3),
            ("right", right, 2e-11, 1.2, 3e-3),
        )
    }


class Continuum:
    """Fluxes and storage of the chosen fields in one material."""

    STEP = 1e-3

    def __init__(self, material: Material) -> None:
        self.material = material

    @staticmethod
    def _state(x: Floats, y: Floats, t: float) -> tuple[Floats, Floats]:
        return TEMPERATURE.value(x, y, t), np.exp(LOG_SUCTION.value(x, y, t))

    def storage(self, x: Floats, y: Floats, t: float) -> Floats:
        """Enthalpy [J/m3] and water [kg/m3], shape (2, ...)."""
        temperature, p_c = self._state(x, y, t)
        water = self.material.water_content(p_c)
        return np.stack([(self.material.heat_capacity + WATER_HEAT * water) * temperature, water])

    def flux(self, x: Floats, y: Floats, t: float, axis: int) -> Floats:
        """Energy [W/m2] and water [kg/(m2 s)] along x (0) or y (1), shape (2, ...)."""
        m, rise = self.material, 1e-3
        temperature, p_c = self._state(x, y, t)
        warmer = TEMPERATURE.slope(x, y, t, axis)
        drier = p_c * LOG_SUCTION.slope(x, y, t, axis)
        kelvin = temperature + ZERO_CELSIUS
        rt = WATER_DENSITY * GAS_CONSTANT * kelvin
        sat, phi = saturation_pressure(temperature), np.exp(-p_c / rt)
        sat_t = (saturation_pressure(temperature + rise) - saturation_pressure(temperature - rise)) / (2 * rise)
        pressure_slope = phi * ((sat_t + sat * p_c / (rt * kelvin)) * warmer - sat / rt * drier)
        delta = m.vapour_permeability(p_c) * (kelvin / 293.15) ** m.vapour_exponent
        vapour = -delta * pressure_slope
        pull = WATER_DENSITY * GRAVITY if axis == 1 else 0.0
        liquid = m.liquid_conductivity(p_c) * fluidity_ratio(temperature) * (drier - pull)
        conduction = -m.thermal_conductivity(m.water_content(p_c)) * warmer
        carried = (EVAPORATION_HEAT + VAPOUR_HEAT * temperature) * vapour + WATER_HEAT * temperature * liquid
        return np.stack([conduction + carried, vapour + liquid])

    def source(self, x: Floats, y: Floats, t: float) -> Floats:
        """Gains per volume that the fields need, shape (2, ...)."""
        h, k = self.STEP, 10.0
        return np.asarray(
            _derivative(lambda d: self.storage(x, y, t + d), k)
            + _derivative(lambda d: self.flux(x + d, y, t, 0), h)
            + _derivative(lambda d: self.flux(x, y + d, t, 1), h)
        )


def _derivative(function: Callable[[float], Floats], step: float) -> Floats:
    """Fourth-order central difference at zero."""
    near, far = function(step) - function(-step), function(2 * step) - function(-2 * step)
    return np.asarray((8 * near - far) / (12 * step))


class Driven:
    """Loads that also set the sources of a bench for the three times of a step, as they are asked for them."""

    def __init__(self, bench: Bench, loads: LoadsInTime) -> None:
        self.bench, self.loads = bench, loads
        n = bench.network
        self.continua = [Continuum(m) for m in moist_soils().values()]
        self.parts = [np.flatnonzero(n.scv_material == k) for k in (0, 1)]
        self.line = np.flatnonzero(np.abs(n.node_x - MIDDLE) < 1e-9)
        dy = np.diff(n.mesh.y_lines)
        lengths = 0.5 * (np.append(dy, 0.0) + np.insert(dy, 0, 0.0))
        rank = np.argsort(np.argsort(n.node_y[self.line]))
        self.lengths = lengths[rank]
        self.sources = [np.zeros((n.nodes, 2)) for _ in range(3)]
        self.asked = 0
        bench.integrator.drive_sources(self.sources)

    def at(self, seconds: float, during: float) -> Floats:
        """Set the sources that the solution needs at this time [s]; the loads do not change."""
        n, source = self.bench.network, self.sources[self.asked % 3]
        self.asked += 1
        source[:] = 0.0
        for continuum, parts in zip(self.continua, self.parts, strict=True):
            node = n.scv_node[parts]
            gain = continuum.source(n.node_x[node], n.node_y[node], seconds) * n.scv_volume[parts]
            np.add.at(source, node, gain.T)
        x, y = n.node_x[self.line], n.node_y[self.line]
        left, right = (continuum.flux(x, y, seconds, 0) for continuum in self.continua)
        source[self.line] += ((right - left) * self.lengths).T
        return self.loads.at(seconds, during)


def run(cells: int, steps: int) -> Bench:
    """Run to the end with that many cells per soil and direction, in equal steps."""
    edges = tuple(Edge(side, "climate", climate="given") for side in ("left", "right", "bottom", "top"))
    regions = (Region("a", "left", 0, 0, MIDDLE, HEIGHT), Region("b", "right", MIDDLE, 0, WIDTH, HEIGHT))

    def held(t: float, x: Floats, y: Floats) -> PlaceLoad:
        return {
            "air_temperature": TEMPERATURE.value(x, y, t),
            "film": 1e8,
            "supply": 1e33,
            "uptake": 1.0,
            "held_suction": np.exp(LOG_SUCTION.value(x, y, t)),
        }

    x = np.concatenate([np.linspace(0, MIDDLE, cells + 1), np.linspace(MIDDLE, WIDTH, cells + 1)[1:]])
    bench = Bench(
        Section(0, 0, WIDTH, HEIGHT, regions, edges=edges),
        moist_soils(),
        x,
        np.linspace(0, HEIGHT, cells + 1),
        temperature=lambda x, y: TEMPERATURE.value(x, y, 0.0),
        suction=lambda x, y: np.exp(LOG_SUCTION.value(x, y, 0.0)),
        accuracy=replace(TIGHT, longest_step=END / steps),
        load_at=held,
        equal_steps=True,
    )
    bench.integrator.loads = Driven(bench, bench.integrator.loads)
    bench.run_to(END)
    return bench


def _errors(bench: Bench) -> Floats:
    """Largest error of temperature [K] and log suction [-]."""
    n = bench.network
    exact = TEMPERATURE.value(n.node_x, n.node_y, END), LOG_SUCTION.value(n.node_x, n.node_y, END)
    return np.array([np.abs(bench.temperature - exact[0]).max(), np.abs(np.log(bench.suction) - exact[1]).max()])


def order_in_space() -> list[Comparison]:
    """Error against the chosen fields on meshes halved twice, time steps too short to matter.

    Two moist soils side by side, 0.2 and 0.3 m by 0.4 m, heat, vapour and liquid with gravity fully coupled.
    Temperature and logarithm of suction are chosen waves in space and time; the sources and the jump of flux
    at the interface that make them the solution are supplied.  Largest error of any node after 4e5 s.

    6, 12 and 24 cells per soil and direction, 200 equal steps.
    """
    errors = np.array([_errors(run(cells, 200)) for cells in (6, 12, 24)])
    return _orders("Manufactured solution, order in space", errors, "cells per soil", [6, 12, 24])


def order_in_time() -> list[Comparison]:
    """Differences between solutions whose steps are halved, on one mesh.

    The same fields and sources on 8 cells per soil; 20 to 160 equal steps; each solution against the one
    with twice as many steps.
    """
    benches = [run(8, steps) for steps in (20, 40, 80, 160)]
    gaps = [
        (np.abs(a.temperature - b.temperature).max(), np.abs(np.log(a.suction / b.suction)).max())
        for a, b in pairwise(benches)
    ]
    return _orders("Manufactured solution, order in time", np.array(gaps), "steps", [20, 40, 80])


def _orders(name: str, errors: Floats, axis: str, points: list[int]) -> list[Comparison]:
    """Observed order of temperature and log suction from pairs of errors; not to fall short of 2."""
    found = []
    for k, quantity in enumerate(("temperature", "log suction")):
        study = Refinement(np.array(points, dtype=float), errors[:, k], 2.0, axis, "K" if k == 0 else "-")
        orders = study.orders
        found.append(
            compare(
                name,
                SOURCE,
                f"observed order of {quantity} [-]",
                points[1:],
                orders,
                np.full(orders.size, study.design),
                0.1,
                SHORTFALL,
                axis=axis,
                refinement=study,
            )
        )
    return found
