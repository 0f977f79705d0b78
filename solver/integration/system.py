"""The system: a network filled with material tables, ready to be evaluated, assembled and stepped.

It holds every array that the kernels need, by name, and the sparsity of the Jacobian.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.tables import MaterialTables, cubics, evaluate
from stemwall.solver.discretisation.network import Network
from stemwall.solver.integration.arena import Arena
from stemwall.solver.integration.interfaces import face_data, membrane_data
from stemwall.solver.integration.sparsity import edges_by_node, jacobian_pattern, scvs_by_node
from stemwall.solver.integration.workspace import damping, linear_solver, newton_workspace, tolerances
from stemwall.solver.kernels.physics import assembly, material_state
from stemwall.solver.kernels.support import layout
from stemwall.solver.kernels.support.arrays import (
    AirLinks,
    Balance,
    Edges,
    Faces,
    Jacobian,
    MaterialState,
    Membranes,
    Mode,
    Problem,
    Stage,
    Tables,
    Unknowns,
    Volumes,
)

Floats = NDArray[np.float64]


@dataclass
class State:
    """Temperature [degC] and stretched potential [-] of every node, shapes (N,)."""

    temperature: Floats
    potential: Floats

    @property
    def unknowns(self) -> Unknowns:
        """Temperature and potential, as kernels take them."""
        return Unknowns(self.temperature, self.potential)

    def copy(self, arena: Arena | None = None) -> State:
        """The same in other arrays, in an arena if one is given."""
        kept = np.array if arena is None else arena.keep
        return State(kept(self.temperature), kept(self.potential))


def potential_of_suction(suction: NDArray[np.float64] | float) -> Floats:
    """Stretched potential [-] of a suction [Pa]; see `layout`."""
    p = np.asarray(suction, dtype=float)
    humidity = np.maximum(np.exp(-np.maximum(p, 0.0) / layout.RT_REFERENCE), layout.DRIEST)
    dry = layout.Y1 + (layout.RH1 - humidity) / layout.D1
    wet = np.where(p < 0.0, p / layout.P0, np.arcsinh(p / layout.P0))
    return np.asarray(np.where(p > layout.P1, dry, wet))


class System:
    """Network, material tables and Jacobian structure with their work arrays.

    Attributes
    ----------
    problem : Problem
        All arrays, as kernels take them; see `stemwall.solver.kernels.support.arrays`.
    node_state, scv_state : Floats
        State of the nodes (N, 16) and of the sub-control volumes (S, 16) at the last `evaluate`, columns of `layout`.
    storage : Floats
        Enthalpy [J/m] and water [kg/m] of each node at the last `evaluate`, (N, 2).
    capacity : Floats
        dH/dT, dH/dy, dw/dy at the last `evaluate`, (N, 3).
    inflow, residual, flows : Floats
        Net inflow and balance residual of each node (N, 2), and surface flows (surfaces, 5), at the last `assemble`.
    uptake_kink : Floats
        Potential of each node below which its face refuses some of the rain at the last `assemble`, infinite without a
        face, (N,).
    source : Floats
        Given gains [W/m], [kg/(s m)], (N, 2).
    link_flow : Floats
        Dry air that every air link of the network moves [kg/(s m)].
    """

    def __init__(self, network: Network, tables: MaterialTables, *, freezing: bool = True) -> None:
        self.network, self.tables, self._freezing = network, tables, freezing
        self.arena = Arena()
        full = water_at_saturation(tables)
        n = network
        state, balance, jacobian = self._state(), self._balance(), self._jacobian()
        per_scv = network.scv_volume * full[network.scv_material]
        saturation = np.asarray(np.bincount(n.scv_node, weights=per_scv, minlength=n.nodes), dtype=np.float64)
        self.problem = Problem(
            volumes=self._volumes(),
            edges=self._edges(),
            membranes=Membranes(n.membrane_a, n.membrane_b, n.membrane_width, membrane_data(n), n.membrane_surface),
            faces=Faces(n.face_node, n.face_scv, n.face_surface, n.face_width, face_data(n)),
            links=AirLinks(n.link_a, n.link_b, n.link_surface, n.link_edges),
            tables=self._tables(full, freezing=freezing),
            state=state,
            balance=balance,
            jacobian=jacobian,
            linear=linear_solver(jacobian, self.arena),
            tolerances=tolerances(network.nodes, self.arena),
            damping=damping(network.nodes, self.arena),
            newton=newton_workspace(network, saturation, self.arena),
        )
        self.node_state, self.scv_state, self.storage, self.capacity = (
            state.node,
            state.scv,
            state.storage,
            state.capacity,
        )
        self.inflow, self.residual, self.flows = balance.inflow, balance.residual, balance.flows
        self.link_flow, self.uptake_kink, self.edge_flux = balance.link_flow, balance.uptake_kink, balance.edge_flux
        self.source = self.arena.zeros((n.nodes, 2))
        self.membrane_data, self.face_data = self.problem.membranes.data, self.problem.faces.data
        self.indptr, self.indices, self.diagonal = jacobian.indptr, jacobian.indices, jacobian.diagonal
        self.values, self.saturation = jacobian.blocks[:-1], self.problem.newton.saturation

    @property
    def freezing(self) -> bool:
        """Whether water freezes: decided when the system is built, since kernels are given it with their tables."""
        return self._freezing

    @property
    def controls(self) -> Floats:
        """Heaters and dehumidifiers, (., 7), see `kernels.physics.surfaces.through_controls`."""
        return self.problem.balance.controls

    @controls.setter
    def controls(self, rows: Floats) -> None:
        self.problem = self.problem._replace(balance=self.problem.balance._replace(controls=rows))

    def ice_content(self, scvs: NDArray[Any]) -> Floats:
        """Ice [kg/m3] in some sub-control volumes at the last `evaluate`."""
        full = self.problem.tables.full[self.network.scv_material[scvs]]
        return np.asarray(self.scv_state[scvs, layout.ICE] * full)

    def evaluate(self, state: State) -> None:
        """Material state, storage and capacity at a state."""
        p = self.problem
        material_state.evaluate(p.newton.whole.nodes, state.unknowns, p.volumes, p.tables, p.state)

    def assemble(
        self, state: State, rate: float, rhs: Floats, loads: Floats, *, jacobian: bool
    ) -> tuple[float, float, float]:
        """Residual, surface flows and, if asked, the Jacobian; call `evaluate` first.

        Returns the sums of the residuals of energy and water, and the largest water residual as a share of the water of
        its node.
        """
        problem = self.problem
        if jacobian:
            problem.linear.dirty[:] = True
            problem.state.jacobian_dirty[:] = True
        stage = Stage(float(rate), rhs, loads, self.source)
        mode = Mode(rebuild=True, jacobian=jacobian, subset_only=False)
        heat, water, carried = assembly.assemble(problem.newton.whole, state.unknowns, stage, mode, problem)
        return float(heat), float(water), float(carried)

    def _volumes(self) -> Volumes:
        n = self.network
        start, of = scvs_by_node(n)
        viscous = np.asarray(self.tables.viscous[n.scv_material], dtype=np.bool_)
        by_node = self.arena.keep(start), self.arena.keep(of)
        return Volumes(*by_node, n.scv_node, n.scv_material, n.scv_volume, viscous)

    def _edges(self) -> Edges:
        n = self.network
        by_node = (self.arena.keep(values) for values in edges_by_node(n))
        return Edges(n.edge_a, n.edge_b, n.edge_shape, n.edge_rise, *by_node)

    def _tables(self, full: Floats, *, freezing: bool) -> Tables:
        t, keep = self.tables, self.arena.keep
        # interleaved by column: what a sub-control volume asks for lies side by side
        columns = (t.water, t.flux_potential, t.vapour, t.conductivity, t.frozen_conductivity)
        return Tables(
            s0=float(t.s0),
            ds=float(t.ds),
            columns=keep(np.stack([cubics(column, t.ds) for column in columns], axis=2)),
            t0=float(t.t0),
            dt=float(t.dt),
            factor=keep(cubics(t.temperature_factor, t.dt)[:, :, None]),
            varies=np.any(t.temperature_factor[:, :, 0] != 1.0, axis=1),
            heat_capacity=t.heat_capacity,
            vapour_exponent=t.vapour_exponent,
            has_liquid=t.has_liquid,
            viscous=t.viscous,
            full=full,
            freezing=bool(freezing),
        )

    def _state(self) -> MaterialState:
        count, scvs, zeros = self.network.nodes, self.network.scv_node.size, self.arena.zeros
        return MaterialState(
            node=zeros((count, layout.NODE_COLUMNS)),
            scv=zeros((scvs, layout.SCV_COLUMNS)),
            storage=zeros((count, 2)),
            capacity=zeros((count, 3)),
            water_slope=zeros(scvs),
            linearised_at=zeros((count, 4)),
            jacobian_dirty=self.arena.keep(np.ones(count, dtype=np.bool_)),
            block=zeros(layout.BLOCK_SIZE),
        )

    def _balance(self) -> Balance:
        n, zeros = self.network, self.arena.zeros
        count = n.nodes
        return Balance(
            controls=np.zeros((0, 7)),
            link_flow=np.zeros(n.link_a.size),
            edge_flux=zeros((n.edge_a.size, 2)),
            edge_outflow=zeros((count, 2)),
            inflow=zeros((count, 2)),
            residual=zeros((count, 2)),
            flows=np.zeros((len(n.surfaces), 5)),
            uptake_kink=self.arena.keep(np.full(count, np.inf)),
        )

    def _jacobian(self) -> Jacobian:
        pattern: dict[str, NDArray[Any]] = jacobian_pattern(self.network)
        # the last block stays nothing: it stands for couplings that a row does not have
        blocks = self.arena.zeros((pattern["indices"].size + 1, 4))
        return Jacobian(**{name: self.arena.keep(values) for name, values in pattern.items()}, blocks=blocks)


def water_at_saturation(tables: MaterialTables) -> Floats:
    """Water content [kg/m3] of each material at zero suction, from its table."""
    return np.array([float(evaluate(row, tables.s0, tables.ds, 0.0)[0]) for row in tables.water])
