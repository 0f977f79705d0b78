"""The system: a network filled with material tables, ready to be evaluated and solved.

Holds every array that the kernels need and the sparsity of the Jacobian; the
time marching sees only states, loads, residuals and solutions.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.tables import MaterialTables
from stemwall.solver import balance_kernels as kernels
from stemwall.solver import krylov_kernels as krylov
from stemwall.solver.network import Network
from stemwall.solver.section import Membrane

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: liquid conductance of a membrane that lets liquid through [kg/(m2 s Pa)]; large
#: against any neighbouring material, so that it joins and does not throttle
OPEN_CONTACT = 1e-5
#: least thermal resistance of a membrane [m2 K/W]
LEAST_RESISTANCE = 1e-4


@dataclass
class State:
    """Temperature [degC] and stretched potential [-] of every node, shapes (N,)."""

    temperature: Floats
    potential: Floats

    def copy(self) -> State:
        return State(self.temperature.copy(), self.potential.copy())


def potential_of_suction(suction: NDArray[np.float64] | float) -> Floats:
    """Stretched potential [-] of a suction [Pa]; see `balance_kernels`."""
    p = np.asarray(suction, dtype=float)
    humidity = np.maximum(np.exp(-np.maximum(p, 0.0) / kernels.RT_REFERENCE), kernels.DRIEST)
    dry = kernels.Y1 + (kernels.RH1 - humidity) / kernels.D1
    wet = np.where(p < 0.0, p / kernels.P0, np.arcsinh(p / kernels.P0))
    return np.asarray(np.where(p > kernels.P1, dry, wet))


class System:
    """Network, material tables and Jacobian structure with their work arrays.

    Attributes
    ----------
    storage : Floats
        Enthalpy [J/m] and water [kg/m] of each node at the last `evaluate`, (N, 2).
    capacity : Floats
        dH/dT, dH/ds, dw/ds at the last `evaluate`, (N, 3).
    inflow, residual, flows : Floats
        Net inflow and balance residual of each node (N, 2), and surface flows
        (surfaces, 4), at the last `assemble`.
    """

    def __init__(self, network: Network, tables: MaterialTables, *, freezing: bool = True) -> None:
        self.network, self.tables, self.freezing = network, tables, freezing
        # interleaved by column: what a part asks for lies in two cache lines
        columns = (tables.water, tables.flux_potential, tables.vapour, tables.conductivity, tables.frozen_conductivity)
        self._table = np.ascontiguousarray(np.stack(columns, axis=2))
        self._factor = np.ascontiguousarray(tables.temperature_factor[:, :, None, :])
        self._varies = np.any(tables.temperature_factor[:, :, 0] != 1.0, axis=1)
        self._full = water_at_saturation(tables)
        count, parts = network.nodes, network.part_node.size
        self.node_state = np.zeros((count, kernels.NODE_COLUMNS))
        self.part_state = np.zeros((parts, kernels.PART_COLUMNS))
        self.storage, self.capacity = np.zeros((count, 2)), np.zeros((count, 3))
        self.inflow, self.residual = np.zeros((count, 2)), np.zeros((count, 2))
        self.flows = np.zeros((len(network.surfaces), 4))
        self.source = np.zeros((count, 2))
        self.controls = np.zeros((0, 7))
        self.sheet_data = self._sheet_data()
        self.face_data = self._face_data()
        self._build_pattern()
        self.values = np.zeros((self.indices.size, 4))
        self.factors = np.zeros_like(self.values)
        self._position = np.full(count, -1, dtype=np.int64)
        self._work = np.zeros((7, count, 2))
        self.saturation = self._saturation()

    def evaluate(self, state: State) -> None:
        """Material state, storage and capacity at a state."""
        n, t = self.network, self.tables
        kernels.evaluate(
            state.temperature, state.potential, n.part_node, n.part_material, n.part_volume,
            t.s0, t.ds, self._table, t.t0, t.dt, self._factor, self._varies, t.heat_capacity, t.vapour_exponent,
            t.has_liquid, self._full, self.freezing,
            self.node_state, self.part_state, self.storage, self.capacity,
        )  # fmt: skip

    def assemble(
        self, state: State, rate: float, history: Floats, loads: Floats, *, jacobian: bool
    ) -> None:
        """Residual, surface flows and, if asked, the Jacobian; call `evaluate` first."""
        n, t = self.network, self.tables
        kernels.assemble(
            state.temperature, rate, history, self.source, self.storage, self.capacity,
            self.node_state, self.part_state, n.part_node, n.part_material,
            n.path_a, n.path_b, n.path_shape, n.path_rise, t.has_liquid, t.viscous,
            n.sheet_a, n.sheet_b, n.sheet_width, self.sheet_data, n.sheet_surface,
            n.face_node, n.face_part, n.face_surface, n.face_width, self.face_data, loads, self.controls,
            self.diagonal, self.path_slots, self.sheet_slots,
            self.inflow, self.residual, self.values, self.flows, jacobian,
        )  # fmt: skip

    def factorise(self) -> bool:
        """Incomplete factors of the Jacobian; False if a block is singular."""
        failed = krylov.factorise(
            self.indptr, self.indices, self.diagonal, self.values, self.factors, self._position
        )
        return bool(failed < 0)

    def solve(self, right: Floats, scale: Floats, tolerance: float, drop: float, most: int = 200) -> int:
        """Overwrite ``right`` (N, 2) with the solution; iterations used, negative on failure."""
        used = krylov.solve(
            self.indptr, self.indices, self.diagonal, self.values, self.factors, scale,
            right, self._work, tolerance, drop, most,
        )  # fmt: skip
        return int(used)

    def precondition(self, right: Floats) -> None:
        """Overwrite ``right`` (N, 2) with the incomplete factors' solution."""
        krylov.precondition(self.indptr, self.indices, self.diagonal, self.factors, right, right)

    def _saturation(self) -> Floats:
        """Water [kg/m] that each node holds at zero suction, shape (N,)."""
        n = self.network
        per_part = n.part_volume * self._full[n.part_material]
        return np.asarray(np.bincount(n.part_node, weights=per_part, minlength=n.nodes), dtype=np.float64)

    def _sheet_data(self) -> Floats:
        data = np.zeros((self.network.sheet_a.size, 4))
        network = self.network
        for c, (m, k) in enumerate(zip(network.sheet_membrane, network.sheet_surface, strict=True)):
            if m >= 0:
                data[c] = membrane_data(network.mesh.section.membranes[m])
            else:
                film, beta = network.sheet_film[c]
                data[c] = _behind(film, beta, network.surfaces[k].membrane)
        return data

    def _face_data(self) -> Floats:
        data = np.zeros((self.network.face_node.size, 2))
        for f, k in enumerate(self.network.face_surface):
            membrane = self.network.surfaces[k].membrane
            if membrane is not None:
                conductance, dry, _, _ = membrane_data(membrane)
                data[f] = 1.0 / conductance, 1.0 / dry
        return data

    def _build_pattern(self) -> None:
        """Block-sparse rows and the slots of every coupling in them."""
        n = self.network
        i, j = n.part_node[n.path_a], n.part_node[n.path_b]
        rows = np.concatenate([np.arange(n.nodes), i, j, n.sheet_a, n.sheet_b])
        columns = np.concatenate([np.arange(n.nodes), j, i, n.sheet_b, n.sheet_a])
        keys, inverse = np.unique(rows * n.nodes + columns, return_inverse=True)
        self.indices = keys % n.nodes
        self.indptr = np.searchsorted(keys, np.arange(n.nodes + 1) * n.nodes)
        self.diagonal = inverse[: n.nodes].copy()
        paths, sheets = n.path_a.size, n.sheet_a.size
        ends = np.cumsum([n.nodes, paths, paths, sheets, sheets])
        pieces = [inverse[a:b] for a, b in pairwise(ends)]
        self.path_slots = np.stack(pieces[:2], axis=1).copy()
        self.sheet_slots = np.stack(pieces[2:], axis=1).copy()


