"""Water brought to a place: a leak, a burst pipe, a share of driving rain.

It is offered, as rain is offered to a face: the place takes as much as it can, and what it
refuses runs off.  A place that is full, or full of ice, takes none.  Both are booked on a
surface of its own for each leak.
"""

from __future__ import annotations

import numpy as np

from stemwall.solver.discretisation.water import PlacedLeaks
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.integration.system import State
from stemwall.solver.kernels.physics.material_state import suction_of
from stemwall.solver.kernels.support.layout import (
    AIR_T,
    GRAVITY,
    LEVEL,
    PRESCRIBED_SUCTION,
    RHO_W,
    UPTAKE_CONDUCTANCE,
    WATER_FILM,
)

#: conductance by which a leak enters its place [kg/(m s Pa)]: 1 kg/(m h) asks for 3 Pa of suction; no source
LEAK_CONTACT = 1e-4


class Leaking:
    """Offers the water of every hour to the places that leaks reach."""

    def __init__(self, loads: Loads, placed: PlacedLeaks) -> None:
        self.loads, self.placed = loads, placed

    def before(self, hour: int, state: State) -> None:
        """Set what is offered during an hour.

        Water is pressed in by no more than the pressure that stands at the place already, or in
        standing water above it: a leak neither forces water into what is full, nor drains it.
        """
        placed, loads = self.placed, self.loads
        standing = loads.standing[:, WATER_FILM - LEVEL] > 0.0
        level = float(loads.standing[standing, 0].max()) if standing.any() else -np.inf
        for source, node, surface in zip(placed.sources, placed.nodes, placed.surfaces, strict=True):
            rate = float(source.rate[hour])
            depth = max(level - float(placed.network.node_y[node]), 0.0)
            rows = loads.hour(hour)[:, surface]
            loads.offered(hour)[surface] = rate
            rows[:, AIR_T] = source.temperature[hour]
            rows[:, UPTAKE_CONDUCTANCE] = LEAK_CONTACT if rate > 0.0 else 0.0
            rows[:, PRESCRIBED_SUCTION] = min(
                float(suction_of(state.potential[node])[0]), -RHO_W * GRAVITY * depth, 0.0
            )
