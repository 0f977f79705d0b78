"""Surfaces of water brought to places, and of water that stands in spaces: what they give is booked there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stemwall.solver.discretisation.air_zones import ZonedNetwork, flood_group
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.model.water import Flood, WaterSource


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
    volumes = [int(np.flatnonzero(network.scv_node == node)[0]) for node in nodes]
    grown = replace(
        network,
        face_scv=np.append(network.face_scv, volumes),
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


def with_floods(zoned: ZonedNetwork, floods: Sequence[Flood]) -> ZonedNetwork:
    """Add a surface for each space that floods, under which what passes between the water and its faces is booked."""
    network = zoned.network
    seen = {surface.climate for surface in network.surfaces if surface.region >= 0}
    keys = [key for key in dict.fromkeys(key for flood in floods for key in flood.climates) if key in seen]
    rows = {key: len(network.surfaces) + number for number, key in enumerate(keys)}
    added = tuple(
        Surface(f"{key} | faces under water", None, None, -1, "up", None, None, 0.0, group=flood_group(key))
        for key in keys
    )
    return replace(zoned, network=replace(network, surfaces=(*network.surfaces, *added)), flood_surfaces=rows)