def _behind(film: float, beta: float, membrane: Membrane | None) -> tuple[float, float, float, float]:
    """Sheet data of a film in series with a membrane on the face."""
    if membrane is None:
        return film, beta, beta, 0.0
    conductance, dry, wet, _ = membrane_data(membrane)
    return 1 / (1 / film + 1 / conductance), 1 / (1 / beta + 1 / dry), 1 / (1 / beta + 1 / wet), 0.0


def water_at_saturation(tables: MaterialTables) -> Floats:
    """Water content [kg/m3] of each material at zero suction, from its table."""
    nodes = tables.s0 + tables.ds * np.arange(tables.water.shape[1])
    return np.array([np.interp(0.0, nodes, row[:, 0]) for row in tables.water])


def membrane_data(membrane: Membrane) -> tuple[float, float, float, float]:
    """Conductance [W/(m2 K)], dry and wet permeance, liquid conductance [kg/(m2 s Pa)] of a membrane."""
    air = kernels.AIR_PERMEABILITY
    return (
        1.0 / max(membrane.resistance, LEAST_RESISTANCE),
        air / max(membrane.sd_dry, 1e-4),
        air / max(membrane.sd_wet, 1e-4),
        OPEN_CONTACT if membrane.liquid == "open" else 0.0,
    )
