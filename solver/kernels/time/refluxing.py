"""Refluxing (N7): what the sub-steps of a subset say takes the place of what the global step said.

A subset that is sub-stepped exchanges other amounts with its neighbours than the global step saw.  What entered its
nodes, crossed its interface and came through its surfaces is accumulated over the sub-steps, less what the global step
accounted for, and given to the balances on both sides: every amount is booked once, so that nothing is lost.
"""

from __future__ import annotations

from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.support.arrays import Mode, Stage, StageFluxes
from stemwall.solver.kernels.support.jit import kernel, part_of_kernel
from stemwall.solver.kernels.support.norms import copy_rows
from stemwall.solver.kernels.time.coefficients import DIAGONAL, WEIGHT


@part_of_kernel
def fluxes_at(number, work):
    """Where the fluxes of a stage of a sub-step are noted."""
    return StageFluxes(work.inflows[number], work.crossings[number], work.flows[number])


@kernel
def store_stage_fluxes(into, local, sign, balance):
    """Note what flows at a stage of a sub-step, as it was assembled last."""
    nodes, interface, inflow, edge_flux = local.subset.nodes, local.interface, balance.inflow, balance.edge_flux
    for i in range(nodes.size):
        into.inflow[i, 0], into.inflow[i, 1] = inflow[nodes[i], 0], inflow[nodes[i], 1]
    for c in range(interface.size):
        for e in range(2):
            into.crossing[c, e] = sign[c] * edge_flux[interface[c], e]
    copy_rows(balance.flows, into.surface)


@kernel
def subtract_global_flux(seconds, local, u, work, loads, p):
    """Subtract the global step's stage flux times its weight [s], the state evaluated at that stage."""
    first = fluxes_at(0, work)
    assemble(local.subset, u, Stage(0.0, p.newton.spare, loads.now, loads.source_end), Mode(False, False, True), p)
    store_stage_fluxes(first, local, work.interface_sign, p.balance)
    _accumulate(-seconds, first, local, work)


@kernel
def accumulate_substep(step, local, work):
    """Add the weighted stage fluxes of a sub-step; its last stage is the first of the next."""
    first, last = WEIGHT * step, DIAGONAL * step
    start, middle, end = fluxes_at(0, work), fluxes_at(1, work), fluxes_at(2, work)
    for i in range(local.subset.nodes.size):
        for e in range(2):
            work.conserved[i, e] += first * (start.inflow[i, e] + middle.inflow[i, e]) + last * end.inflow[i, e]
    _accumulate(first, start, local, work)
    _accumulate(first, middle, local, work)
    _accumulate(last, end, local, work)
    for i in range(local.subset.nodes.size):
        for e in range(2):
            start.inflow[i, e] = end.inflow[i, e]
    for c in range(local.interface.size):
        for e in range(2):
            start.crossing[c, e] = end.crossing[c, e]
    copy_rows(end.surface, start.surface)


@kernel
def _accumulate(seconds, fluxes, local, work):
    """Add what flows at a stage for so many seconds."""
    for i in range(local.subset.nodes.size):
        for e in range(2):
            work.entered[i, e] += seconds * fluxes.inflow[i, e]
    for c in range(local.interface.size):
        for e in range(2):
            work.crossed[c, e] += seconds * fluxes.crossing[c, e]
    for k in range(work.through.shape[0]):
        for e in range(work.through.shape[1]):
            work.through[k, e] += seconds * fluxes.surface[k, e]


@kernel
def reflux(rate, local, work, into):
    """Add what entered the nodes of a subset and what crossed its interface, times a rate, to sums of nodes (N, 2)."""
    nodes, outer = local.subset.nodes, local.interface_nodes
    for i in range(nodes.size):
        for e in range(2):
            into[nodes[i], e] += rate * work.entered[i, e]
    for c in range(local.interface.size):
        for e in range(2):
            into[outer[c], e] += rate * work.crossed[c, e]


@kernel
def apply_reflux(rate, local, states, accounts, work, update):
    """Add what was refluxed to the last stage of a step, and fill ``update`` (N, 2) with what it did to other nodes."""
    reflux(rate, local, work, accounts.inflows[2])
    flows, end = accounts.flows, states.end
    for k in range(flows.shape[1]):
        for e in range(flows.shape[2]):
            flows[2, k, e] += rate * work.through[k, e]
    for n in range(end.temperature.size):
        update[n, 0] = work.end[0, n] - end.temperature[n]
        update[n, 1] = work.end[1, n] - end.potential[n]
    nodes = local.subset.nodes
    for i in range(nodes.size):
        update[nodes[i], 0], update[nodes[i], 1] = 0.0, 0.0
