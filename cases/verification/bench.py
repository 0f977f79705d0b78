"""The bench: a section on given mesh lines under given loads, and comparisons with a reference."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver import balance_kernels as kernels
from stemwall.solver.loads import HOLD_HEAT, HOLD_WATER
from stemwall.solver.marching import March
from stemwall.solver.mesh import mesh_on_lines
from stemwall.solver.network import Surface, build_network
from stemwall.solver.section import Edge, Region, Section
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import State, System, potential_of_suction
from stemwall.weather.moistair import saturation_pressure

Floats = NDArray[np.float64]
#: columns of a load row by name, e.g. {"air_temperature": 20.0, "film": 7.0}
Load = Mapping[str, float]

COLUMNS = {
    "air_temperature": kernels.AIR_T,
    "air_vapour_pressure": kernels.AIR_PV,
    "film": kernels.FILM,
    "vapour_film": kernels.BETA,
    "longwave": kernels.LONGWAVE,
    "emissivity": kernels.EMISSIVITY,
    "sun": kernels.SUN,
    "supply": kernels.SUPPLY,
    "uptake": kernels.UPTAKE,
    "held_suction": kernels.HELD_PC,
    "drainage": kernels.DRAIN,
}


def held_temperature(value: float) -> dict[str, float]:
    """Load that holds a surface at a temperature [degC]."""
    return {"air_temperature": value, "film": HOLD_HEAT}


def held_suction(value: float, conductance: float = HOLD_WATER) -> dict[str, float]:
    """Load that holds a surface at a suction [Pa]."""
    return {"supply": 1e33, "uptake": conductance, "held_suction": value}


def air(temperature: float, humidity: float, film: float, vapour_film: float) -> dict[str, float]:
    """Load of air at a temperature [degC] and relative humidity [-] behind films [W/(m2 K)], [s/m]."""
    pressure = humidity * float(saturation_pressure(temperature))
    return {
        "air_temperature": temperature,
        "air_vapour_pressure": pressure,
        "film": film,
        "vapour_film": vapour_film,
    }


class GivenLoads:
    """Load rows by a function from time [s] and surface to named columns; what is not named is zero."""

    def __init__(self, surfaces: Sequence[Surface], load: Callable[[float, Surface], Load]) -> None:
        self.surfaces, self.load = surfaces, load
        self._row = np.zeros((len(surfaces), kernels.LOAD_COLUMNS))

    def at(self, seconds: float) -> Floats:
        self._row[:] = 0.0
        for k, surface in enumerate(self.surfaces):
            for name, value in self.load(seconds, surface).items():
                self._row[k, COLUMNS[name]] = value
        return self._row


class Bench:
    """A section ready to march on mesh lines that are given.

    Parameters
    ----------
    section : Section
    materials : mapping of str to Material
    x_lines, y_lines : array_like
        Mesh lines [m].
    load : callable
        Load row of a surface at a time [s].
    temperature, suction : array_like or callable
        Start state: a number, or a function of node coordinates x, y [m] to [degC], [Pa].
    accuracy : Accuracy
        Error control; steps may be as long as the accuracy allows.
    """

    def __init__(
        self,
        section: Section,
        materials: Mapping[str, Material],
        x_lines: ArrayLike,
        y_lines: ArrayLike,
        load: Callable[[float, Surface], Load],
        temperature: float | Callable[[Floats, Floats], Floats] = 20.0,
        suction: float | Callable[[Floats, Floats], Floats] = 1e8,
        accuracy: Accuracy | None = None,
    ) -> None:
        mesh = mesh_on_lines(section, np.asarray(x_lines, float), np.asarray(y_lines, float))
        self.network = network = build_network(mesh)
        self.system = System(network, tabulate([materials[key] for key in section.materials]))
        x, y = network.node_x, network.node_y
        t = temperature(x, y) if callable(temperature) else np.full(x.size, float(temperature))
        p = suction(x, y) if callable(suction) else np.full(x.size, float(suction))
        state = State(np.ascontiguousarray(t, dtype=float), potential_of_suction(p))
        loads = GivenLoads(network.surfaces, load)
        self.march = March(self.system, loads, state, accuracy or Accuracy())

    def run_to(self, seconds: float) -> None:
        """March to a time [s]."""
        self.march.advance_to(seconds)

    @property
    def temperature(self) -> Floats:
        """Node temperatures [degC]."""
        return self.march.state.temperature

    @property
    def suction(self) -> Floats:
        """Node suctions [Pa]."""
        return np.asarray(self.system.node_state[:, kernels.PC])

    @property
    def humidity(self) -> Floats:
        """Node relative humidities [-]."""
        return np.asarray(self.system.node_state[:, kernels.RH])

    def nodes_at(self, x: float, y: float) -> int:
        """Index of the node at or next to a point."""
        n = self.network
        return int(np.argmin(np.hypot(n.node_x - x, n.node_y - y)))

    def along_x(self, values: Floats, x: ArrayLike, y: float = 0.0) -> Floats:
        """Node values along the line y, interpolated at x [m]."""
        on = np.abs(self.network.node_y - y) < 1e-9
        order = np.argsort(self.network.node_x[on], kind="stable")
        return np.interp(x, self.network.node_x[on][order], values[on][order])

    def water(self, region: int | None = None) -> float:
        """Water [kg per metre of section] in one region, or in all."""
        n = self.network
        held = n.part_volume * self.system.part_state[:, kernels.WATER]
        return float(held.sum() if region is None else held[n.part_region == region].sum())


def bar(
    layers: Sequence[tuple[str, float]],
    *,
    left: bool = True,
    right: bool = True,
    upright: bool = False,
    depth: float = 0.1,
) -> Section:
    """Section of a one-dimensional bar: layers (material, thickness [m]) from x = 0, or upwards from y = 0.

    ``left`` and ``right`` open the two ends (bottom and top if ``upright``) to
    climates of these names; the flanks are closed.
    """
    regions, at = [], 0.0
    for k, (material, thickness) in enumerate(layers):
        box = (0.0, at, depth, at + thickness) if upright else (at, 0.0, at + thickness, depth)
        regions.append(Region(f"layer {k + 1}", material, *box))
        at += thickness
    first, last = ("bottom", "top") if upright else ("left", "right")
    edges = [Edge(first, "climate", climate="left")] if left else []
    edges += [Edge(last, "climate", climate="right")] if right else []
    size = (depth, at) if upright else (at, depth)
    return Section(0.0, 0.0, *size, tuple(regions), edges=tuple(edges))


@dataclass(frozen=True)
class Comparison:
    """What was computed against what is expected, at labelled points.

    ``error`` is the norm named by ``norm``; the case holds if it is at most ``limit``.
    """

    name: str
    source: str
    quantity: str
    points: Floats
    computed: Floats
    expected: Floats
    limit: float
    norm: str = "largest difference"
    note: str = ""
    extra: Mapping[str, float] = field(default_factory=dict)

    @property
    def error(self) -> float:
        difference = np.abs(self.computed - self.expected)
        if self.norm == "largest relative difference":
            difference = difference / np.abs(self.expected)
        return float(np.max(difference))

    @property
    def holds(self) -> bool:
        return bool(self.error <= self.limit)
