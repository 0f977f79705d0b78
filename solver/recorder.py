"""The recorder: what the run reads off the state every hour and every field time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import layout
from stemwall.solver.errors import SectionError
from stemwall.solver.mesh import MERGE
from stemwall.solver.network import Network
from stemwall.solver.section import Probe
from stemwall.solver.system import State, System

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PlacedProbe:
    """A probe and the node and part that it reads."""

    probe: Probe
    node: int
    part: int


def place_probes(network: Network) -> tuple[PlacedProbe, ...]:
    """Node and part of every probe of the section.

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
    names = [region.name for region in mesh.section.regions]
    cells = mesh.solid
    if probe.region is not None:
        if probe.region not in names:
            raise SectionError([f"probe '{probe.name}': no region is named '{probe.region}'"])
        cells = mesh.region == names.index(probe.region)
    inside_x = (mesh.x_lines[:-1] <= probe.x + MERGE) & (probe.x - MERGE <= mesh.x_lines[1:])
    inside_y = (mesh.y_lines[:-1] <= probe.y + MERGE) & (probe.y - MERGE <= mesh.y_lines[1:])
    found = np.argwhere(cells & inside_y[:, None] & inside_x[None, :])
    if found.size == 0:
        where = f"region '{probe.region}'" if probe.region else "a solid"
        raise SectionError(
            [f"probe '{probe.name}': x = {probe.x:.4g} m, y = {probe.y:.4g} m is not in {where}"]
        )
    nodes = np.concatenate([network.corner_node[j, i] for j, i in found])
    parts = np.concatenate([network.corner_part[j, i] for j, i in found])
    distance = np.hypot(network.node_x[nodes] - probe.x, network.node_y[nodes] - probe.y)
    nearest = int(np.argmin(np.round(distance, 9)))
    return PlacedProbe(probe, int(nodes[nearest]), int(parts[nearest]))


class Recorder:
    """Reads probes and fields off a system that has just been evaluated at ``state``."""

    def __init__(self, system: System, probes: tuple[PlacedProbe, ...]) -> None:
        self.system, self.probes = system, probes
        self._nodes = np.array([p.node for p in probes], dtype=np.int64)
        self._parts = np.array([p.part for p in probes], dtype=np.int64)
        self._solid = system.network.mesh.solid

    def series(self, state: State) -> tuple[Floats, Floats, Floats]:
        """Temperature [degC], relative humidity [-] and water content [kg/m3] at the probes.

        Water under pressure has a humidity a little above one; one is what is recorded.
        """
        return (
            state.temperature[self._nodes],
            np.minimum(self.system.node_state[self._nodes, layout.RH], 1.0),
            self.system.part_state[self._parts, layout.WATER],
        )

    def fields(self, state: State) -> tuple[Floats, Floats, Floats]:
        """Cell means of temperature, relative humidity and water content, (ny, nx), NaN in openings."""
        network = self.system.network
        nodes, parts = network.corner_node[self._solid], network.corner_part[self._solid]
        return (
            self._cells(state.temperature[nodes]),
            self._cells(np.minimum(self.system.node_state[nodes, layout.RH], 1.0)),
            self._cells(self.system.part_state[parts, layout.WATER]),
        )

    def _cells(self, corners: Floats) -> Floats:
        field = np.full(self._solid.shape, np.nan)
        field[self._solid] = corners.mean(axis=1)
        return field
