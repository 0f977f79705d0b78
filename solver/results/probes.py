"""The recorder: what the run reads off the state every hour and every field time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stemwall.solver.discretisation.mesh import MERGE
from stemwall.solver.discretisation.network import Network
from stemwall.solver.integration.system import State, System
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Probe

Corners = tuple[int, int, int, int]


@dataclass(frozen=True)
class PlacedProbe:
    """A probe; nodes and sub-control volumes at the corners of its cell, and their weights, which add up to one."""

    probe: Probe
    nodes: Corners
    scvs: Corners
    weights: tuple[float, float, float, float]

    @property
    def nearest(self) -> int:
        """The corner that counts most: the nearest."""
        return int(np.argmax(self.weights))

    @property
    def node(self) -> int:
        """The nearest node."""
        return self.nodes[self.nearest]

    @property
    def scv(self) -> int:
        """The nearest sub-control volume."""
        return self.scvs[self.nearest]


def place_probes(network: Network) -> tuple[PlacedProbe, ...]:
    """Cell of every probe of the section, and how its corners count.

    Raises
    ------
    SectionError
        For every probe that lies in no solid cell of its region.
    """
    placed, problems = [], []
    for probe in network.mesh.section.probes:
        try:
            placed.append(_place(network, probe))
        except SectionError as error:
            problems += error.problems
    if problems:
        raise SectionError(problems)
    return tuple(placed)


def _place(network: Network, probe: Probe) -> PlacedProbe:
    mesh = network.mesh
    found = mesh.cells_at(f"probe '{probe.name}'", probe.x, probe.y, probe.region)
    # on a line or a corner, cells agree on nodes; the first says whose water is meant
    j, i = found[0]
    u, v = _along(mesh.x_lines, int(i), probe.x), _along(mesh.y_lines, int(j), probe.y)
    weights = (1.0 - u) * (1.0 - v), u * (1.0 - v), u * v, (1.0 - u) * v
    nodes, scvs = network.corner_node[j, i].tolist(), network.corner_scv[j, i].tolist()
    return PlacedProbe(probe, tuple(nodes), tuple(scvs), weights)


def _along(lines: Floats, cell: int, at: float) -> float:
    """How far along a cell a place is, from 0 to 1; on a mesh line exactly so."""
    low, high = float(lines[cell]), float(lines[cell + 1])
    if at - low <= MERGE:
        return 0.0
    return 1.0 if high - at <= MERGE else (at - low) / (high - low)


class Reading(NamedTuple):
    """What is read of a state: temperature [degC], relative humidity [-], water and ice [kg/m3], at probes or in cells.

    Water of a content is liquid and ice together.  Humidity is relative to saturation over liquid water from 0 degC up,
    over ice below.
    """

    temperature: Floats
    relative_humidity: Floats
    water_content: Floats
    ice_content: Floats


class Recorder:
    """Reads probes and fields off a system that has just been evaluated at ``state``.

    Between the corners of its cell a probe reads what a bilinear function of the place says: unknowns are continuous
    there, and a cell is of one material.
    """

    def __init__(self, system: System, probes: tuple[PlacedProbe, ...]) -> None:
        self.system, self.probes = system, probes
        self._nodes = np.array([p.nodes for p in probes], dtype=np.int64).reshape(-1, 4)
        self._scvs = np.array([p.scvs for p in probes], dtype=np.int64).reshape(-1, 4)
        self._weights = np.array([p.weights for p in probes], dtype=float).reshape(-1, 4)
        self._solid = system.network.mesh.solid

    def series(self, state: State) -> Reading:
        """What the probes read, (probes,).

        Water under pressure has a humidity a little above one; one is what is recorded.
        """
        return Reading(
            self._between(state.temperature[self._nodes]),
            self._between(np.minimum(self.system.node_state[self._nodes, layout.RH], 1.0)),
            self._between(self.system.scv_state[self._scvs, layout.WATER]),
            self._between(self.system.ice_content(self._scvs)),
        )

    def _between(self, corners: Floats) -> Floats:
        return np.asarray((self._weights * corners).sum(axis=1))

    def fields(self, state: State) -> Reading:
        """Cell means, (ny, nx), NaN in openings."""
        network = self.system.network
        nodes, scvs = network.corner_node[self._solid], network.corner_scv[self._solid]
        return Reading(
            self._cells(state.temperature[nodes]),
            self._cells(np.minimum(self.system.node_state[nodes, layout.RH], 1.0)),
            self._cells(self.system.scv_state[scvs, layout.WATER]),
            self._cells(self.system.ice_content(scvs)),
        )

    def _cells(self, corners: Floats) -> Floats:
        field = np.full(self._solid.shape, np.nan)
        field[self._solid] = corners.mean(axis=1)
        return field
