"""What an hour cannot do without: `python benchmarks/least.py [HOURS]`.

Marches `given_air.toml` for some hours, then times, one by one and hot, the passes that an hour of one step
takes even if all goes well: both stages solved by one update each, after one linear iteration, no patches, no few
nodes alone, no frost, no calls.  Rows of the Jacobian are renewed and states evaluated anew where the last hour left
that to do.  The sum is what this scheme costs at the very least on a machine, in nanoseconds per node and hour and in
evaluations of the full residual.
"""

import argparse
from collections.abc import Callable, Iterator

import numpy as np
from marching import fastest, march, ready, residual_cost, scaled

from stemwall.solver.kernels.linear import bicgstab
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.linear.row_order import row_blocks_of
from stemwall.solver.kernels.newton.active_set import compact
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.linearised_state import update_state
from stemwall.solver.kernels.physics.material_state import evaluate
from stemwall.solver.kernels.support import norms
from stemwall.solver.kernels.support.arrays import Mode, Stage, StageStates, Stop, Subset, Unknowns
from stemwall.solver.kernels.time import tr_bdf2
from stemwall.solver.kernels.time.coefficients import TR_BDF2
from stemwall.solver.kernels.time.step import account
from stemwall.solver.run import Run

#: what a pass is, how often an hour takes it, and the pass
Pass = tuple[str, float, Callable[[], object]]
#: linear iterations of a stage at the very least
ITERATIONS = 1
RATE = 1e-3


def passes(run: Run) -> Iterator[Pass]:
    """The passes of an hour, on the state that a run has reached."""
    system, integrator = run.system, run.integrator
    p, u, accounts = system.problem, integrator.state.unknowns, integrator._accounts
    newton, linear, balance, edges = p.newton, p.linear, p.balance, p.edges
    count, whole, weights, update = system.network.nodes, newton.whole, newton.weights, newton.update
    loads = run.loads.at(integrator.time, integrator.time - 1.0).copy()
    stage, residual = Stage(RATE, accounts.rhs, loads, system.source), balance.residual
    other, spare = np.zeros_like(update), newton.spare
    states = StageStates(*(Unknowns(u.temperature.copy(), u.potential.copy()) for _ in range(3)))
    # what the last hour left to be renewed
    dirty, active = p.state.jacobian_dirty, newton.active
    active.marked[:] = dirty | newton.always_dirty
    own, joined = compact(whole.nodes, active.marked, edges.start, edges.of, edges.other, active.nodes, active.edges)
    mine = Subset(active.nodes[:own].copy(), active.edges[:joined].copy(), active.marked.copy())
    nothing = Subset(whole.nodes[:0], whole.edges[:0], whole.marked)
    groups = linear.dirty_groups
    changed = groups[: row_blocks_of(mine.nodes, linear.rows.row, groups, np.zeros_like(linear.row_mask))].copy()

    def balances(subset: Subset, *, rebuild: bool = False, jacobian: bool = False) -> None:
        assemble(subset, u, stage, Mode(rebuild, jacobian, False), p)

    def solved() -> None:
        for values, vector in ((weights, 9), (residual, 7), (other, 10)):
            bicgstab.scatter(linear.rows.row, whole.nodes, values, linear.work[vector])
        stop = Stop(0.0, 1.0, 0.0, ITERATIONS)
        work = linear.work
        bicgstab.bicgstab(linear.rows, linear.groups, linear.factors, work[9], work[7], work[10], work, stop)
        bicgstab.gather_solution(linear.rows.row, whole.nodes, work[10], other)

    def filtered(right: np.ndarray, found: np.ndarray) -> None:
        bicgstab.precondition(linear.rows, linear.groups, whole.nodes, linear.factors, linear.zeros, right, found)

    def next_update() -> None:
        filtered(residual, update)
        norms.max_norm(whole.nodes, update, weights)

    stale = np.flatnonzero(dirty)
    inflow, step_loads = balance.inflow, integrator._loads
    own_accounts = accounts._replace(
        conserved=accounts.conserved.copy(), drift=accounts.drift.copy(), through=accounts.through.copy(),
        injected=np.zeros(2), defect=np.zeros(1),
    )  # fmt: skip
    share = f"{changed.size / linear.groups.size:.0%}"
    yield "balances under new loads", 1, lambda: balances(nothing)
    yield "error weights", 1, lambda: norms.error_weights(p.state, newton, p.tolerances)
    yield "right-hand side, middle", 1, lambda: tr_bdf2.begin_middle(3600.0, RATE, TR_BDF2, own_accounts, inflow, spare)
    yield (
        "right-hand side, end",
        1,
        lambda: tr_bdf2.begin_end(3600.0, RATE, TR_BDF2, states, own_accounts, inflow, spare),
    )
    yield f"rows of the Jacobian, {own / count:.0%}", 1, lambda: balances(mine, jacobian=True)
    yield (
        f"their factors, {share}",
        1,
        lambda: factorise(linear.rows, changed, linear.row_mask, linear.blocks, linear.factors),
    )
    yield f"linear solution, iterations: {ITERATIONS}", 2, solved
    yield (
        "states updated to first order",
        2,
        lambda: update_state(whole.nodes, u, weights, newton.listed, p.volumes, p.tables, p.state),
    )
    yield f"states evaluated, {stale.size / count:.0%}", 1, lambda: evaluate(stale, u, p.volumes, p.tables, p.state)
    yield "balances", 2, lambda: balances(whole, rebuild=True)
    yield "next update", 2, next_update
    yield "error of the step, filtered", 1, lambda: filtered(residual, other)
    yield "... its norm", 1, lambda: norms.error_norm(other, weights, 0.3)
    held = system.storage, system.saturation
    yield "accounts", 1, lambda: account(3600.0, TR_BDF2, states, own_accounts, step_loads, *held)


def main() -> None:
    """Print the passes, what they cost and their sum."""
    parser = argparse.ArgumentParser(description="what an hour of the march cannot do without")
    parser.add_argument("hours", type=int, nargs="?", default=60, help="hours marched before (default 60)")
    run = ready(scaled(1.0))
    march(run, parser.parse_args().hours)
    per_node, total = 1e9 / run.system.network.nodes, 0.0
    print(f"{'pass':36s} times    ns per node and hour")
    for name, times, action in list(passes(run)):
        each = fastest(action) * times * per_node
        total += each
        print(f"{name:36s} {times:5g} {each:12.1f}")
    cost = residual_cost(run) * per_node
    print(f"{'all':36s} {total:18.1f}   {total / cost:.2f} residuals of {cost:.0f} ns")


if __name__ == "__main__":
    main()
