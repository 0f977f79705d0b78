"""The case that all peers solve: the corner of a basement in wet weather, without frost.

Soil, a concrete wall on a footing, insulation on its inside and a floor slab; heat, vapour and liquid
water with gravity; outdoors rain, sun and a daily wave; the bottom drains freely.  Everybody starts from
the same state, some days after the start of the run, when what does not matter has died away.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.materials import Material, catalogue
from stemwall.solver.integration.integrator import HOUR, TimeIntegrator
from stemwall.solver.integration.system import State
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.climate import FACINGS, Climate, FacingLoads, indoor
from stemwall.solver.model.section import Edge, Opening, Probe, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule, StartState
from stemwall.solver.run import Run, importance, prepare
from stemwall.weather.ground import GroundWave

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: hours before the comparison begins
WARM_UP = 120
#: right edge of the soil, outer and inner face of the wall, face of the insulation, end of the section [m]
SOIL, WALL, INSULATION, FACE, END = 0.0, 2.0, 2.2, 2.25, 3.25
#: underside of the soil, of the footing and of the slab, top of the slab, grade, end of the wall [m]
BOTTOM, FOOTING, SLAB, FLOOR, GRADE, TOP = -2.6, -1.8, -1.6, -1.5, 0.0, 0.3


@dataclass(frozen=True)
class Size:
    """How large the comparison is: mesh rule and hours compared."""

    mesh: MeshRule
    hours: int


FULL = Size(MeshRule(finest=0.010, growth=1.5, coarsest=0.30, layer_cells=4), 240)
TINY = Size(MeshRule(finest=0.040, growth=2.0, coarsest=0.60, layer_cells=2), 3)


def section() -> Section:
    """What is drawn."""
    return Section(
        SOIL, BOTTOM, END, TOP,
        items=(
            Region("soil", "soil_loam", SOIL, BOTTOM, END, GRADE),
            Region("slab", "concrete_wc050", WALL, SLAB, END, FLOOR),
            Region("footing", "concrete_wc050", WALL - 0.2, FOOTING, FACE + 0.15, SLAB),
            Region("wall", "concrete_wc050", WALL, SLAB, INSULATION, TOP),
            Region("insulation", "eps_ii", INSULATION, FLOOR, FACE, TOP, initial_rh=0.6),
            Opening("outside", "outdoors", SOIL, GRADE, WALL, TOP),
            Opening("room", "room", FACE, FLOOR, END, TOP),
        ),
        edges=(Edge("bottom", "closed", "drainage"),),
        probes=(
            Probe("ground surface", 1.5, GRADE, "soil"),
            Probe("wall outside, above grade", WALL, 0.1, "wall"),
            Probe("wall outside, at grade", WALL, GRADE, "wall"),
            Probe("wall outside, 0.3 m deep", WALL, -0.3, "wall"),
            Probe("wall outside, 1.0 m deep", WALL, -1.0, "wall"),
            Probe("wall behind the insulation, high", INSULATION, -0.2, "wall"),
            Probe("wall behind the insulation, low", INSULATION, -1.2, "wall"),
            Probe("face of the insulation", FACE, -0.7, "insulation"),
            Probe("floor", 2.8, FLOOR, "slab"),
            Probe("under the footing", 2.1, FOOTING, "footing"),
        ),
    )  # fmt: skip


def materials() -> dict[str, Material]:
    """Materials of the section."""
    known = catalogue()
    found = {key: known[key] for key in section().materials}
    return {key: material for key, material in found.items() if isinstance(material, Material)}


def climates(hours: int) -> dict[str, Climate]:
    """Made-up weather of early autumn, above freezing, and a room, for some hours."""
    h = np.arange(hours) + 0.5
    none = np.zeros(hours)
    day = np.cos(2 * np.pi * (h - 15.0) / 24.0)
    slow = np.sin(2 * np.pi * h / 97.0)
    temperature = 9.0 + 4.0 * day + 3.0 * slow
    humidity = np.clip(0.80 - 0.12 * day + 0.06 * slow, 0.4, 0.97)
    sun = 350.0 * np.maximum(np.cos(2 * np.pi * (h - 12.0) / 24.0), 0.0) * (slow < 0.5)
    rain = np.where((h % 61.0 < 5.0) | (h % 43.0 < 2.0), 2.0 / 3600.0, 0.0) * (1 + (h % 7 > 3)) / 2
    up = FacingLoads(none + 14.0, none + 4.5, none, sun, rain)
    upright = FacingLoads(none + 14.0, none + 4.5, none, none, none)
    facings = {facing: up if facing == "up" else upright for facing in FACINGS}
    room = indoor("room", 20.0 + 0.5 * day, 0.45 + 0.05 * slow)
    return {"outdoors": Climate("outdoors", temperature, humidity, facings), "room": room}


def ready(size: Size, factor: float = 1.0, start: State | None = None) -> Run:
    """The case made ready to march, at the default accuracy times a factor, from its own or a given state."""
    base = Accuracy()
    accuracy = Accuracy(
        base.temperature * factor, base.humidity * factor, base.saturation * factor, base.pressure * factor,
        resolved=base.resolved * factor,
    )  # fmt: skip
    hours = WARM_UP + size.hours
    run = prepare(
        section(), materials(), climates(hours), start=datetime(2001, 10, 1), hours=hours,
        ground=GroundWave(10.0, 6.0, 30.0), start_settings=StartState(), accuracy=accuracy, mesh=size.mesh,
    )  # fmt: skip
    return run if start is None else _moved(run, start, accuracy)


def _moved(run: Run, start: State, accuracy: Accuracy) -> Run:
    """The run at the end of the warm-up, in a given state."""
    march = TimeIntegrator(run.system, run.loads, start, accuracy, importance(run.system.network, run.recorder.probes))
    march.time = WARM_UP * HOUR
    return replace(run, integrator=march)


@dataclass(frozen=True)
class Answer:
    """Temperature [degC] and relative humidity [-] of the probes at the ends of hours, and what they cost.

    ``seconds`` is processor time; ``counts`` what was done, by name.
    """

    temperature: Floats
    humidity: Floats
    seconds: float
    counts: Mapping[str, float] = field(default_factory=dict)

    @property
    def hours(self) -> int:
        return int(self.temperature.shape[0])


def distance(answer: Answer, reference: Answer) -> tuple[float, float]:
    """Largest differences at all probes and hours that both have: temperature [K], humidity [%]."""
    n = min(answer.hours, reference.hours)
    dt = np.abs(answer.temperature[:n] - reference.temperature[:n]).max()
    drh = np.abs(answer.humidity[:n] - reference.humidity[:n]).max()
    return float(dt), 100.0 * float(drh)


def march(run: Run, first: int, hours: int, nodes: Ints | None = None) -> Answer:
    """Integrate a run hour by hour and read the probes, or means over groups of nodes (probes, group)."""
    temperature, humidity = [], []
    read = np.array([[placed.node] for placed in run.recorder.probes]) if nodes is None else nodes
    begun = time.process_time()
    for hour in range(first, first + hours):
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * HOUR)
        temperature.append(run.integrator.state.temperature[read])
        humidity.append(run.system.node_state[read, layout.RH])
    seconds = time.process_time() - begun
    effort = run.integrator.statistics
    counts = {
        "steps": effort.steps,
        "updates": effort.updates,
        "matrices": effort.jacobians,
        "linear": effort.linear_iterations,
    }
    whole = np.array(temperature).mean(axis=2), np.minimum(humidity, 1.0).mean(axis=2)
    return Answer(*whole, seconds, counts)


def probe_cells(run: Run) -> tuple[Ints, Ints]:
    """Row and column of the cell of its region that is nearest to each probe."""
    mesh = run.system.network.mesh
    names = [region.name for region in mesh.section.regions]
    rows, columns = [], []
    for placed in run.recorder.probes:
        probe = placed.probe
        assert probe.region is not None
        away = np.hypot(mesh.x_centres[None, :] - probe.x, mesh.y_centres[:, None] - probe.y)
        away[mesh.region != names.index(probe.region)] = np.inf
        row, column = np.unravel_index(int(np.argmin(away)), away.shape)
        rows.append(int(row))
        columns.append(int(column))
    return np.array(rows), np.array(columns)


def start_state(size: Size) -> State:
    """State at the end of the warm-up, by a fine march."""
    run = ready(size, 0.1)
    march(run, 0, WARM_UP)
    return run.integrator.state.copy()
