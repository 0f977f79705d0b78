"""Air zones in the network: a space whose temperature and humidity are unknowns, solved with the section.

A zone is one more node, filled with air, that every face looking into it is
coupled to by its films; openings, fans and leaks bring air of given climates in
and push zone air out; a heater and a dehumidifier act on it.  All of it stands in
the same implicit system as the section, so nothing lags and nothing oscillates;
only the *rate* of natural ventilation is taken from the state at the start of each
hour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.materials.storage import LinearIsotherm, Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import ConstantVapour
from stemwall.materials.water import GAS_CONSTANT
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.model.air_zone import POOL, THROUGH_GROUND, Zone
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.climate import LEWIS
from stemwall.solver.model.section import Section

#: volumetric heat capacity of air at 20 degC [J/(m3 K)]; 1.205 kg/m3 x 1005 J/(kg K), handbook values
AIR_HEAT = 1.205 * 1005.0
#: vapour in saturated air at 20 degC [kg/m3]
AIR_VAPOUR = 2337.0 / (GAS_CONSTANT * 293.15)


def air() -> Material:
    """The air that fills a zone; water beyond saturation stays in it as fog."""
    return Material(
        id="zone_air",
        name="Zone air",
        group="zone",
        density=AIR_HEAT / 1005.0,
        specific_heat=1005.0,
        storage=Storage(LinearIsotherm(AIR_VAPOUR), 1e-6),
        vapour=ConstantVapour(0.0),
        conductivity=LinearConductivity(0.025),
        viscous=False,
        hatch="air",
    )


@dataclass(frozen=True)
class ZonedNetwork:
    """A network with a node per zone; ``zones`` in the order of their nodes."""

    network: Network
    zones: tuple[Zone, ...]
    nodes: tuple[int, ...]
    inlet_surfaces: Mapping[tuple[str, str], int] = field(default_factory=dict)
    control_surfaces: Mapping[tuple[str, int], int] = field(default_factory=dict)
    #: by zone, the surfaces through which water under pressure leaves its faces, or standing water enters them
    wet_surfaces: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    #: by climate or zone, the surface of its faces under water, see `water.with_floods`
    flood_surfaces: Mapping[str, int] = field(default_factory=dict)

    def controls(self) -> Floats:
        """Rows for the kernel of heaters and dehumidifiers, (Q, 7)."""
        rows = [
            (node, float(c.kind != "heater"), c.set_point, c.capacity, c.band, c.heat_per_kg, row)
            for zone, node in zip(self.zones, self.nodes, strict=True)
            for c, row in ((c, self.control_surfaces[zone.key, k]) for k, c in enumerate(zone.controls))
        ]
        return np.array(rows, dtype=np.float64).reshape(-1, 7)

    @property
    def inner(self) -> NDArray[np.bool_]:
        """Which surfaces lie between the section and a zone, so that their flows stay within the system."""
        return np.array([surface.inner for surface in self.network.surfaces], dtype=bool)


def with_zones(network: Network, zones: Sequence[Zone], air_material: int) -> ZonedNetwork:
    """Add a node of air for every zone and couple the faces that look into it.

    Parameters
    ----------
    network : Network
        Of the section.
    zones : sequence of Zone
        Each key must be the climate of an opening.
    air_material : int
        Index of the zone air in the material tables.
    """
    if not zones:
        return ZonedNetwork(network, (), ())
    section, count, volumes = network.mesh.section, network.nodes, network.scv_node.size
    areas = np.array([opening_area(section, zone.key) for zone in zones])
    nodes = count + np.arange(len(zones))
    surfaces = list(network.surfaces)
    inlets: dict[tuple[str, str], int] = {}
    for zone in zones:
        for name, source in zone.inlets:
            inlets[zone.key, name] = len(surfaces)
            label = f"{zone.key} | {name}" + ("" if (name, source) in (THROUGH_GROUND, POOL) else f", air of {source}")
            group = flood_group(zone.key) if (name, source) == POOL else air_group(source)
            surfaces.append(Surface(label, source, None, -1, "up", None, None, 0.0, group=group))
    switches: dict[tuple[str, int], int] = {}
    for zone in zones:
        for number, control in enumerate(zone.controls):
            switches[zone.key, number] = len(surfaces)
            label, group = f"{zone.key} | {control.kind}", f"{control.kind}: {zone.key}"
            surfaces.append(Surface(label, None, None, -1, "up", None, None, 0.0, group=group))
    zone_of = np.array([_index(zones, surface.climate, surface.region) for surface in surfaces])
    surfaces = [replace(s, inner=True) if number >= 0 else s for s, number in zip(surfaces, zone_of, strict=True)]
    inside = zone_of[network.face_surface] >= 0
    films = np.array([_films(zones, surface) for surface in surfaces])[network.face_surface[inside]]
    running, wet = _wet_surfaces(zones, zone_of, surfaces)
    ports = np.array(list(inlets.values()), dtype=np.int64)
    port_zone = np.array([_index(zones, key, 0) for key, _ in inlets], dtype=np.int64)
    middle = [section_middle(section, zone.key) for zone in zones]
    grown = replace(
        network,
        node_x=np.append(network.node_x, [x for x, _ in middle]),
        node_y=np.append(network.node_y, [y for _, y in middle]),
        scv_node=np.append(network.scv_node, nodes),
        scv_material=np.append(network.scv_material, np.full(len(zones), air_material)),
        scv_region=np.append(network.scv_region, np.full(len(zones), -1)),
        scv_volume=np.append(network.scv_volume, areas),
        membrane_a=np.append(network.membrane_a, network.face_node[inside]),
        membrane_b=np.append(network.membrane_b, nodes[zone_of[network.face_surface[inside]]]),
        membrane_width=np.append(network.membrane_width, network.face_width[inside]),
        membrane_index=np.append(network.membrane_index, np.full(int(inside.sum()), -1)),
        membrane_surface=np.append(network.membrane_surface, network.face_surface[inside]),
        membrane_film=np.concatenate([network.membrane_film, films.reshape(-1, 2)]),
        face_scv=np.append(network.face_scv, volumes + port_zone),
        face_node=np.append(network.face_node, nodes[port_zone]),
        face_surface=np.append(np.where(inside, running[network.face_surface], network.face_surface), ports),
        face_width=np.append(network.face_width, np.ones(ports.size)),
        surfaces=tuple(surfaces),
    )
    return ZonedNetwork(grown, tuple(zones), tuple(int(n) for n in nodes), inlets, switches, wet)


def _wet_surfaces(
    zones: Sequence[Zone], zone_of: Ints, surfaces: list[Surface]
) -> tuple[Ints, dict[str, tuple[int, ...]]]:
    """Append the surfaces through which liquid water passes between faces and zones.

    What stands on a face under pressure runs off into the space, and standing water enters where the
    space is flooded; a membrane on the face may stop both.  Return the new surface of every old one (-1 if
    it looks into no zone), and the new ones by zone.
    """
    running = np.full(zone_of.size, -1, dtype=np.int64)
    wet: dict[str, tuple[int, ...]] = {}
    for number, zone in enumerate(zones):
        own = np.flatnonzero(zone_of == number)
        membranes = dict.fromkeys([None, *(surfaces[k].membrane for k in own)])
        wet[zone.key] = tuple(range(len(surfaces), len(surfaces) + len(membranes)))
        place = dict(zip(membranes, wet[zone.key], strict=True))
        running[own] = [place[surfaces[k].membrane] for k in own]
        for membrane in membranes:
            what = "water running off" if membrane is None else f"water on {membrane.name}"
            label, group = f"{zone.key} | {what}", f"water running off: {zone.key}"
            surfaces.append(Surface(label, None, None, -1, "up", None, membrane, 0.0, drain=True, group=group))
    return running, wet


def _index(zones: Sequence[Zone], key: str | None, region: int) -> int:
    """Number of the zone of a surface, -1 for none and for inlets (which lie in no region)."""
    keys = [zone.key for zone in zones]
    return keys.index(key) if key in keys and region >= 0 else -1


def _films(zones: Sequence[Zone], surface: Surface) -> tuple[float, float]:
    """Thermal and vapour film [W/(m2 K)], [s/m] between a surface and its zone."""
    number = _index(zones, surface.climate, surface.region)
    if number < 0:
        return 0.0, 0.0
    zone = zones[number]
    convective = zone.convective(surface.facing)
    return convective + zone.radiative, LEWIS * convective


def air_group(source: str) -> str:
    """What is written over the flows of air that streams in from a climate, or out to it."""
    return f"air from {source}"


def flood_group(key: str) -> str:
    """What is written over the flows from water that stands in a space."""
    return f"flood: {key}"


def opening_area(section: Section, key: str) -> float:
    """Area of the openings of a climate [m2], overlaps with later paint not counted off."""
    return sum((o.x1 - o.x0) * (o.y1 - o.y0) for o in section.openings if o.climate == key)


def section_middle(section: Section, key: str) -> tuple[float, float]:
    """Middle of the first opening of a climate [m]."""
    opening = next(o for o in section.openings if o.climate == key)
    return 0.5 * (opening.x0 + opening.x1), 0.5 * (opening.y0 + opening.y1)
