"""What FiPy needs of the case: its mesh, the material state of its cells, and what its outer faces meet."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import fipy  # type: ignore[import-untyped]
import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.network import Network
from stemwall.solver.forcing.boundary_conditions import Loads
from stemwall.solver.integration.system import State, System
from stemwall.solver.kernels.support import layout
from stemwall.solver.run import Run

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: weight of a cubic metre of water [N/m3]
RHO_G = layout.RHO_W * layout.GRAVITY


class Cells:
    """Material state of all cells by the march's own evaluation, per cubic metre.

    To the system that evaluates, cells are nodes of unit volume that nothing joins.
    """

    def __init__(self, run: Run, material: Ints) -> None:
        n = material.size
        number, zeros = np.arange(n), np.zeros(n)
        none, nothing = np.zeros(0, dtype=np.int64), np.zeros(0)
        network = replace(
            run.system.network, node_x=zeros, node_y=zeros, scv_node=number, scv_material=material,
            scv_region=np.zeros_like(number), scv_volume=np.ones(n), surfaces=(),
            edge_a=none, edge_b=none, edge_shape=nothing, edge_rise=nothing,
            membrane_a=none, membrane_b=none, membrane_width=nothing, membrane_index=none, membrane_surface=none,
            membrane_film=np.zeros((0, 2)), face_scv=none, face_node=none, face_surface=none, face_width=nothing,
        )  # fmt: skip
        self.material, self.system = material, System(network, run.system.tables, freezing=False)
        self.node, self.part = self.system.node_state, self.system.scv_state
        self.storage, self.capacity = self.system.storage, self.system.capacity

    def evaluate(self, temperature: Floats, potential: Floats) -> None:
        """Fill the states."""
        self.system.evaluate(State(temperature, potential))

    @property
    def liquid(self) -> Floats:
        """Liquid conductivity [kg/(m s Pa)]."""
        return np.asarray(self.part[:, layout.CON] * self.node[:, layout.FM])


def grid(run: Run) -> Any:
    """FiPy's mesh of the solid cells: blocks of the tensor mesh, joined."""
    mesh = run.system.network.mesh
    dx, dy = np.diff(mesh.x_lines), np.diff(mesh.y_lines)
    joined = None
    row = 0
    while row < dy.size:
        # rows that are solid in the same columns form blocks
        last = row + 1
        while last < dy.size and np.array_equal(mesh.solid[last], mesh.solid[row]):
            last += 1
        ends = np.flatnonzero(np.diff(np.concatenate([[0], mesh.solid[row].astype(int), [0]])))
        for a, b in zip(ends[::2], ends[1::2], strict=True):
            corner = ((mesh.x_lines[a],), (mesh.y_lines[row],))
            block = fipy.Grid2D(dx=dx[a:b], dy=dy[row:last]) + corner
            joined = block if joined is None else joined + block
        row = last
    return joined


class Faces:
    """Films, sun, rain and drain at the faces of cells that meet a climate or an edge."""

    def __init__(self, run: Run, grid: Any, index: tuple[Ints, Ints]) -> None:
        self.loads: Loads = run.loads
        network = run.system.network
        face = np.flatnonzero(grid.exteriorFaces.value)
        cell = np.asarray(grid.faceCellIDs.filled(-1))[0, face]
        surface = _surface_of(network, index, face, cell, grid)
        met = surface >= 0
        self.cell, self.surface = cell[met], surface[met]
        centre, middle = np.asarray(grid.cellCenters.value), np.asarray(grid.faceCenters.value)
        self.half = np.hypot(*(middle[:, face[met]] - centre[:, self.cell]))
        self.share = np.asarray(grid._faceAreas)[face[met]] / np.asarray(grid.cellVolumes)[self.cell]

    def gains(self, t: float, during: float, cells: Cells, temperature: Floats, potential: Floats) -> Floats:
        """Gains of each cell and their slopes: q, q_T, q_y [W/m3 ...], m, m_T, m_y [kg/(m3 s) ...], (6, cells)."""
        row = self.loads.at(t, during)[self.surface].T
        c, node, part = self.cell, cells.node[self.cell], cells.part[self.cell]
        with np.errstate(divide="ignore"):
            film = 1.0 / (1.0 / row[layout.FILM] + self.half / part[:, layout.LAM])
            liquid = cells.liquid[c] * node[:, layout.PC_S] / -node[:, layout.PV_S]
            beta = 1.0 / (1.0 / row[layout.BETA] + self.half / (part[:, layout.VAP] + liquid))
        through = np.where(row[layout.FILM] > 0.0, film / np.maximum(row[layout.FILM], 1e-30), 0.0)
        t_cell = temperature[c]
        vapour = beta * (row[layout.AIR_PV] - node[:, layout.PV])
        rain = np.minimum(
            row[layout.AVAILABLE_WATER], row[layout.UPTAKE_CONDUCTANCE] * np.maximum(node[:, layout.TOTAL], 0.0)
        )
        drain = row[layout.DRAIN] * RHO_G * cells.liquid[c]
        heat = film * (row[layout.AIR_T] - t_cell) + through * row[layout.SUN]
        latent = layout.L_V + layout.C_V * t_cell
        latent = latent * through
        heat += latent * vapour + layout.C_W * (row[layout.AIR_T] * rain - t_cell * drain)
        v_t, v_y = -beta * node[:, layout.PV_T], -beta * node[:, layout.PV_S]
        columns = (heat, -film + latent * v_t, latent * v_y, vapour + rain - drain, v_t, v_y)
        return np.array([np.bincount(c, self.share * column, temperature.size) for column in columns])


#: a corner of a cell on each of its sides, by the direction in which the side looks
CORNER = {"down": 0, "up": 3, "left": 0, "right": 1}


def _surface_of(network: Network, index: tuple[Ints, Ints], face: Ints, cell: Ints, grid: Any) -> Ints:
    """Surface that each outer face meets, or -1 on closed edges."""
    known = {
        (int(part), network.surfaces[k].facing): int(k)
        for part, k in zip(network.face_scv, network.face_surface, strict=True)
    }
    apart = np.asarray(grid.faceCenters.value)[:, face] - np.asarray(grid.cellCenters.value)[:, cell]
    found = np.full(face.size, -1)
    for n, (c, (x, y)) in enumerate(zip(cell, apart.T, strict=True)):
        facing = ("left" if x < 0 else "right") if abs(x) > abs(y) else ("down" if y < 0 else "up")
        part = int(network.corner_scv[index[0][c], index[1][c], CORNER[facing]])
        found[n] = known.get((part, facing), -1)
    return found
