"""One run: from a section, its materials and its climates to a result file."""

from __future__ import annotations

import time as clock
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from stemwall.materials.material import Material
from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.system import System
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.ground import Ground
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import YEAR, Accuracy, MeshRule, Output, SpinUp, StartState
from stemwall.solver.results.result_file import ResultWriter
from stemwall.solver.results.wood_piece import Pieces
from stemwall.solver.run import Run, prepare
from stemwall.solver.spin_up import settle, settling_attributes


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
        See `run.prepare` and `TimeIntegrator.advance_to`.
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
