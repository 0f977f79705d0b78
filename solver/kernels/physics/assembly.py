"""The balances of all nodes: net inflow, residual and Jacobian."""

from __future__ import annotations

from stemwall.solver.kernels.physics.air import through_air_links
from stemwall.solver.kernels.physics.edges import through_edges
from stemwall.solver.kernels.physics.membranes import through_membranes
from stemwall.solver.kernels.physics.surfaces import through_controls, through_faces
from stemwall.solver.kernels.support.jit import fused_kernel, kernel
from stemwall.solver.kernels.support.layout import unsigned


@fused_kernel
def assemble(subset, u, stage, mode, p):
    """Net inflow and residual (N, 2), flows through surfaces (B, 5) and, if asked, rows of the Jacobian (P1), (P2).

    residual = rate * storage - rhs - inflow, for energy [W/m] and water [kg/(m s)].

    Parameters
    ----------
    subset : Subset
        Nodes whose rows of the Jacobian are assembled, and the edges whose ends have changed since the last call (all,
        to rebuild); the rows need all edges that touch them.
    u : Unknowns
        The state must have been evaluated at these.
    stage : Stage
        Rate, right-hand side and loads.
    mode : Mode
        What is asked for.  Of a subset only, other rows of the residual are anything, and what enters through surfaces
        is booked if no membrane and no air link joins the subset to other nodes.
    p : Problem
        Everything else; ``balance`` and ``jacobian`` are filled.

    Returns
    -------
    tuple of float
        Sums of the residuals of energy and of water, and the largest water residual over a step as a share of the
        water that its node holds.
    """
    state, balance, jacobian, residual = p.state, p.balance, p.jacobian, p.balance.residual
    balance.flows[:, :] = 0.0
    if mode.rebuild:
        balance.edge_outflow[:, :] = 0.0
    # the same twice: what only the Jacobian needs falls away where the compiler knows that there is none
    if mode.jacobian:
        _clear_rows(subset.nodes, stage.rate, state.capacity, jacobian)
        through_edges(subset, u, p, mode.rebuild, True)
    else:
        through_edges(subset, u, p, mode.rebuild, False)
    # what is not along edges is gathered as outflows first
    nodes = subset.nodes
    if mode.subset_only:
        for number in range(nodes.size):
            residual[nodes[number], 0], residual[nodes[number], 1] = 0.0, 0.0
    else:
        residual[:, :] = 0.0
    through_membranes(subset, u, mode, p.membranes, state, balance, jacobian)
    through_faces(subset, u, stage.loads, mode, p.faces, p.volumes.viscous, state, balance, jacobian)
    through_controls(subset, u, mode, state, balance, jacobian)
    through_air_links(subset, u, stage.loads, mode, p.links, p.edges, state, balance, jacobian)
    return _residual(subset.nodes, stage, mode, state.storage, balance)


@kernel
def _clear_rows(nodes, rate, capacity, jacobian):
    """Rows of the Jacobian with nothing but storage."""
    indptr, diagonal, blocks = jacobian.indptr, jacobian.diagonal, jacobian.blocks
    for number in range(nodes.size):
        n = nodes[number]
        for slot in range(indptr[n], indptr[n + 1]):
            k = unsigned(slot)
            blocks[k, 0] = 0.0
            blocks[k, 1] = 0.0
            blocks[k, 2] = 0.0
            blocks[k, 3] = 0.0
        d = unsigned(diagonal[n])
        blocks[d, 0] = rate * capacity[n, 0]
        blocks[d, 1] = rate * capacity[n, 1]
        blocks[d, 3] = rate * capacity[n, 2]


@fused_kernel
def _residual(nodes, stage, mode, storage, balance):
    """Net inflow and residual from outflows gathered in the residual; what `assemble` returns."""
    source, edge_outflow, inflow, residual = stage.source, balance.edge_outflow, balance.inflow, balance.residual
    rate, rhs, subset_only = stage.rate, stage.rhs, mode.subset_only
    heat, water, carried = 0.0, 0.0, 0.0
    for number in range(nodes.size if subset_only else residual.shape[0]):
        n = unsigned(nodes[number] if subset_only else number)
        inflow[n, 0] = source[n, 0] - edge_outflow[n, 0] - residual[n, 0]
        inflow[n, 1] = source[n, 1] - edge_outflow[n, 1] - residual[n, 1]
        held = rate * storage[n, 1]
        residual[n, 0] = rate * storage[n, 0] - rhs[n, 0] - inflow[n, 0]
        residual[n, 1] = held - rhs[n, 1] - inflow[n, 1]
        heat += residual[n, 0]
        water += residual[n, 1]
        if abs(residual[n, 1]) > carried * held:
            carried = abs(residual[n, 1]) / max(held, 1e-300)
    return heat, water, carried
