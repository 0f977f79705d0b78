"""Loads on surfaces: climates and ground edges turned into one row per surface and time.

Everything but water is joined linearly between the hours' ends, see `hour_ends`: sums are
kept, without a jump or a kink inside an hour.  Water supply is constant within its hour.

Only a block of hours is held, and filled when the time gets there: memory does not grow with the run, and
the first step does not wait for the last.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial

import numpy as np

from stemwall.materials.material import Material
from stemwall.materials.water import GRAVITY, WATER_DENSITY
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.forcing.canopy import Canopy
from stemwall.solver.forcing.hour_ends import at_hour_ends, with_neighbours
from stemwall.solver.kernels.physics.load_interpolation import between
from stemwall.solver.kernels.support.layout import (
    AIR_PV,
    AIR_T,
    AVAILABLE_WATER,
    BETA,
    DRAIN,
    EMISSIVITY,
    FILM,
    KELVIN,
    LEVEL,
    LOAD_COLUMNS,
    LONGWAVE,
    PRESCRIBED_SUCTION,
    SIGMA,
    SUN,
    UPTAKE_CONDUCTANCE,
)
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import LEWIS, Climate, FacingLoads
from stemwall.solver.model.ground import Ground
from stemwall.weather.moistair import saturation_pressure

#: conductance that holds a node at a given temperature [W/(m2 K)]
HOLD_HEAT = 1e5
#: conductance that holds a node at a given suction [kg/(m2 s Pa)]
HOLD_WATER = 1e-4
#: conductance by which offered water enters a surface that still has suction [kg/(m2 s Pa)]
RAIN_CONTACT = 1e-5
#: conductance by which water under pressure leaves at each node of a drain [kg/(m s Pa)]
DRAIN_CONTACT = 1e-4
#: columns of what cannot be below zero
BOUNDED = ~np.isin(np.arange(LOAD_COLUMNS), (AIR_T, LONGWAVE, PRESCRIBED_SUCTION))
#: hours held at once
BLOCK = 24 * 14

#: writes rows of a surface for some hours: their means (hours, columns), or values at their ends (hours + 1, columns)
Fill = Callable[[Floats, slice], None]


class Loads:
    """Hourly load rows of every surface; `at` gives the rows at a time, (surfaces, columns)."""

    def __init__(
        self,
        network: Network,
        climates: Mapping[str, Climate],
        absorptance: Floats,
        emissivity: Floats,
        *,
        ground: Ground,
        start: datetime,
        hours: int,
    ) -> None:
        self.hours = hours
        #: what fills the hourly means of a surface with a climate or an edge, and the ends of hours of another
        self._means: dict[int, Fill] = {}
        self._ends: dict[int, Fill] = {}
        #: the hours held, their water supply and the rows at their ends
        self._held = slice(0, 0)
        block = min(BLOCK, hours)
        self._supply = np.zeros((block, len(network.surfaces)))
        self._rows = np.zeros((block + 1, len(network.surfaces), LOAD_COLUMNS))
        for k, surface in enumerate(network.surfaces):
            bare = surface.membrane is None or surface.membrane.liquid == "open"
            if surface.drain:
                contact = DRAIN_CONTACT if surface.region >= 0 else RAIN_CONTACT
                self._means[k] = partial(self._drain, contact=contact if bare else 0.0)
                continue
            if surface.region < 0 or surface.climate not in (None, *climates):
                continue  # inlets and controls of air zones, and faces that look into one
            if surface.climate is not None:
                self._means[k] = partial(
                    self._climate, surface=surface, climate=climates[surface.climate], absorptance=absorptance[k],
                    emissivity=emissivity[k],
                )  # fmt: skip
            elif surface.edge is not None:
                section = network.mesh.section
                self._means[k] = partial(
                    self._ground, surface=surface, water_table=section.water_table, bottom=section.y0, ground=ground,
                    start=start,
                )  # fmt: skip
        #: level [m], temperature [degC] and film [W/(m2 K)] of water standing before each surface in the present hour
        self.standing = np.zeros((len(network.surfaces), LOAD_COLUMNS - LEVEL))
        self._row = np.zeros(self._rows.shape[1:])

    def fill_with(self, surface: int, fill: Fill) -> None:
        """Let ``fill`` write the rows of a surface that has neither climate nor edge, block by block."""
        self._ends[surface] = fill
        self._held = slice(0, 0)

    def hour(self, hour: int) -> Floats:
        """Rows at the two ends of an hour (2, surfaces, columns), to read or to write before it is marched."""
        if not self._held.start <= hour < self._held.stop:
            self._fill(hour)
        first = hour - self._held.start
        return self._rows[first : first + 2]

    def offered(self, hour: int) -> Floats:
        """Water offered to every surface in an hour (surfaces,), to read or to write before it is marched."""
        self.hour(hour)
        return np.asarray(self._supply[hour - self._held.start])

    def _fill(self, first: int) -> None:
        """Hold a block of hours from ``first`` on."""
        held = slice(first, min(first + self._supply.shape[0], self.hours))
        around, here = with_neighbours(held, self.hours)
        count = held.stop - held.start
        self._rows[:] = 0.0
        for k, fill in self._means.items():
            means = np.zeros((around.stop - around.start, LOAD_COLUMNS))
            fill(means, around)
            self._supply[:count, k] = means[here, AVAILABLE_WATER]
            self._rows[: count + 1, k] = at_hour_ends(means, here, bounded=BOUNDED)
        for k, fill in self._ends.items():
            fill(self._rows[: count + 1, k], held)
        self._held = held

    def at(self, seconds: float, during: float) -> Floats:
        """Load rows at a time [s]; ``during`` is a time within the hour that is marched, which ``seconds`` may end.

        The array is reused by the next call.
        """
        hour = min(max(int(during / 3600.0), 0), self.hours - 1)
        share = min(max(seconds / 3600.0 - hour, 0.0), 1.0)
        between(self.hour(hour), share, self._supply[hour - self._held.start], self.standing, self._row)
        return self._row

    @staticmethod
    def _drain(row: Floats, hours: slice, *, contact: float) -> None:
        row[:, UPTAKE_CONDUCTANCE] = contact

    def _climate(
        self, row: Floats, hours: slice, *, surface: Surface, climate: Climate, absorptance: float, emissivity: float
    ) -> None:
        loads = climate.facings[surface.facing].during(hours)
        bare = surface.membrane is None or surface.membrane.liquid == "open"
        temperature = climate.temperature[hours]
        row[:, AIR_T] = temperature
        row[:, AIR_PV] = climate.relative_humidity[hours] * saturation_pressure(temperature)
        row[:, FILM] = loads.convective + loads.radiative
        row[:, BETA] = LEWIS * loads.convective
        seen = loads.longwave > 0
        cover = np.zeros(len(row)) if loads.resistance is None else loads.resistance
        row[:, LONGWAVE] = np.where(seen, emissivity * loads.longwave, 0.0)
        row[:, EMISSIVITY] = np.where(seen, emissivity, 0.0)
        row[:, SUN] = loads.absorbed(absorptance) * loads.solar
        if loads.leaves is None:
            self._under_cover(row, cover)
        else:
            self._under_leaves(row, climate.relative_humidity[hours], loads, emissivity)
        row[:, BETA] = _through_cover(row[:, BETA], cover, loads.vapour_resistance)
        row[:, AVAILABLE_WATER] = loads.rain if bare else 0.0
        row[:, UPTAKE_CONDUCTANCE] = RAIN_CONTACT if bare else 0.0

    @staticmethod
    def _under_cover(row: Floats, cover: Floats) -> None:
        """Put a cover (snow, mulch) of some resistance [m2 K/W] between the face and its climate.

        Sun and longwave act on top of the cover, which is taken at air temperature
        for what it emits; the share that reaches the face is that of its conductance.
        """
        on = cover > 0.0
        air = row[on, AIR_T] + KELVIN
        emissivity = row[on, EMISSIVITY]
        film = row[on, FILM] + 4.0 * emissivity * SIGMA * air**3
        share = 1.0 / (1.0 + film * cover[on])
        row[on, FILM] = film * share
        row[on, LONGWAVE] = share * (row[on, LONGWAVE] - emissivity * SIGMA * air**4)
        row[on, SUN] *= share
        row[on, EMISSIVITY] = 0.0

    @staticmethod
    def _under_leaves(row: Floats, humidity: Floats, loads: FacingLoads, emissivity: float) -> None:
        """Put plants between the face and its climate; some sun passes their leaves."""
        assert loads.leaves is not None
        shaded = loads.leaves.shade * row[:, SUN]
        canopy = Canopy.of(row[:, AIR_T], humidity, loads, shaded, emissivity)
        row[:, AIR_PV] += canopy.moistens(row[:, BETA])
        row[:, FILM], row[:, LONGWAVE] = canopy.towards_ground()
        row[:, SUN] -= shaded
        row[:, EMISSIVITY] = 0.0

    def _ground(
        self,
        row: Floats,
        hours: slice,
        *,
        surface: Surface,
        water_table: float | None,
        bottom: float,
        ground: Ground,
        start: datetime,
    ) -> None:
        assert surface.edge is not None
        if surface.edge.kind == "ground":
            day = start.timetuple().tm_yday - 1 + (np.arange(hours.start, hours.stop) + 0.5) / 24.0
            row[:, AIR_T] = ground.temperature(max(0.0, -bottom), day)
            row[:, FILM] = HOLD_HEAT
        if surface.edge.water == "table":
            row[:, AVAILABLE_WATER] = 1e33
            row[:, UPTAKE_CONDUCTANCE] = HOLD_WATER
            row[:, PRESCRIBED_SUCTION] = (
                WATER_DENSITY * GRAVITY * (bottom - (bottom if water_table is None else water_table))
            )
        elif surface.edge.water == "drainage":
            row[:, DRAIN] = 1.0


def _through_cover(beta: Floats, cover: Floats, resistance: Floats | None) -> Floats:
    """Vapour film [s/m] over a face behind a cover (hours,); a cover of unknown resistance lets none pass."""
    passing = np.where(cover > 0.0, np.inf, 0.0) if resistance is None else resistance[: beta.size]
    lets = np.isfinite(passing)
    found = np.zeros_like(beta)
    found[lets] = beta[lets] / (1.0 + beta[lets] * passing[lets])
    return found


def radiative(network: Network, materials: tuple[Material, ...]) -> tuple[Floats, Floats]:
    """Solar absorptance and emissivity of every surface."""
    section = network.mesh.section
    absorptance, emissivity = np.zeros(len(network.surfaces)), np.zeros(len(network.surfaces))
    for k, surface in enumerate(network.surfaces):
        if surface.region < 0:
            continue
        own = materials[section.materials.index(section.regions[surface.region].material)].surface
        source = surface.finish or own
        absorptance[k], emissivity[k] = source.absorptance, source.emissivity
    return absorptance, emissivity
