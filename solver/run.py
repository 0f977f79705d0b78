"""What a run is made of: the system that marches, its loads, what acts by the hour, and what is read of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver.discretisation.air_paths import with_air_paths, with_lines
from stemwall.solver.discretisation.air_zones import ZonedNetwork, air, with_zones
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.network_builder import build_network, conducting
from stemwall.solver.discretisation.water import with_floods, with_leaks
from stemwall.solver.forcing.air_zones import zone_start
from stemwall.solver.forcing.boundary_conditions import Loads, radiative
from stemwall.solver.forcing.canopy import Plants, soil_volumes
from stemwall.solver.forcing.hourly import HourlyActions
from stemwall.solver.forcing.initial_state import start_state
from stemwall.solver.integration.integrator import TimeIntegrator
from stemwall.solver.integration.system import System
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.ground import Ground
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import Accuracy, MeshRule, StartState
from stemwall.solver.results.probes import PlacedProbe, Recorder, place_probes

#: distance from a probe within which the wanted errors hold in full [m]
NEAR = 1.0
#: factor on the wanted errors at twice that distance and beyond [-]
FAR = 4.0


@dataclass(frozen=True)
class Run:
    """A run made ready: what marches, what reads, and what it is made of."""

    system: System
    loads: Loads
    integrator: TimeIntegrator
    recorder: Recorder
    materials: tuple[Material, ...]
    climates: Mapping[str, Climate]
    zoned: ZonedNetwork
    actions: HourlyActions
    start: datetime
    hours: int


def prepare(
    section: Section,
    materials: Mapping[str, Material],
    climates: Mapping[str, Climate],
    *,
    start: datetime,
    hours: int,
    ground: Ground,
    start_settings: StartState,
    accuracy: Accuracy,
    mesh: MeshRule,
    environment: Environment | None = None,
) -> Run:
    """Mesh, network, tables, loads and start state of a run.

    Raises
    ------
    SectionError
        If the section cannot be meshed or a probe lies nowhere.
    """
    environment = environment or Environment()
    used = conducting(section, materials)
    plain = build_network(build_mesh(with_lines(section, environment.air_paths), mesh))
    probes = place_probes(plain)
    zoned = with_floods(with_zones(plain, environment.zones, len(used)), environment.floods)
    zone_nodes = {zone.key: node for zone, node in zip(zoned.zones, zoned.nodes, strict=True)}
    air_paths = with_air_paths(zoned.network, environment.air_paths, zone_nodes)
    leaks = with_leaks(air_paths.network, environment.sources)
    network = leaks.network
    zoned = replace(zoned, network=network)
    system = System(network, tabulate([*used, air()] if environment.zones else used))
    absorptance, emissivity = radiative(network, used)
    loads = Loads(network, climates, absorptance, emissivity, ground=ground, start=start, hours=hours)
    plants = Plants(system, climates, soil_volumes(network, used), absorptance, emissivity)
    actions = HourlyActions(system, loads, zoned, climates, leaks, air_paths, environment.floods, plants)
    state = start_state(network, used, ground=ground, settings=start_settings, start=start)
    zone_start(state, zoned)
    integrator = TimeIntegrator(system, loads, state, accuracy, importance(network, probes))
    recorder = Recorder(system, probes)
    return Run(system, loads, integrator, recorder, used, climates, zoned, actions, start, hours)


def importance(network: Network, probes: Sequence[PlacedProbe]) -> Floats:
    """Weight of every node in the error control: one near a probe, less far away.

    Open ground far from the building swings with the weather more than anything
    else, and nothing is judged there: it may be wrong by `FAR` times as much.
    """
    if not probes:
        return np.ones(network.nodes)
    nodes = np.array([probe.node for probe in probes], dtype=np.int64)
    distance = np.full(network.nodes, np.inf)
    for n in nodes:
        apart = np.hypot(network.node_x - network.node_x[n], network.node_y - network.node_y[n])
        distance = np.minimum(distance, apart)
    far = np.clip((distance - NEAR) / NEAR, 0.0, 1.0)
    return np.asarray(1.0 / (1.0 + (FAR - 1.0) * far))
