"""One run: from a section, its materials and its climates to a result file."""

from __future__ import annotations

import time as clock
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network, build_network, conducting
from stemwall.solver.forcing.air_paths import with_air_paths, with_lines
from stemwall.solver.forcing.air_zones import ZonedNetwork, air, with_zones
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.forcing.canopy import Plants, soil_parts
from stemwall.solver.forcing.flood import with_floods
from stemwall.solver.forcing.hourly import Environment, HourlyActions, zone_start
from stemwall.solver.forcing.initial_state import start_state
from stemwall.solver.forcing.leaks import with_leaks
from stemwall.solver.integration.integrator import HOUR, TimeIntegrator
from stemwall.solver.integration.system import System
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.ground import Ground
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import YEAR, Accuracy, MeshRule, Output, SpinUp, StartState
from stemwall.solver.results.probes import PlacedProbe, Recorder, place_probes
from stemwall.solver.results.result_file import ResultWriter
from stemwall.solver.results.wood_piece import Pieces
from stemwall.solver.spin_up import settle, settling_attributes

Floats = NDArray[np.float64]

#: distance from a probe within which the wanted errors hold in full [m]
NEAR = 1.0
#: factor on the wanted errors at twice that distance and beyond [-]
FAR = 4.0


@dataclass(frozen=True)
class Progress:
    """How far a run is: simulated time, hours done of all, seconds spent, steps taken.

    ``settling`` is the year before the record that is marched, 0 within the record.
    """

    date: datetime
    hour: int
    hours: int
    elapsed: float
    steps: int
    settling: int = 0


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
    plants = Plants(system, climates, soil_parts(network, used), absorptance, emissivity)
    actions = HourlyActions(system, loads, zoned, climates, leaks, air_paths, environment.floods, plants)
    state = start_state(network, used, ground=ground, settings=start_settings, start=start)
    zone_start(state, zoned)
    integrator = TimeIntegrator(system, loads, state, accuracy, importance(network, probes))
    recorder = Recorder(system, probes)
    return Run(system, loads, integrator, recorder, used, climates, zoned, actions, start, hours)


def simulate(
    section: Section,
    materials: Mapping[str, Material],
    climates: Mapping[str, Climate],
    *,
    start: datetime,
    hours: int,
    ground: Ground,
    path: Path,
    start_state: StartState | None = None,
    accuracy: Accuracy | None = None,
    mesh: MeshRule | None = None,
    output: Output | None = None,
    case_text: str = "",
    title: str = "",
    provenance: Mapping[str, str] | None = None,
    progress: Callable[[Progress], None] | None = None,
    environment: Environment | None = None,
    spin_up: SpinUp | None = None,
) -> Path:
    """Run a section through its climates and write one result file.

    Parameters
    ----------
    section, materials, climates
        What is drawn; a material for every key in ``section.materials``, a climate
        (at least ``hours`` long) for every key in ``section.climates``.
    start : datetime
        Start of the first hour, local standard time.
    hours : int
        Length of the run [h].
    ground : Ground
        Undisturbed ground temperature.
    path : Path
        Result file.
    case_text, title, provenance
        Kept in the file: the case as written, its name, and further attributes.
    progress : callable, optional
        Called about ten times a second.
    environment : Environment, optional
        Air zones and water sources; a zone's key takes the place of a climate.
    spin_up : SpinUp, optional
        Repeat the first year before the record; ``hours`` must then be a year at least.

    Raises
    ------
    SectionError, SolverError
        See `prepare` and `TimeIntegrator.advance_to`.
    ValueError
        If there is no whole year to repeat.
    PlaceError
        If nothing can be written at ``path``; before anything is computed.
    OutputError
        If the result cannot be written.
    KeyboardInterrupt
        Raised again after what had been computed was written beside ``path``, see `ResultWriter`;
        while settling, nothing is.
    """
    if spin_up and hours < YEAR:
        raise ValueError(f"a run of {hours} h has no whole year to repeat before it")
    with ResultWriter(path) as writer:
        with writer.interrupts.let_through():
            run = prepare(
                section, materials, climates, start=start, hours=hours, ground=ground,
                start_settings=start_state or StartState(), accuracy=accuracy or Accuracy(), mesh=mesh or MeshRule(),
                environment=environment,
            )  # fmt: skip
            attributes: dict[str, Any] = {"title": title, "case": case_text, **dict(provenance or {})}
            if spin_up:
                attributes |= settling_attributes(spin_up, settle(run, spin_up, _settling(run, progress)))
        spaces = [*climates, *(zone.key for zone in run.zoned.zones)]
        writer.define(run.system, run.materials, run.recorder.probes, spaces, run.actions.sources, attributes, start)
        march_through(run, writer, output or Output(), progress)
    return path


def _settling(run: Run, progress: Callable[[Progress], None] | None) -> Callable[[int, int], None]:
    """Return what tells ``progress`` of the years before the record, ten times a second."""
    begun = told = clock.perf_counter()

    def tell(year: int, hour: int) -> None:
        nonlocal told
        now = clock.perf_counter()
        if progress and (now - told > 0.1 or hour == YEAR):
            told = now
            date = run.start + timedelta(hours=hour)
            done = (year - 1) * YEAR + hour
            progress(Progress(date, hour, YEAR, (now - begun) * hour / done, run.integrator.statistics.steps, year))

    return tell


