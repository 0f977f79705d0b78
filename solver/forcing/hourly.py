"""What is set at the start of every hour: ventilation, air paths, gains of zones, leaks, floods and roots.

All of it follows from the state at that time, and holds for the hour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

import numpy as np

from stemwall.solver.discretisation.air_paths import PlacedAirPaths
from stemwall.solver.discretisation.air_zones import ZonedNetwork
from stemwall.solver.discretisation.water import PlacedLeaks
from stemwall.solver.forcing.air_zones import givers, inlet_row
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.forcing.canopy import Plants
from stemwall.solver.forcing.flood import Flooding
from stemwall.solver.forcing.hour_ends import at_hour_ends, with_neighbours
from stemwall.solver.forcing.leaks import Leaking
from stemwall.solver.forcing.soil_air import GroundAir
from stemwall.solver.integration.system import State, System
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.air_zone import Zone
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.water import Flood
from stemwall.weather.moistair import saturation_pressure


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
        self.givers = tuple(givers(zoned))
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

        for path, links, signs in zip(placed.paths, placed.links, placed.signs, strict=True):
            flow = path.at(hour, temperature(path.source), temperature(path.target))
            self.system.link_flow[links] = flow * signs

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
