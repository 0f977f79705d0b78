"""The system: a network filled with material tables, ready to be evaluated and solved.

Holds every array that the kernels need and the sparsity of the Jacobian; the
time marching sees only states, loads, residuals and solutions.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.tables import MaterialTables, cubics, evaluate
from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.row_blocks import NUMBER, factors_for, sort_couplings
from stemwall.solver.integration import direct
from stemwall.solver.integration.arena import Pages
from stemwall.solver.kernels.linear import bicgstab as krylov
from stemwall.solver.kernels.newton import active_set as local
from stemwall.solver.kernels.newton import stage as stages
from stemwall.solver.kernels.physics import assembly, material_state
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Membrane

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

#: liquid conductance of a membrane that lets liquid through [kg/(m2 s Pa)]; large
#: against any neighbouring material, so that it joins and does not throttle
OPEN_CONTACT = 1e-5
#: conductance by which standing water enters a bare face [kg/(m2 s Pa)]; holds its pressure to some
#: pascals on anything but coarse stone
FLOOD_CONTACT = 1e-4
#: permeance of a face without a membrane before a film [kg/(m2 s Pa)]
NO_BARRIER = 1e20
#: least thermal resistance of a membrane [m2 K/W]
LEAST_RESISTANCE = 1e-4


@dataclass
class State:
    """Temperature [degC] and stretched potential [-] of every node, shapes (N,)."""

    temperature: Floats
    potential: Floats

    @property
    def unknowns(self) -> tuple[Floats, Floats]:
        """Temperature and potential."""
        return self.temperature, self.potential

    def copy(self, pages: Pages | None = None) -> State:
        """The same in other arrays, in some pages if they are given."""
        kept = np.array if pages is None else pages.keep
        return State(kept(self.temperature), kept(self.potential))


def potential_of_suction(suction: NDArray[np.float64] | float) -> Floats:
    """Stretched potential [-] of a suction [Pa]; see `layout`."""
    p = np.asarray(suction, dtype=float)
    humidity = np.maximum(np.exp(-np.maximum(p, 0.0) / layout.RT_REFERENCE), layout.DRIEST)
    dry = layout.Y1 + (layout.RH1 - humidity) / layout.D1
    wet = np.where(p < 0.0, p / layout.P0, np.arcsinh(p / layout.P0))
    return np.asarray(np.where(p > layout.P1, dry, wet))


@dataclass(frozen=True)
class Patch:
    """Some nodes in ascending order, and the paths that touch them."""

    nodes: Ints
    paths: NDArray[np.int32]


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
        (surfaces, 5), at the last `assemble`.
    bends : Floats
        Potential of each node below which its face refuses some of the rain at the last `assemble`, infinite without a
        face, (N,).
    source : Floats
        Given gains [W/m], [kg/(s m)], (N, 2).
    stream_flow : Floats
        Dry air that every stream of the network moves [kg/(s m)].
    """

    def __init__(self, network: Network, tables: MaterialTables, *, freezing: bool = True) -> None:
        self.network, self.tables, self._freezing = network, tables, freezing
        self.pages = Pages()
        zeros, keep = self.pages.zeros, self.pages.keep
        # interleaved by column: what a part asks for lies side by side
        columns = (tables.water, tables.flux_potential, tables.vapour, tables.conductivity, tables.frozen_conductivity)
        self._table = keep(np.stack([cubics(column, tables.ds) for column in columns], axis=2))
        self._factor = keep(cubics(tables.temperature_factor, tables.dt)[:, :, None])
        self._varies = np.any(tables.temperature_factor[:, :, 0] != 1.0, axis=1)
        self._full = water_at_saturation(tables)
        count, parts = network.nodes, network.part_node.size
        self.node_state, self._block = zeros((count, layout.NODE_COLUMNS)), zeros(layout.BLOCK_SIZE)
        self.part_state = zeros((parts, layout.PART_COLUMNS))
        self._water_slope, self._known = zeros(parts), zeros((count, 4))
        #: nodes evaluated since their rows of the Jacobian were renewed
        self.stale = keep(np.ones(count, dtype=np.bool_))
        self.storage, self.capacity = zeros((count, 2)), zeros((count, 3))
        self.inflow, self.residual = zeros((count, 2)), zeros((count, 2))
        self.flows = np.zeros((len(network.surfaces), 5))
        self.source = zeros((count, 2))
        self.controls = np.zeros((0, 7))
        self.stream_flow = np.zeros(network.stream_a.size)
        self.sheet_data = self._sheet_data()
        self.face_data, self.bends = self._face_data(), keep(np.full(count, np.inf))
        self._build_pattern()
        paths = network.path_a.size
        self.everywhere = Patch(keep(np.arange(count)), keep(np.arange(paths, dtype=np.int32)))
        self._room = Patch(np.empty(count, dtype=np.int64), np.empty(paths, dtype=np.int32))
        self.marked, self._all = zeros(count, np.bool_), keep(np.ones(count, dtype=np.bool_))
        self._index_patches()
        self.within, self.path_flow = zeros((count, 2)), zeros((network.path_a.size, 2))
        # the last block stays nothing: it stands for couplings that a row does not have
        self._blocks = zeros((self.indices.size + 1, 4))
        self.values = self._blocks[:-1]
        couplings = sort_couplings(self.indptr, self.indices.astype(np.int64), self.diagonal)
        self._couplings, self._groups = self.pages.each(couplings), keep(couplings.groups)
        self._rows = keep(couplings.node >= 0)
        self._factors, patch_factors = (tuple(factors_for(couplings, zeros=zeros)) for _ in range(2))
        length = 2 * couplings.node.size
        self._work, self._zeros = zeros((12, length), NUMBER), zeros(length, NUMBER)
        #: what `newton_kernels.iterate` factorises and solves with: couplings, room for the groups of a patch, how many
        #: these are, rows of the patch, a vector of zeros, matrix and factors, work space of the linear solver
        self.patch_solver: tuple[Any, ...] = (
            self._couplings, zeros(self._groups.shape, np.int64), np.zeros(1, dtype=np.int64),
            zeros(couplings.node.size, np.bool_), self._zeros, self._blocks, patch_factors, self._work,
        )  # fmt: skip
        #: rows of the matrix that have changed since they were factorised, and whether all and whether any have
        self._changed, self._some_changed = zeros(count, np.bool_), np.ones(2, dtype=np.bool_)
        #: what `stage_kernels` works with
        self.matrix: tuple[Any, ...] = (
            self._couplings, self._groups, self._rows, self._blocks, self._factors, self._zeros, self._work,
            self._changed, self._some_changed, zeros(self._groups.shape, np.int64), self.everywhere.nodes,
            self.everywhere.paths, self._all,
        )  # fmt: skip
        self.patches: tuple[Any, ...] = (
            self.indptr, self.indices, self._path_start, self._paths_of, self._path_other,
            (self._room.nodes, self._room.paths), self.marked, self.patch_solver,
        )  # fmt: skip
        #: what `narrow_kernels` works with
        self.narrow: tuple[Any, ...] = (
            np.empty(count, dtype=np.int64), np.empty(paths, dtype=np.int32), np.zeros(count, dtype=np.bool_),
            self.indptr, self.indices, self._path_start, self._paths_of, self._path_other,
        )  # fmt: skip
        #: an array (N, 2) for anything
        self.spare = zeros((count, 2))
        self.saturation = keep(self._saturation())
        # the last arguments of the kernels of `evaluate` and `assemble`
        n, t = network, tables
        self.evaluation = (
            self._part_start, self._parts_of, n.part_material, n.part_volume,
            t.s0, t.ds, self._table, t.t0, t.dt, self._factor, self._varies, t.heat_capacity, t.vapour_exponent,
            t.has_liquid, self._full, freezing,
            self._block, self.node_state, self.part_state, self.storage, self.capacity, self._water_slope, self._known,
            self.stale,
        )  # fmt: skip
        self.balances = (
            self.source, self.storage, self.capacity, self.node_state, self.part_state, n.part_node, n.part_material,
            n.path_a, n.path_b, n.path_shape, n.path_rise, t.has_liquid, t.viscous,
            n.sheet_a, n.sheet_b, n.sheet_width, self.sheet_data, n.sheet_surface,
            n.face_node, n.face_part, n.face_surface, n.face_width, self.face_data, self.bends,
            n.stream_a, n.stream_b, n.stream_surface, n.stream_path, self.stream_flow,
            self.indptr, self.diagonal, self.path_slots, self.sheet_slots, self.stream_slots,
            self.within, self.path_flow, self.inflow, self.residual, self.values, self.flows,
        )  # fmt: skip

    @property
    def freezing(self) -> bool:
        """Whether water freezes: decided when the system is built, since kernels are given it with their tables."""
        return self._freezing

    def ice_content(self, parts: NDArray[Any]) -> Floats:
        """Ice [kg/m3] in some parts at the last `evaluate`."""
        return np.asarray(self.part_state[parts, layout.ICE] * self._full[self.network.part_material[parts]])

    def evaluate(self, state: State, where: Patch | None = None) -> None:
        """Material state, storage and capacity at a state, everywhere or in a patch."""
        material_state.evaluate(
            (where or self.everywhere).nodes, state.temperature, state.potential, self.evaluation
        )  # fmt: skip

    def assemble(
        self, state: State, rate: float, history: Floats, loads: Floats, *, jacobian: bool, where: Patch | None = None
    ) -> tuple[float, float, float]:  # fmt: skip
        """Residual, surface flows and, if asked, the Jacobian; call `evaluate` first.

        ``where`` is what the last `evaluate` covered.
        Returns the sums of the residuals of energy and water, and the largest water
        residual as a share of the water of its node.
        """
        nodes, paths = (where or self.everywhere).nodes, (where or self.everywhere).paths
        rows = self._all if where is None else self.marked
        if jacobian:
            self.changed(where)
        heat, water, carried = assembly.assemble(
            nodes, paths, rows, state.temperature, rate, history, loads, self.controls, where is None, jacobian, False,
            *self.balances,
        )  # fmt: skip
        return float(heat), float(water), float(carried)

    def changed(self, where: Patch | None = None) -> None:
        """Note that rows of the Jacobian were renewed, all or those of a patch."""
        self._some_changed[1] = True
        if where is None:
            self._some_changed[0] = True
            self.stale[:] = True
        else:
            self._changed[where.nodes] = True
            self.stale[where.nodes] = True

    def factorise(self) -> bool:
        """Incomplete factors of the Jacobian, of the rows that changed; False if a block is singular."""
        return bool(stages.factorise_changed(self.matrix))

    def solve(self, right: Floats, solution: Floats, scale: Floats, tolerance: float, drop: float) -> int:
        """Improve ``solution`` (N, 2) for a right side; iterations used, negative if it was solved directly in the end.

        The matrix is solved in its factors: they are renewed if any of its rows changed.  In full
        ground, where water has no storage, they can be too rough for the iteration.
        """
        nowhere_full = np.full(self.network.nodes, np.inf)
        used = stages.solve_linear(
            self.matrix, self.patch_solver, nowhere_full, scale, 1.0, right, solution, tolerance, drop
        )
        if used < 0:
            self.solve_directly(right, solution)
        return int(used)

    def solve_directly(self, right: Floats, solution: Floats) -> None:
        """Put the solution for a right side into ``solution``, both (N, 2)."""
        solution[:] = direct.solve(self.values, self.indptr, self.indices, right)

    def precondition(self, right: Floats, update: Floats) -> None:
        """Put the incomplete factors' solution for ``right`` into ``update``, both (N, 2), maybe the same."""
        krylov.precondition(
            self._couplings, self._groups, self.everywhere.nodes, self._factors, self._zeros, right, update
        )

    def patch(self, update: Floats, scale: Floats, threshold: float) -> Patch:
        """The nodes whose update exceeds a share of the wanted error, and their neighbours; valid until the next."""
        r = self._room
        local.mark(update, scale, threshold, self.indptr, self.indices, self.marked)
        nodes, paths = local.gather(
            self.everywhere.nodes, self.marked, self._path_start, self._paths_of, self._path_other, r.nodes, r.paths
        )  # fmt: skip
        return Patch(r.nodes[:nodes], r.paths[:paths])

    def _index_patches(self) -> None:
        """Parts and paths by node."""
        n = self.network
        keep = self.pages.keep
        self._parts_of = keep(np.argsort(n.part_node, kind="stable"))
        self._part_start = keep(np.searchsorted(n.part_node[self._parts_of], np.arange(n.nodes + 1)))
        a, b = n.part_node[n.path_a], n.part_node[n.path_b]
        ends, others = np.concatenate([a, b]), np.concatenate([b, a])
        order = np.argsort(ends, kind="stable")
        self._paths_of, self._path_other = keep(_shorter(order % a.size)), keep(_shorter(others[order]))
        self._path_start = keep(np.searchsorted(ends[order], np.arange(n.nodes + 1)))

    def _saturation(self) -> Floats:
        """Water [kg/m] that each node holds at zero suction, shape (N,)."""
        n = self.network
        per_part = n.part_volume * self._full[n.part_material]
        return np.asarray(np.bincount(n.part_node, weights=per_part, minlength=n.nodes), dtype=np.float64)

    def _sheet_data(self) -> Floats:
        data = np.zeros((self.network.sheet_a.size, 5))
        network = self.network
        for c, (m, k) in enumerate(zip(network.sheet_membrane, network.sheet_surface, strict=True)):
            if m >= 0:
                data[c, :4] = membrane_data(network.mesh.section.membranes[m])
            else:
                film, beta = network.sheet_film[c]
                data[c] = _behind(film, beta, network.surfaces[k].membrane)
        return data

    def _face_data(self) -> Floats:
        data = np.zeros((self.network.face_node.size, 6))
        data[:, 3], data[:, 4] = self.network.node_y[self.network.face_node], FLOOD_CONTACT
        for f, k in enumerate(self.network.face_surface):
            surface = self.network.surfaces[k]
            if surface.membrane is not None:
                conductance, dry, wet, liquid = membrane_data(surface.membrane)
                data[f, :3], data[f, 4] = (1.0 / conductance, dry, wet), liquid
            if surface.edge is not None and surface.edge.water == "table":
                foot = self.network.mesh.section.y0
                data[f, 5] = layout.RHO_W * layout.GRAVITY * (data[f, 3] - foot)
        return data

    def _build_pattern(self) -> None:
        """Block-sparse rows and the slots of every coupling in them."""
        n = self.network
        i, j = n.part_node[n.path_a], n.part_node[n.path_b]
        # a stream from a climate couples its node to nothing else
        a, b = n.stream_a, np.where(n.stream_b < 0, n.stream_a, n.stream_b)
        rows = np.concatenate([np.arange(n.nodes), i, j, n.sheet_a, n.sheet_b, a, b])
        columns = np.concatenate([np.arange(n.nodes), j, i, n.sheet_b, n.sheet_a, b, a])
        keys, inverse = np.unique(rows * n.nodes + columns, return_inverse=True)
        keep = self.pages.keep
        self.indices = keep(_shorter(keys % n.nodes))
        self.indptr = keep(np.searchsorted(keys, np.arange(n.nodes + 1) * n.nodes))
        self.diagonal = keep(inverse[: n.nodes])
        paths, sheets, streams = n.path_a.size, n.sheet_a.size, n.stream_a.size
        ends = np.cumsum([n.nodes, paths, paths, sheets, sheets, streams, streams])
        pieces = [inverse[a:b] for a, b in pairwise(ends)]
        self.path_slots, self.sheet_slots, self.stream_slots = (
            keep(_shorter(np.stack(pieces[k : k + 2], axis=1))) for k in (0, 2, 4)
        )


