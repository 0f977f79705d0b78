"""Floods: water that stands in a space, or outdoors, up to a level for a time.

Every face that looks into that space and lies below the level meets water in place of
air, sky, sun and rain: its temperature behind a film, and its pressure, rho g times the
depth.  A membrane on the face may keep the pressure off.  The film between a flooded face
and an air zone is shut, and the zone meets the surface of the water instead.  What passes between
standing water and faces is booked on a surface of its own for each space.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from stemwall.solver.discretisation.air_zones import ZonedNetwork
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.integration.system import System
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.air_zone import POOL, Zone
from stemwall.solver.model.arrays import Ints
from stemwall.solver.model.climate import LEWIS
from stemwall.solver.model.water import DRY, Flood
from stemwall.weather.moistair import saturation_pressure

#: film in standing water [W/(m2 K)]; free convection in water, 100 to 1000 (common practice, no source)
WATER_FILM = 200.0


class Flooding:
    """Puts the standing water of every hour before the faces that it reaches."""

    def __init__(self, system: System, loads: Loads, zoned: ZonedNetwork, floods: Sequence[Flood]) -> None:
        self.system, self.loads, self.zoned = system, loads, zoned
        keys = dict.fromkeys(key for flood in floods for key in flood.climates)
        self.spaces = {key: (self._rows(key), [f for f in floods if key in f.climates]) for key in keys}
        self._films = {zone.key: self._film_membranes(zone.key) for zone in zoned.zones if zone.key in keys}
        self._open = system.membrane_data.copy()

    def before(self, hour: int) -> None:
        """Set what holds during an hour."""
        self.loads.standing[:] = 0.0
        for key, (rows, floods) in self.spaces.items():
            highest = max(floods, key=lambda flood: float(flood.level[hour]))
            level, temperature = float(highest.level[hour]), float(highest.temperature[hour])
            if level > DRY:
                self.loads.standing[rows] = level, temperature, WATER_FILM, self.zoned.flood_surfaces.get(key, 0)
            for zone in self._zones(key):
                self._flood_zone(zone, hour, level, temperature)

    def _zones(self, key: str) -> Iterator[Zone]:
        return (zone for zone in self.zoned.zones if zone.key == key)

    def _rows(self, key: str) -> list[int]:
        """Surfaces on which water in a space presses."""
        own = [k for k, s in enumerate(self.zoned.network.surfaces) if s.climate == key and s.region >= 0]
        return list(self.zoned.wet_surfaces.get(key, own))

    def _film_membranes(self, key: str) -> Ints:
        """Films between the faces of a zone and its air."""
        network = self.zoned.network
        own = [k for k, surface in enumerate(network.surfaces) if surface.climate == key and surface.region >= 0]
        return np.flatnonzero(np.isin(network.membrane_surface, own))

    def _flood_zone(self, zone: Zone, hour: int, level: float, temperature: float) -> None:
        """Shut the films of faces under water, and show the zone the water's surface."""
        films = self._films[zone.key]
        height = self.zoned.network.node_y[self.zoned.network.membrane_a[films]]
        self.system.membrane_data[films] = np.where((height < level)[:, None], 0.0, self._open[films])
        row = self.loads.hour(hour)[:, self.zoned.inlet_surfaces[zone.key, POOL[0]]]
        row[:] = 0.0
        if level > DRY:
            film = zone.convective_up * zone.pool
            row[:, layout.AIR_T], row[:, layout.AIR_PV] = temperature, float(saturation_pressure(temperature))
            row[:, layout.FILM], row[:, layout.BETA] = film + zone.radiative * zone.pool, LEWIS * film
