"""Open ground far from any building: a column of soil under a year of its site's weather, year after year alike.

The surface of the ground is warmer or colder than the air by what sun, sky, snow, cover and evaporation make of it.
A run that starts from, and holds at its lower edge, what this column settles at has no need to find it first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver.discretisation.mesh import mesh_on_lines
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.forcing.boundary_conditions import Loads, radiative
from stemwall.solver.forcing.canopy import Plants, soil_volumes
from stemwall.solver.forcing.initial_state import start_state
from stemwall.solver.integration.integrator import HOUR, TimeIntegrator
from stemwall.solver.integration.system import System, potential_of_suction
from stemwall.solver.kernels.physics import material_state
from stemwall.solver.kernels.support.layout import AIR_T, C_W
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.ground import GroundProfile
from stemwall.solver.model.section import Edge, Finish, Opening, Region, Section
from stemwall.solver.model.settings import YEAR, Accuracy, StartState
from stemwall.weather.ground import GroundWave

#: depth of the column [m]: five times that at which the yearly wave has fallen to 1/e
DEPTH = 12.0
WIDTH = 0.1
#: heights of cells [m]: the first, and how much each is larger than the one above
FINEST, GROWTH = 0.015, 1.35
#: three times the errors of a run, and no step is resolved that is shorter than ten minutes
ACCURACY = Accuracy(temperature=0.27, humidity=0.027, saturation=0.027, pressure=3000.0, resolved=600.0)
#: settled if no depth ends the year further from where it began it [K]
SETTLED = 0.1
LEAST_YEARS, MOST_YEARS = 2, 5
#: conductance between the surface and its surroundings [W/(m2 K)], for the guess at what a year leaves of a difference
SURFACE = 20.0


@dataclass(frozen=True)
class OpenGround:
    """Soil, weather and cover of open ground.

    Parameters
    ----------
    soil : Material
        The soil, from the surface down.
    climate : Climate
        A year of weather, its loads on ground that looks up among them.
    start : datetime
        First hour of that year.
    water_table : float or None
        Height of the water table [m], below zero; None: water drains freely.
    finish : tuple of float or None
        Solar absorptance and emissivity of the cover; None: those of the soil.
    air : GroundWave
        Yearly wave of the air, to begin with.
    driest : float
        Suction [Pa] at which the soil begins, at most.
    """

    soil: Material
    climate: Climate
    start: datetime
    water_table: float | None
    finish: tuple[float, float] | None
    air: GroundWave
    driest: float = StartState.ground_suction


def settle_open_ground(ground: OpenGround) -> GroundProfile:
    """Return what open ground settles at.

    Each year starts from where the last one ended, moved by what it would take equal years to get there: a year's
    change of a linear column tells how far from its goal it began.

    Raises
    ------
    SolverError
        See `TimeIntegrator.advance_to`.
    """
    column = GroundColumn(ground)
    for year in range(1, MOST_YEARS + 1):
        before = column.temperature
        mean, wave = column.march_year()
        change = column.temperature - before
        left = float(np.abs(change[1:]).max())
        if year >= LEAST_YEARS and left < SETTLED:
            break
        column.move_by(change)
    return column.profile(mean, wave, year, left)


class GroundColumn:
    """The column; arrays go over depth, from the surface down."""

    def __init__(self, ground: OpenGround) -> None:
        self.ground = ground
        section = _section(ground)
        network = build_network(mesh_on_lines(section, np.array([0.0, WIDTH]), _lines()))
        used, climates = (ground.soil,), {ground.climate.key: ground.climate}
        self.system = System(network, tabulate(used))
        faces = radiative(network, used)
        self.loads = Loads(network, climates, *faces, ground=ground.air, start=ground.start, hours=YEAR)
        self.plants = Plants(self.system, climates, soil_volumes(network, used), *faces)
        settings = StartState(ground_suction=ground.driest)
        state = start_state(network, used, ground=ground.air, settings=settings, start=ground.start)
        self.integrator = TimeIntegrator(self.system, self.loads, state, ACCURACY)
        depth = -network.node_y
        self.left = np.flatnonzero(network.node_x == 0.0)
        self.left = self.left[np.argsort(depth[self.left])]
        self.depth = depth[self.left]
        self.base = [k for k, surface in enumerate(network.surfaces) if surface.edge is not None]
        self.row = np.searchsorted(self.depth, depth - 1e-9)
        self.first = (ground.start - datetime(ground.start.year, 1, 1)).total_seconds() / 86400.0

    @property
    def temperature(self) -> Floats:
        """Temperature [degC] over the depth, (n,)."""
        return np.asarray(self.integrator.state.temperature[self.left])

    @property
    def suction(self) -> Floats:
        """Suction [Pa] over the depth, (n,)."""
        return np.array([material_state.suction_of(y)[0] for y in self.integrator.state.potential[self.left]])

    def hours_of_a_year(self) -> Iterator[Floats]:
        """Integrate over a year; yield the temperatures at the end of each hour [degC]."""
        self.integrator.time = 0.0
        for hour in range(YEAR):
            self.system.source[:] = 0.0
            self.plants.before(hour, self.integrator.state)
            # water that rises through the base is as warm as the ground there
            self.loads.hour(hour)[:, self.base, AIR_T] = self.temperature[-1]
            self.integrator.advance_to((hour + 1) * HOUR)
            yield self.temperature

    def march_year(self) -> tuple[Floats, NDArray[np.complex128]]:
        """Integrate over a year; return mean and first harmonic of the temperatures."""
        mean, wave = np.zeros(self.depth.size), np.zeros(self.depth.size, dtype=complex)
        turns = np.exp(2j * np.pi * (self.first + (np.arange(YEAR) + 1.0) / 24.0) / 365.0)
        for turn, temperature in zip(turns, self.hours_of_a_year(), strict=True):
            mean += temperature
            wave += turn * temperature
        return mean / YEAR, np.asarray(2.0 * wave / YEAR)

    def move_by(self, change: Floats) -> None:
        """Start the next year where equal years would lead that began with this change (depths,) [K]."""
        state = self.integrator.state.copy(self.system.arena)
        state.temperature += self._goal(change)[self.row]
        self.integrator = TimeIntegrator(self.system, self.loads, state, ACCURACY)

    def begin_from(self, profile: GroundProfile) -> None:
        """Start the next year as a profile does."""
        state = self.integrator.state.copy(self.system.arena)
        state.temperature[:] = profile.temperature_at_start[self.row]
        state.potential[:] = potential_of_suction(profile.suction_at_start[self.row])
        self.integrator = TimeIntegrator(self.system, self.loads, state, ACCURACY)

    def _goal(self, change: Floats) -> Floats:
        """What is left to go after a year that changed temperatures by ``change``, in a linear column."""
        conductivity, capacity = self._properties()
        cells = np.gradient(self.depth)
        cells[[0, -1]] *= 0.5
        between = 0.5 * (conductivity[1:] + conductivity[:-1]) / np.diff(self.depth)
        matrix = np.diag(np.append(between, 0.0) + np.insert(between, 0, SURFACE))
        matrix -= np.diag(between, 1) + np.diag(between, -1)
        weight = np.sqrt(capacity * cells)
        rates, modes = np.linalg.eigh(matrix / np.outer(weight, weight))
        fade = np.exp(-np.maximum(rates, 1e-12) * YEAR * HOUR)
        return np.asarray(modes @ (fade / (1.0 - fade) * (modes.T @ (change * weight))) / weight)

    def _properties(self) -> tuple[Floats, Floats]:
        """Conductivity [W/(m K)] and heat capacity [J/(m3 K)] of the soil as it is."""
        soil = self.ground.soil
        water = soil.water_content(self.suction)
        return np.asarray(soil.thermal_conductivity(water, 10.0)), np.asarray(soil.heat_capacity + C_W * water)

    def profile(self, mean: Floats, wave: NDArray[np.complex128], years: int, left: float) -> GroundProfile:
        """The settled profile."""
        conductivity, capacity = self._properties()
        diffusivity = float(conductivity[-1] / capacity[-1] * 86400.0)
        return GroundProfile(self.depth, mean, wave, self.temperature, self.suction, diffusivity, years, left)


def _section(ground: OpenGround) -> Section:
    """A narrow column, closed all around but above, and for water below."""
    water = Edge("bottom", water="drainage" if ground.water_table is None else "table")
    finishes = () if ground.finish is None else (Finish("cover", 0.0, 0.0, WIDTH, 0.0, *ground.finish),)
    key = ground.climate.key
    return Section(
        0.0, -DEPTH, WIDTH, WIDTH,
        items=(Region("soil", ground.soil.id, 0.0, -DEPTH, WIDTH, 0.0), Opening("air", key, 0.0, 0.0, WIDTH, WIDTH)),
        edges=(water,), finishes=finishes, water_table=ground.water_table,
    )  # fmt: skip


def _lines() -> Floats:
    """Heights of the mesh lines [m], rising."""
    count = int(np.log1p(DEPTH / FINEST * (GROWTH - 1.0)) / np.log(GROWTH))
    depths = np.cumsum(GROWTH ** np.arange(count))
    return np.concatenate([[-DEPTH], (-DEPTH * depths / depths[-1])[-2::-1], [0.0, WIDTH]])
