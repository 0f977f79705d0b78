"""The bench: a section on given mesh lines under given loads, ready to march."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import spsolve

from stemwall.materials.material import Material
from stemwall.materials.tables import tabulate
from stemwall.solver.discretisation.air_paths import with_air_paths
from stemwall.solver.discretisation.mesh import mesh_on_lines
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.discretisation.network_builder import build_network, conducting
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT, HOLD_WATER
from stemwall.solver.integration.integrator import TimeIntegrator
from stemwall.solver.integration.system import State, System, potential_of_suction
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.air_path import AirPath
from stemwall.solver.model.section import Edge, Region, Section, Side
from stemwall.solver.model.settings import Accuracy
from stemwall.weather.moistair import saturation_pressure

Floats = NDArray[np.float64]
#: columns of a load row by name, e.g. {"air_temperature": 20.0, "film": 7.0}
Load = Mapping[str, float]
#: the same at many places: a number, or one value per place
PlaceLoad = Mapping[str, ArrayLike]
#: a number, or a function of node coordinates x, y [m]
Start = float | Callable[[Floats, Floats], Floats]

COLUMNS = {
    "air_temperature": layout.AIR_T,
    "air_vapour_pressure": layout.AIR_PV,
    "film": layout.FILM,
    "vapour_film": layout.BETA,
    "longwave": layout.LONGWAVE,
    "emissivity": layout.EMISSIVITY,
    "sun": layout.SUN,
    "supply": layout.AVAILABLE_WATER,
    "uptake": layout.UPTAKE_CONDUCTANCE,
    "held_suction": layout.PRESCRIBED_SUCTION,
    "drainage": layout.DRAIN,
    "water_level": layout.LEVEL,
    "water_temperature": layout.WATER_T,
    "water_film": layout.WATER_FILM,
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


def _inside(seconds: float, during: float) -> float:
    """The time, moved into the step by a hair: what jumps at an end has its value inside the step."""
    return seconds + 1e-9 * (during - seconds)


def _closed(seconds: float, surface: Surface) -> Load:
    return {}


class GivenLoads:
    """Load rows by a function from time [s] and surface to named columns; what is not named is zero."""

    def __init__(self, surfaces: Sequence[Surface], load: Callable[[float, Surface], Load]) -> None:
        self.surfaces, self.load = surfaces, load
        self._row = np.zeros((len(surfaces), layout.LOAD_COLUMNS))

    def at(self, seconds: float, during: float) -> Floats:
        """Rows at ``seconds``, or at ``during`` where the function jumps at the step's end."""
        self._row[:] = 0.0
        for k, surface in enumerate(self.surfaces):
            for name, value in self.load(_inside(seconds, during), surface).items():
                self._row[k, COLUMNS[name]] = value
        return self._row


class PlaceLoads:
    """Load rows by a function from time [s] and face coordinates x, y [m] to named columns."""

    def __init__(self, network: Network, load: Callable[[float, Floats, Floats], PlaceLoad]) -> None:
        self.x, self.y = network.node_x[network.face_node], network.node_y[network.face_node]
        self.load = load
        self._row = np.zeros((self.x.size, layout.LOAD_COLUMNS))

    def at(self, seconds: float, during: float) -> Floats:
        """Rows at ``seconds``, or at ``during`` where the function jumps at the step's end."""
        self._row[:] = 0.0
        for name, value in self.load(_inside(seconds, during), self.x, self.y).items():
            self._row[:, COLUMNS[name]] = value
        return self._row


