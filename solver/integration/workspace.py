"""Work arrays of Newton's iteration, of the linear solver and of local time stepping."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.row_blocks import NUMBER, factors_for, row_blocks
from stemwall.solver.integration.arena import Arena
from stemwall.solver.kernels.newton.counts import COUNTS, FLAGS
from stemwall.solver.kernels.newton.stage import LINEAR_FLOOR, LINEAR_SHARE, NEWTON_SHARE
from stemwall.solver.kernels.support.arrays import (
    Damping,
    Factors,
    Jacobian,
    LinearSolver,
    Newton,
    RowBlocks,
    Subset,
    Substeps,
    Tolerances,
    Unknowns,
)

Floats = NDArray[np.float64]

#: nodes with large errors are sub-stepped, with their neighbours, if they are at most this share of all
MAX_LOCAL_SHARE = 0.25
#: edges over an interface for which there is room, for each node that may be sub-stepped, and at least
INTERFACE_PER_NODE, LEAST_INTERFACE = 2, 256


def linear_solver(jacobian: Jacobian, arena: Arena) -> LinearSolver:
    """Rows in blocks of four, factors and vectors for a matrix."""
    zeros, keep = arena.zeros, arena.keep
    plain = row_blocks(jacobian.indptr, jacobian.indices.astype(np.int64), jacobian.diagonal)
    rows = RowBlocks(*arena.each(plain))
    groups = keep(plain.groups)
    length = 2 * plain.node.size
    return LinearSolver(
        rows=rows,
        blocks=jacobian.blocks,
        groups=groups,
        row_mask=keep(plain.node >= 0),
        factors=_factors(plain, arena),
        factors_dirty=zeros(jacobian.diagonal.size, np.bool_),
        dirty=np.ones(2, dtype=np.bool_),
        dirty_groups=zeros(groups.shape, np.int64),
        subset_factors=_factors(plain, arena),
        subset_groups=zeros(groups.shape, np.int64),
        subset_count=np.zeros(1, dtype=np.int64),
        subset_mask=zeros(plain.node.size, np.bool_),
        zeros=zeros(length, NUMBER),
        work=zeros((11, length), NUMBER),
    )


def _factors(rows: RowBlocks, arena: Arena) -> Factors:
    return factors_for(rows, zeros=arena.zeros)


def tolerances(nodes: int, arena: Arena) -> Tolerances:
    """Wanted errors; nothing until an integrator states them."""
    return Tolerances(np.ones(4), arena.keep(np.ones(nodes)), np.array([NEWTON_SHARE, LINEAR_SHARE, LINEAR_FLOOR]))


def damping(nodes: int, arena: Arena) -> Damping:
    """Arrays of damped updates."""
    zeros = arena.zeros
    return Damping(zeros((nodes, 3)), zeros(nodes, np.int64), zeros(nodes), zeros(nodes), zeros(nodes))


def newton_workspace(network: Network, saturation: Floats, arena: Arena) -> Newton:
    """Arrays of the nonlinear solution."""
    count, edges = network.nodes, network.edge_a.size
    zeros, keep = arena.zeros, arena.keep
    whole = Subset(keep(np.arange(count)), keep(np.arange(edges, dtype=np.int32)), keep(np.ones(count, dtype=np.bool_)))
    active = Subset(np.empty(count, dtype=np.int64), np.empty(edges, dtype=np.int32), zeros(count, np.bool_))
    return Newton(
        weights=zeros((count, 2)),
        update=zeros((count, 2)),
        saturation=keep(np.asarray(saturation, dtype=np.float64)),
        always_dirty=keep(_always_dirty(network)),
        listed=zeros(count, np.int64),
        whole=whole,
        active=active,
        before=Unknowns(zeros(count), zeros(count)),
        spare=zeros((count, 2)),
        counts=np.zeros(COUNTS, dtype=np.int64),
        flags=np.zeros(FLAGS),
    )


def _always_dirty(network: Network) -> NDArray[np.bool_]:
    """Nodes that meet anything but their neighbours in solids: their row is another one in every step."""
    n = network
    found = np.zeros(n.nodes, dtype=np.bool_)
    found[n.face_node] = True
    for ends in (n.membrane_a, n.membrane_b, n.link_a, n.link_b):
        found[ends[ends >= 0]] = True
    found[n.scv_node[n.scv_region < 0]] = True
    return found


def substep_workspace(network: Network, arena: Arena) -> Substeps:
    """Arrays of local time stepping."""
    count, edges, surfaces = network.nodes, network.edge_a.size, len(network.surfaces)
    most = int(MAX_LOCAL_SHARE * count)
    interface = min(edges, max(INTERFACE_PER_NODE * most, LEAST_INTERFACE))
    return Substeps(
        nodes=np.empty(count, dtype=np.int64),
        edges=np.empty(edges, dtype=np.int32),
        interface_edges=np.empty(edges, dtype=np.int32),
        interface_nodes=np.empty(edges, dtype=np.int32),
        seen=np.zeros(count, dtype=np.bool_),
        interface_sign=np.empty(interface),
        conserved=np.zeros((most, 2)),
        entered=np.zeros((most, 2)),
        crossed=np.zeros((interface, 2)),
        through=np.zeros((surfaces, 5)),
        inflows=np.zeros((3, most, 2)),
        crossings=np.zeros((3, interface, 2)),
        flows=np.zeros((3, surfaces, 5)),
        start=np.zeros((2, most)),
        ghost_t=np.zeros((3, interface)),
        ghost_y=np.zeros((3, interface)),
        end=arena.zeros((2, count)),
    )
