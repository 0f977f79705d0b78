"""Air drawn into a zone through the ground: an exhaust fan takes part of its make-up there.

It comes saturated at the temperature that the ground's surface has at the start of the hour.
The water that it picks up on its way is counted as coming from beyond the section.
"""

from __future__ import annotations

import numpy as np

from stemwall.solver.discretisation.air_zones import ZonedNetwork
from stemwall.solver.discretisation.mesh import MERGE
from stemwall.solver.discretisation.network import Network
from stemwall.solver.forcing.air_zones import inlet_row
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.integration.system import State
from stemwall.solver.model.air_zone import THROUGH_GROUND
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.errors import SectionError
from stemwall.weather.moistair import saturation_pressure


class GroundAir:
    """Puts air at the ground's temperature into the inlets of zones that draw on the ground."""

    def __init__(self, loads: Loads, zoned: ZonedNetwork) -> None:
        self.loads = loads
        self.drawn = [
            (zoned.inlet_surfaces[zone.key, THROUGH_GROUND[0]], zone.ground_air, *ground(zoned.network, zone.key))
            for zone in zoned.zones
            if zone.ground_air is not None
        ]

    def before(self, hour: int, state: State) -> None:
        """Set what holds during an hour, from the state at its start."""
        for surface, flow, nodes, widths in self.drawn:
            warm = np.array([np.average(state.temperature[nodes], weights=widths)])
            inlet_row(self.loads.hour(hour)[:, surface], warm, saturation_pressure(warm), float(flow[hour]))


def ground(network: Network, key: str) -> tuple[Ints, Floats]:
    """Nodes and widths [m] of the lowest faces of a zone that look up.

    Raises
    ------
    SectionError
        If none does.
    """
    up = [k for k, s in enumerate(network.surfaces) if s.climate == key and s.region >= 0 and s.facing == "up"]
    films = np.flatnonzero(np.isin(network.membrane_surface, up))
    if films.size == 0:
        raise SectionError([f"air through the ground into '{key}': no face there looks up"])
    height = network.node_y[network.membrane_a[films]]
    lowest = films[height < height.min() + MERGE]
    return network.membrane_a[lowest], network.membrane_width[lowest]
