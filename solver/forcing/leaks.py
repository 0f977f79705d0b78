"""Water brought to a place: a leak, a burst pipe, a share of driving rain.

It is offered, as rain is offered to a face: the place takes as much as it can, and what it
refuses runs off.  A place that is full, or full of ice, takes none.  Both are booked on a
surface of its own for each leak.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.network import Network, Surface
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

Floats = NDArray[np.float64]

#: conductance by which a leak enters its place [kg/(m s Pa)]: 1 kg/(m h) asks for 3 Pa of suction; no source
LEAK_CONTACT = 1e-4


@dataclass(frozen=True)
class WaterSource:
    """Water brought to a place.

    Parameters
    ----------
    name : str
        Line in the balances.
    x, y : float
        Place [m], in or on the edge of a solid; the nearest node of ``region`` takes it.
    rate : Floats
        Water offered [kg/(s m)], (hours,).
    temperature : Floats
        Its temperature [degC], (hours,).
    region : str or None
        Region that takes it, if it must be a certain one.
    """

    name: str
    x: float
    y: float
    rate: Floats
    temperature: Floats
    region: str | None = None


@dataclass(frozen=True)
class PlacedLeaks:
    """Leaks in a network: the node and the surface of each."""

    network: Network
    sources: tuple[WaterSource, ...]
    nodes: tuple[int, ...]
    surfaces: tuple[int, ...]


def with_leaks(network: Network, sources: Sequence[WaterSource]) -> PlacedLeaks:
    """Add a surface for each leak, with a face of one metre at the node that takes it.

    Raises
    ------
    SectionError
        See `place_source`.
    """
    if not sources:
        return PlacedLeaks(network, (), (), ())
    nodes = [place_source(network, source) for source in sources]
    surfaces = [len(network.surfaces) + number for number in range(len(sources))]
    added = tuple(
        Surface(f"leak | {source.name}", None, None, -1, "up", None, None, 0.0, group=f"leak: {source.name}")
        for source in sources
    )
    parts = [int(np.flatnonzero(network.scv_node == node)[0]) for node in nodes]
    grown = replace(
        network,
        face_scv=np.append(network.face_scv, parts),
        face_node=np.append(network.face_node, nodes),
        face_surface=np.append(network.face_surface, surfaces),
        face_width=np.append(network.face_width, np.ones(len(nodes))),
        surfaces=(*network.surfaces, *added),
    )
    return PlacedLeaks(grown, tuple(sources), tuple(nodes), tuple(surfaces))


def place_source(network: Network, source: WaterSource) -> int:
    """Node that takes a water source: the nearest corner of a cell that holds its place.

    Raises
    ------
    SectionError
        If its region is unknown, or its place lies in no solid cell of it.
    """
    found = network.mesh.cells_at(f"water source '{source.name}'", source.x, source.y, source.region)
    nodes = network.corner_node[found[:, 0], found[:, 1]].ravel()
    distance = np.hypot(network.node_x[nodes] - source.x, network.node_y[nodes] - source.y)
    return int(nodes[int(np.argmin(distance))])


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