def with_own_surfaces(network: Network) -> Network:
    """The network with a surface for every face, so that loads may vary along an edge."""
    surfaces = tuple(
        replace(network.surfaces[k], length=float(w))
        for k, w in zip(network.face_surface, network.face_width, strict=True)
    )
    return replace(network, face_surface=np.arange(len(surfaces)), surfaces=surfaces)


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
    load_at : callable
        In place of ``load``: load rows at a time [s] and the places x, y [m] of all faces.
    temperature, suction : array_like or callable
        Start state: a number, or a function of node coordinates x, y [m] to [degC], [Pa].
    accuracy : Accuracy
        Error control; steps may be as long as the accuracy allows.
    equal_steps : bool
        Take equal steps of ``accuracy.longest_step``.
    air_paths : sequence of AirPath
        Air that flows through the section at the rate of its first hour.
    freezing : bool
        Whether water freezes.
    """

    def __init__(
        self,
        section: Section,
        materials: Mapping[str, Material],
        x_lines: ArrayLike,
        y_lines: ArrayLike,
        load: Callable[[float, Surface], Load] | None = None,
        temperature: Start = 20.0,
        suction: Start = 1e8,
        accuracy: Accuracy | None = None,
        *,
        load_at: Callable[[float, Floats, Floats], PlaceLoad] | None = None,
        equal_steps: bool = False,
        air_paths: Sequence[AirPath] = (),
        freezing: bool = True,
    ) -> None:
        mesh = mesh_on_lines(section, np.asarray(x_lines, float), np.asarray(y_lines, float))
        placed = with_air_paths(build_network(mesh), air_paths, {})
        network = placed.network
        self.network = network = network if load_at is None else with_own_surfaces(network)
        self.system = System(network, tabulate(conducting(section, materials)), freezing=freezing)
        for path, links, signs in zip(placed.paths, placed.links, placed.signs, strict=True):
            self.system.link_flow[links] = path.at(0, 0.0, 0.0) * signs
        x, y = network.node_x, network.node_y
        t = temperature(x, y) if callable(temperature) else np.full(x.size, float(temperature))
        p = suction(x, y) if callable(suction) else np.full(x.size, float(suction))
        state = State(np.ascontiguousarray(t, dtype=float), potential_of_suction(p))
        loads = PlaceLoads(network, load_at) if load_at else GivenLoads(network.surfaces, load or _closed)
        self.integrator = TimeIntegrator(self.system, loads, state, accuracy or Accuracy(), equal_steps=equal_steps)
        self._held_at_start = self.system.storage.sum(axis=0)

    def run_to(self, seconds: float) -> None:
        """Integrate to a time [s]."""
        self.integrator.advance_to(seconds)

    @property
    def temperature(self) -> Floats:
        """Node temperatures [degC]."""
        return self.integrator.state.temperature

    @property
    def suction(self) -> Floats:
        """Node suctions [Pa]."""
        return np.asarray(self.system.node_state[:, layout.PC])

    @property
    def humidity(self) -> Floats:
        """Node relative humidities [-]."""
        return np.asarray(self.system.node_state[:, layout.RH])

    @property
    def heat_in(self) -> Floats:
        """Heat entering through each surface now [W per metre of section]."""
        return np.asarray(self.system.flows[:, 0])

    @property
    def entered(self) -> Floats:
        """Heat [J/m], vapour and liquid [kg/m] that entered through each surface so far."""
        return np.asarray(self.integrator.through[:, :3])

    def node_at(self, x: float, y: float) -> int:
        """Index of the node at or next to a point."""
        n = self.network
        return int(np.argmin(np.hypot(n.node_x - x, n.node_y - y)))

    def along_x(self, values: Floats, x: ArrayLike, y: float = 0.0) -> Floats:
        """Node values along the line y, interpolated at x [m]."""
        on = np.abs(self.network.node_y - y) < 1e-9
        order = np.argsort(self.network.node_x[on], kind="stable")
        at = np.asarray(x, dtype=float)
        return np.asarray(np.interp(at, self.network.node_x[on][order], values[on][order]))

    def along_y(self, values: Floats, y: ArrayLike, x: float = 0.0) -> Floats:
        """Node values along the line x, interpolated at y [m]."""
        on = np.abs(self.network.node_x - x) < 1e-9
        order = np.argsort(self.network.node_y[on], kind="stable")
        at = np.asarray(y, dtype=float)
        return np.asarray(np.interp(at, self.network.node_y[on][order], values[on][order]))

    def node_water(self) -> Floats:
        """Water content of the pores round each node [kg/m3], averaged over its parts."""
        n = self.network
        volume = np.bincount(n.scv_node, n.scv_volume, n.nodes)
        return np.asarray(self.system.storage[:, 1] / volume)

    def mean(self, values: Floats) -> float:
        """Mean of node values over the section, each node by its volume."""
        n = self.network
        return float(np.average(values, weights=np.bincount(n.scv_node, n.scv_volume, n.nodes)))

    def closure(self) -> Floats:
        """Imbalance of energy and water: storage by the state less start and inflow, as a share.

        Shares are of the largest sum of the amounts that flowed through the surfaces.
        """
        inflow = np.array([self.integrator.through[:, 0].sum(), self.integrator.through[:, 1:3].sum()])
        held = self.system.storage.sum(axis=0)
        moved = np.array([np.abs(self.integrator.through[:, 0]).sum(), np.abs(self.integrator.through[:, 1:3]).sum()])
        gap = held - self._held_at_start - inflow - self.integrator.injected
        return np.asarray(gap / np.maximum(moved, 1e-300))

    def water(self, region: int | None = None) -> float:
        """Water [kg per metre of section] in one region, or in all."""
        n = self.network
        held = n.scv_volume * self.system.scv_state[:, layout.WATER]
        return float(held.sum() if region is None else held[n.scv_region == region].sum())


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
    first: Side = "bottom" if upright else "left"
    last: Side = "top" if upright else "right"
    edges = [Edge(first, "climate", climate="left")] if left else []
    edges += [Edge(last, "climate", climate="right")] if right else []
    size = (depth, at) if upright else (at, depth)
    return Section(0.0, 0.0, *size, tuple(regions), edges=tuple(edges))


def steady_heat(bench: Bench) -> Bench:
    """Bring temperatures to the steady state of the present loads, potentials held; direct solution.

    Raises
    ------
    RuntimeError
        If Newton's iteration does not end.
    """
    system, march = bench.system, bench.integrator
    state, loads, none = (
        march.state,
        march.loads.at(march.time, march.time),
        np.zeros((bench.network.nodes, 2)),
    )
    for _ in range(20):
        system.evaluate(state)
        system.assemble(state, 0.0, none, loads, jacobian=True)
        matrix = csr_matrix((system.values[:, 0], system.indices, system.indptr)).tocsc()
        update = spsolve(matrix, -system.residual[:, 0])
        state.temperature += update
        if np.abs(update).max() < 1e-9:
            system.evaluate(state)
            system.assemble(state, 0.0, none, loads, jacobian=False)
            return bench
    raise RuntimeError("the steady temperatures were not reached in 20 iterations")