def march_through(run: Run, writer: ResultWriter, output: Output, progress: Callable[[Progress], None] | None) -> None:
    """Integrate a prepared run hour by hour and record it."""
    begun = told = clock.perf_counter()
    integrator, system = run.integrator, run.system
    ledger = _Ledger(run)
    field_hours = _field_hours(run, output)
    if 0 in field_hours:
        writer.fields(0.0, run.recorder.fields(integrator.state))
    try:
        with writer.interrupts.let_through():
            for hour in range(run.hours):
                run.actions.before(hour, integrator.state)
                integrator.advance_to((hour + 1) * HOUR)
                writer.hour(hour + 1.0, ledger.row(hour))
                if hour + 1 in field_hours:
                    writer.fields(hour + 1.0, run.recorder.fields(integrator.state))
                now = clock.perf_counter()
                if progress and (now - told > 0.1 or hour + 1 == run.hours):
                    told = now
                    date = run.start + timedelta(hours=hour + 1)
                    progress(Progress(date, hour + 1, run.hours, now - begun, integrator.statistics.steps))
    finally:
        writer.finish(integrator.statistics, ledger.summary(clock.perf_counter() - begun, system))


class _Ledger:
    """Hourly rows of everything recorded, and the balance since the start."""

    def __init__(self, run: Run) -> None:
        self.run = run
        self.pieces = Pieces(run.system.network, run.recorder.probes)
        self.through = np.zeros_like(run.integrator.through)
        self.start = run.integrator.conserved.sum(axis=0)
        self.turnover = np.zeros(2)
        self.outer = ~run.zoned.inner
        self.worst = np.zeros(2)

    def row(self, hour: int) -> dict[str, Any]:
        """Everything recorded at the end of an hour."""
        run, integrator, system = self.run, self.run.integrator, self.run.system
        flow = (integrator.through - self.through) / HOUR
        self.through = integrator.through.copy()
        reading = run.recorder.series(integrator.state)
        stored = system.storage.sum(axis=0)
        closure = stored - self.start - _entered(integrator.through[self.outer]) - integrator.injected
        outer = np.abs(flow[self.outer])
        self.turnover += np.array([outer[:, 0].sum(), outer[:, 1:3].sum()]) * HOUR
        self.worst = np.maximum(self.worst, np.abs(closure))
        climates = list(run.climates.values())
        zones = list(run.zoned.nodes)
        air_t = [c.temperature[hour] for c in climates] + list(integrator.state.temperature[zones])
        in_zones = np.minimum(system.node_state[zones, layout.RH], 1.0)
        air_rh = [c.relative_humidity[hour] for c in climates] + list(in_zones)
        return {
            "probe_temperature": reading.temperature,
            "probe_relative_humidity": reading.relative_humidity,
            "probe_water_content": reading.water_content,
            "probe_ice_content": reading.ice_content,
            "piece_water_content": self.pieces.mean(system.scv_state[:, layout.WATER]),
            "heat_flow": flow[:, 0],
            "vapour_flow": flow[:, 1],
            "liquid_flow": flow[:, 2],
            "water_refused": flow[:, 3],
            "heat_with_water": flow[:, 4],
            "source_heat": run.actions.given[:, 0].copy(),
            "source_water": run.actions.given[:, 1].copy(),
            "climate_temperature": np.array(air_t),
            "climate_relative_humidity": np.array(air_rh),
            "stored_water": stored[1],
            "stored_heat": stored[0],
            "water_closure": closure[1],
            "heat_closure": closure[0],
        }

    def summary(self, seconds: float, system: System) -> dict[str, float | str]:
        """Closure as a share of all that flowed, and what the run cost."""
        relative = self.worst / np.maximum(self.turnover, 1e-300)
        return {
            "balance_heat_relative": float(relative[0]),
            "balance_water_relative": float(relative[1]),
            "balance_note": "largest closure error at any hour over the sum of absolute hourly flows of the run",
            "stored_heat_at_start": float(self.start[0]),
            "stored_water_at_start": float(self.start[1]),
            "cells": system.network.mesh.cells,
            "nodes": system.network.nodes,
            "computing_seconds": float(seconds),
        }


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


def _entered(through: Floats) -> Floats:
    """Heat [J/m] and water [kg/m] that entered through all surfaces."""
    return np.array([through[:, 0].sum(), through[:, 1].sum() + through[:, 2].sum()])


def _field_hours(run: Run, output: Output) -> set[int]:
    """Hours at which fields are kept: the cadence, and the coldest and warmest day of the last year."""
    kept = set(range(0, run.hours + 1, output.field_hours)) | {run.hours}
    for climate in run.climates.values():
        if climate.key == "outdoors":
            last = max(0, run.hours - 8760)
            daily = np.convolve(climate.temperature[last : run.hours], np.full(24, 1 / 24), mode="valid")
            if daily.size:
                kept |= {last + int(daily.argmin()) + 24, last + int(daily.argmax()) + 24}
    return {hour for hour in kept if hour <= run.hours}


def radiative(network: Network, materials: tuple[Material, ...]) -> tuple[Floats, Floats]:
    """Solar absorptance and emissivity of every surface."""
    section = network.mesh.section
    absorptance, emissivity = np.zeros(len(network.surfaces)), np.zeros(len(network.surfaces))
    for k, surface in enumerate(network.surfaces):
        if surface.region < 0:
            continue
        own = materials[section.materials.index(section.regions[surface.region].material)].surface
        source = surface.finish or own
        absorptance[k], emissivity[k] = source.absorptance, source.emissivity
    return absorptance, emissivity
