"""The environment of a run beyond given climates: air zones, sources of water and heat, drains.

What stands here acts hour by hour on a prepared march: natural ventilation rates,
gains of zones, leaks and floods.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.water import suction_from_humidity
from stemwall.solver.forcing.air_paths import AirPath, PlacedAirPaths
from stemwall.solver.forcing.air_zones import Zone, ZonedNetwork, inlet_row
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.forcing.canopy import Plants
from stemwall.solver.forcing.flood import Flood, Flooding
from stemwall.solver.forcing.hour_ends import at_hour_ends, with_neighbours
from stemwall.solver.forcing.leaks import Leaking, PlacedLeaks, WaterSource
from stemwall.solver.forcing.soil_air import GroundAir
from stemwall.solver.integration.system import State, System, potential_of_suction
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.climate import Climate
from stemwall.weather.moistair import saturation_pressure

Floats = NDArray[np.float64]

#: what the groups of gains of zones begin with
GAINS = "gains: "


@dataclass(frozen=True)
class Environment:
    """Zones, water sources, air paths and floods of a run."""

    zones: tuple[Zone, ...] = ()
    sources: tuple[WaterSource, ...] = field(default=())
    air_paths: tuple[AirPath, ...] = field(default=())
    floods: tuple[Flood, ...] = field(default=())


@dataclass(frozen=True)
class Giver:
    """What gives heat or water to a node: the gains of a zone.

    ``group`` and ``name`` head its rows in balances; ``at`` says what it gives in an hour, at the temperature of its
    node [degC]: heat [W/m] and water [kg/(m s)].  Where it gives water, its heat is what that water carries.
    """

    group: str
    name: str
    node: int
    at: Callable[[int, float], tuple[float, float]]


def _givers(zoned: ZonedNetwork) -> Iterator[Giver]:
    """Everything that gives heat or water in a run, plants aside."""
    for zone, node in zip(zoned.zones, zoned.nodes, strict=True):
        group = GAINS + zone.key
        if zone.heat_gain is not None:
            yield Giver(group, f"{zone.key} | heat gain", node, partial(_warmth, zone.heat_gain))
        if zone.moisture_gain is not None:
            yield Giver(group, f"{zone.key} | moisture gain", node, partial(_vapour, zone.moisture_gain))


def _warmth(gain: Floats, hour: int, temperature: float) -> tuple[float, float]:
    return float(gain[hour]), 0.0


def _vapour(gain: Floats, hour: int, temperature: float) -> tuple[float, float]:
    """Vapour comes with its heat of evaporation."""
    return float(gain[hour]) * (layout.L_V + layout.C_V * temperature), float(gain[hour])


class HourlyActions:
    """What changes from hour to hour in a prepared system: vent rates, gains, water sources."""

    def __init__(
        self,
        system: System,
        loads: Loads,
        zoned: ZonedNetwork,
        climates: Mapping[str, Climate],
        leaks: PlacedLeaks,
        air_paths: PlacedAirPaths,
        floods: Sequence[Flood],
        plants: Plants,
    ) -> None:
        self.system, self.loads, self.zoned, self.climates = system, loads, zoned, climates
        self.air_paths = air_paths
        self.givers = tuple(_givers(zoned))
        self.plants = plants
        #: group and name of what gives heat or water, and what each gives in the present hour [W/m, kg/(m s)]
        self.sources = [*((giver.group, giver.name) for giver in self.givers), *self.plants.names]
        self.given = np.zeros((len(self.sources), 2))
        for zone in zoned.zones:
            for stream in zone.streams:
                k = zoned.inlet_surfaces[zone.key, stream.name]
                loads.fill_with(k, partial(self._inlet, climates[stream.source], stream.flow))
        for k in np.unique(system.network.link_surface[system.network.link_b < 0]):
            loads.fill_with(int(k), partial(self._air, climates[str(system.network.surfaces[k].climate)]))
        system.controls = zoned.controls()
        self.flooding = Flooding(system, loads, zoned, floods)
        self.leaking = Leaking(loads, leaks)
        self.ground_air = GroundAir(loads, zoned)

    def before(self, hour: int, state: State) -> None:
        """Set what holds during an hour, from the state at its start."""
        self.system.source[:] = 0.0
        self._draw_air(hour, state)
        self.flooding.before(hour)
        self.leaking.before(hour, state)
        self.ground_air.before(hour, state)
        self.given[len(self.givers) :] = self.plants.before(hour, state)
        for zone, node in zip(self.zoned.zones, self.zoned.nodes, strict=True):
            if zone.vents is not None:
                self._ventilate(zone, hour, float(state.temperature[node]))
        for number, giver in enumerate(self.givers):
            self.given[number] = giver.at(hour, float(state.temperature[giver.node]))
            self.system.source[giver.node] += self.given[number]

    def _draw_air(self, hour: int, state: State) -> None:
        """Set the flow through every air path."""
        placed, zones = self.air_paths, {z.key: n for z, n in zip(self.zoned.zones, self.zoned.nodes, strict=True)}

        def temperature(key: str) -> float:
            return float(state.temperature[zones[key]] if key in zones else self.climates[key].temperature[hour])

        for path, streams, signs in zip(placed.paths, placed.streams, placed.signs, strict=True):
            flow = path.at(hour, temperature(path.source), temperature(path.target))
            self.system.link_flow[streams] = flow * signs

    def _ventilate(self, zone: Zone, hour: int, inside: float) -> None:
        assert zone.vents is not None
        k = self.zoned.inlet_surfaces[zone.key, "vents"]
        climate = self.climates[zone.vents.source]
        flow = zone.vents.flow(hour, inside, float(climate.temperature[hour]))
        inlet_row(self.loads.hour(hour)[:, k], *self._ends(climate, slice(hour, hour + 1)), flow)

    def _inlet(self, climate: Climate, flow: Floats, rows: Floats, hours: slice) -> None:
        """Fill the rows of an inlet through which a given flow [m3/(s m)] of a climate's air comes."""
        inlet_row(rows, *self._ends(climate, hours), at_hour_ends(flow, hours, bounded=True))

    def _air(self, climate: Climate, rows: Floats, hours: slice) -> None:
        """Fill the rows of a surface that air paths end at: what the climate's air is like."""
        rows[:, layout.AIR_T], rows[:, layout.AIR_PV] = self._ends(climate, hours)

    def _ends(self, climate: Climate, hours: slice) -> tuple[Floats, Floats]:
        """Temperature [degC] and vapour pressure [Pa] of a climate's air at the ends of some hours."""
        # as for faces, what a climate holds beyond the run does not count
        around, here = with_neighbours(hours, self.loads.hours)
        temperature = climate.temperature[around]
        pressure = climate.relative_humidity[around] * saturation_pressure(temperature)
        return at_hour_ends(temperature, here), at_hour_ends(pressure, here, bounded=True)


def zone_start(state: State, zoned: ZonedNetwork) -> None:
    """Put the start state of every zone into a state."""
    for zone, node in zip(zoned.zones, zoned.nodes, strict=True):
        state.temperature[node] = zone.temperature
        state.potential[node] = potential_of_suction(suction_from_humidity(zone.humidity, zone.temperature))
