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

from stemwall.solver.kernels.linear import bicgstab as krylov
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.newton.active_set import gather, groups_of
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.physics.linearised_state import follow
from stemwall.solver.kernels.physics.material_state import evaluate
from stemwall.solver.kernels.support import norms
from stemwall.solver.kernels.time import tr_bdf2
from stemwall.solver.kernels.time.coefficients import COEFFICIENTS, WEIGHTS
from stemwall.solver.simulate import Run

#: what a pass is, how often an hour takes it, and the pass
Pass = tuple[str, float, Callable[[], object]]
#: linear iterations of a stage at the very least
ITERATIONS = 1
RATE = 1e-3


def passes(run: Run) -> Iterator[Pass]:
    """The passes of an hour, on the state that a run has reached."""
    system, stage, state = run.system, run.integrator.stage, run.integrator.state
    count, (t, y) = system.network.nodes, state.unknowns
    couplings, groups, rows, blocks, factors, zeros, work, _, _, room, nodes, paths, everyone = system.matrix
    _, _, path_start, paths_of, path_other, some, marked, _ = system.patches
    cautious, evaluation, balances = stage.given[-3:]
    accounts, booked = run.integrator._accounts, run.integrator._booked
    conserved, drift, history, _, inflows, flows = accounts
    loads = run.loads.at(run.integrator.time, run.integrator.time - 1.0).copy()
    scale, update, residual, inflow = stage.scale, stage.update, system.residual, system.inflow
    spare, other, course = system.spare, np.zeros_like(update), (t, y, t.copy(), y.copy(), t.copy(), y.copy())
    # what the last hour left to be renewed
    marked[:] = system.stale | cautious[13]
    own, joined = gather(nodes, marked, path_start, paths_of, path_other, *some)
    mine, theirs = some[0][:own].copy(), some[1][:joined].copy()
    mark = marked.copy()
    changed = room[: groups_of(mine, couplings[0], room, np.zeros_like(rows))].copy()

    def balance(some_nodes: np.ndarray, some_paths: np.ndarray, of: np.ndarray, anew: bool, jacobian: bool) -> None:
        assemble(
            some_nodes, some_paths, of, t, RATE, history, loads, system.controls, anew, jacobian, False, *balances
        )  # fmt: skip

    def solved() -> None:
        row = couplings[0]
        for values, vector in ((scale, 9), (residual, 7), (other, 10)):
            krylov.spread(row, nodes, values, work[vector])
        krylov.bicgstab(couplings, groups, factors, work[9], work[7], work[10], work, 0.0, 1.0, ITERATIONS)
        krylov.end(row, nodes, work[10], other)

    def next_update() -> None:
        krylov.precondition(couplings, groups, nodes, factors, zeros, residual, update)
        norms.largest(nodes, update, scale)

    at, weight, first = COEFFICIENTS[0], COEFFICIENTS[2], (0.1, 0.2, 0.3)
    stale = np.flatnonzero(system.stale)
    yield "balances under new loads", 1, lambda: balance(nodes[:0], paths[:0], everyone, False, False)
    yield "wanted errors", 1, lambda: tr_bdf2.wish(stage.wanted, cautious, evaluation, scale)
    yield "known part, middle", 1, lambda: norms.begin_middle(at, RATE, drift, conserved, inflow, inflows[0],
                                                                    history, spare)  # fmt: skip
    yield "known part, end", 1, lambda: norms.begin_end(at, RATE, weight, course, conserved, inflows[0], inflow,
                                                              inflows[1], history, spare)  # fmt: skip
    yield f"rows of the Jacobian, {own / count:.0%}", 1, lambda: balance(mine, theirs, mark, False, True)
    yield f"their factors, {changed.size / groups.size:.0%}", 1, lambda: factorise(couplings, changed, rows, blocks,
                                                                                  factors)  # fmt: skip
    yield f"linear solution, iterations: {ITERATIONS}", 2, solved
    yield "states that follow", 2, lambda: follow(nodes, t, y, scale, cautious[14], evaluation)
    yield f"states evaluated, {stale.size / count:.0%}", 1, lambda: evaluate(stale, t, y, evaluation)
    yield "balances", 2, lambda: balance(nodes, paths, everyone, True, False)
    yield "next update", 2, next_update
    yield "error of the step", 1, lambda: norms.weigh(*first, inflows, inflow, spare)
    yield "... filtered", 1, lambda: krylov.precondition(couplings, groups, nodes, factors, zeros, residual, other)
    yield "... judged", 1, lambda: norms.judge(other, scale, 0.3)
    through = (np.zeros_like(booked[0]), np.zeros(2), np.zeros(1))
    own_books = conserved.copy(), drift.copy(), history, None, inflows, flows
    yield "books", 1, lambda: norms.book(
        3600.0, WEIGHTS, 1e-3, course, own_books, system.storage, system.saturation, system.source, through
    )  # fmt: skip


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
