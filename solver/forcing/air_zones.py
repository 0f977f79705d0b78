"""Air zones: a space whose temperature and humidity are unknowns, solved with the section.

A zone is one more node, filled with air, that every face looking into it is
coupled to by its films; openings, fans and leaks bring air of given climates in
and push zone air out; a heater and a dehumidifier act on it.  All of it stands in
the same implicit system as the section, so nothing lags and nothing oscillates;
only the *rate* of natural ventilation is taken from the state at the start of each
hour.  Vented, sealed, decoupled and conditioned are settings of one thing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.materials.storage import LinearIsotherm, Storage
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.vapour import ConstantVapour
from stemwall.materials.water import GAS_CONSTANT, GRAVITY, ZERO_CELSIUS
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.forcing.boundary_conditions import LEWIS
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.climate import Facing
from stemwall.solver.model.section import Section

Floats = NDArray[np.float64]

#: volumetric heat capacity of air at 20 degC [J/(m3 K)]; 1.205 kg/m3 x 1005 J/(kg K), handbook values
AIR_HEAT = 1.205 * 1005.0
#: vapour in saturated air at 20 degC [kg/m3]
AIR_VAPOUR = 2337.0 / (GAS_CONSTANT * 293.15)
#: name and source of air drawn through the ground, and of the surface of standing water
THROUGH_GROUND, POOL = ("make-up through the ground", "ground"), ("surface of standing water", "water")


@dataclass(frozen=True)
class Stream:
    """Air of a climate that enters the zone and displaces as much of the zone's own.

    ``flow`` (hours,) in m3/s per metre of section; ``source`` is the key of a climate.
    """

    name: str
    source: str
    flow: Floats


@dataclass(frozen=True)
class Vents:
    """Openings to the outdoors, driven by wind and by the difference of temperature.

    V = C_d A sqrt((C_p |v|)^2 / 2 + g h |dT| / T), A half the free area per metre since air
    must enter and leave (orifice flow of a pair of openings; handbook form, from memory, to be checked).

    Parameters
    ----------
    area : float
        Free area per metre of section, all openings together [m2/m].
    source : str
        Climate outside.
    height : float
        Height between the middles of low and high openings [m].
    wind : Floats
        Wind speed at the openings [m/s], (hours,).
    discharge, wind_factor : float
        Discharge coefficient and root of the pressure difference coefficient [-].
    """

    area: float
    source: str
    height: float
    wind: Floats
    discharge: float = 0.6
    wind_factor: float = 0.4

    def flow(self, hour: int, inside: float, outside: float) -> float:
        """Air flow [m3/(s m)] in an hour at temperatures inside and outside [degC]."""
        wind = (self.wind_factor * float(self.wind[hour])) ** 2 / 2.0
        stack = GRAVITY * self.height * abs(inside - outside) / (0.5 * (inside + outside) + ZERO_CELSIUS)
        return self.discharge * 0.5 * self.area * sqrt(wind + stack)


@dataclass(frozen=True)
class Control:
    """A heater or a dehumidifier with a set point, a proportional band and a capacity.

    A heater adds up to ``capacity`` [W/m] below ``set_point`` [degC]; a dehumidifier takes out up to
    ``capacity`` [kg/(s m)] above ``set_point`` relative humidity [-] and returns the heat of condensation
    and ``heat_per_kg`` [J/kg] of electricity.  Full output is reached at ``band`` from the set point.
    """

    kind: str
    set_point: float
    capacity: float
    band: float
    heat_per_kg: float = 0.0


@dataclass(frozen=True)
class Zone:
    """A space with its own balance.

    Parameters
    ----------
    key : str
        Climate key of the openings that form it.
    temperature, humidity : float
        Start state [degC], [-].
    streams, vents, controls
        What moves its air and conditions it.
    heat_gain, moisture_gain : Floats or None
        Given gains [W/m], [kg/(s m)], (hours,).
    ground_air : Floats or None
        Air drawn in through the ground [m3/(s m)], (hours,); it comes saturated at the temperature of
        the lowest faces that look up, with water that is not taken from the soil drawn.
    pool : float
        Width of the water's surface while the space is flooded [m].
    convective_up, convective_side, convective_down, radiative : float
        Films of faces looking up, sideways, down, and linear radiation [W/(m2 K)]; ISO 6946:2007
        Annex A (from memory, to be checked).
    """

    key: str
    temperature: float = 15.0
    humidity: float = 0.7
    streams: tuple[Stream, ...] = ()
    vents: Vents | None = None
    controls: tuple[Control, ...] = ()
    heat_gain: Floats | None = None
    moisture_gain: Floats | None = None
    ground_air: Floats | None = None
    pool: float = 0.0
    convective_up: float = 5.0
    convective_side: float = 2.5
    convective_down: float = 0.7
    radiative: float = 5.13

    def convective(self, facing: Facing) -> float:
        """Convective film [W/(m2 K)] of faces that look one way."""
        return {"up": self.convective_up, "down": self.convective_down}.get(facing, self.convective_side)

    @property
    def inlets(self) -> tuple[tuple[str, str], ...]:
        """Name and source climate of everything that brings air, heat or vapour in, in the order of their surfaces."""
        named = [(stream.name, stream.source) for stream in self.streams]
        if self.vents is not None:
            named.append(("vents", self.vents.source))
        if self.ground_air is not None:
            named.append(THROUGH_GROUND)
        if self.pool > 0.0:
            named.append(POOL)
        return tuple(named)


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
    #: by climate or zone, the surface of its faces under water, see `flood.with_floods`
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
    section, count, parts = network.mesh.section, network.nodes, network.scv_node.size
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
        face_scv=np.append(network.face_scv, parts + port_zone),
        face_node=np.append(network.face_node, nodes[port_zone]),
        face_surface=np.append(np.where(inside, running[network.face_surface], network.face_surface), ports),
        face_width=np.append(network.face_width, np.ones(ports.size)),
        surfaces=tuple(surfaces),
    )
    return ZonedNetwork(grown, tuple(zones), tuple(int(n) for n in nodes), inlets, switches, wet)


def _wet_surfaces(
    zones: Sequence[Zone], zone_of: NDArray[np.int64], surfaces: list[Surface]
) -> tuple[NDArray[np.int64], dict[str, tuple[int, ...]]]:
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
            surfaces.append(Surface(label, None, None, -1, "up", None, membrane, 0.0, True, group))
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


def inlet_row(row: Floats, temperature: Floats, vapour_pressure: Floats, flow: Floats | float) -> None:
    """Fill the load rows of an inlet: air at temperature [degC] and vapour pressure [Pa], flow [m3/(s m)]."""
    row[:, layout.AIR_T] = temperature
    row[:, layout.AIR_PV] = vapour_pressure
    row[:, layout.FILM] = AIR_HEAT * np.asarray(flow)
    row[:, layout.BETA] = np.asarray(flow) / (GAS_CONSTANT * (temperature + ZERO_CELSIUS))