def _shorter(values: Ints) -> NDArray[np.int32]:
    """Four bytes each: there are many, and never two billion."""
    return np.ascontiguousarray(values, dtype=np.int32)


def _behind(film: float, beta: float, membrane: Membrane | None) -> tuple[float, float, float, float, float]:
    """Sheet data of a film in series with a membrane on the face; a film alone is one before what bars nothing."""
    if membrane is None:
        return film, NO_BARRIER, NO_BARRIER, 0.0, 1 / beta
    conductance, dry, wet, _ = membrane_data(membrane)
    return 1 / (1 / film + 1 / conductance), dry, wet, 0.0, 1 / beta


def water_at_saturation(tables: MaterialTables) -> Floats:
    """Water content [kg/m3] of each material at zero suction, from its table."""
    return np.array([float(evaluate(row, tables.s0, tables.ds, 0.0)[0]) for row in tables.water])


def membrane_data(membrane: Membrane) -> tuple[float, float, float, float]:
    """Conductance [W/(m2 K)], dry and wet permeance, liquid conductance [kg/(m2 s Pa)] of a membrane."""
    air = layout.AIR_PERMEABILITY
    return (
        1.0 / max(membrane.resistance, LEAST_RESISTANCE),
        air / max(membrane.sd_dry, 1e-4),
        air / max(membrane.sd_wet, 1e-4),
        OPEN_CONTACT if membrane.liquid == "open" else 0.0,
    )
