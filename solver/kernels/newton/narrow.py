"""Kernels of Newton's iteration in a patch that narrows to the nodes that still move.

Plain arrays only; nothing is allocated.  After one update of a patch in which frost or rain moves a front, a fifth
to a third of its nodes still move by more than they may, after another a twentieth to a tenth.
"""

from __future__ import annotations

from stemwall.solver.kernels.linear.bicgstab import precondition
from stemwall.solver.kernels.linear.dilu import factorise
from stemwall.solver.kernels.newton.active_set import gather, groups_of, mark_within
from stemwall.solver.kernels.newton.damping import DROP, SOFT, UNSETTLED, iterate
from stemwall.solver.kernels.physics.assembly import assemble
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.norms import largest

#: most updates of all nodes of a patch, and of those that still move, at a time
FIRST, MOST = 1.0, 20.0
#: share to which the linear solver lowers what is left in the first: what it leaves is not seen again by all
FIRST_DROP = 0.01
#: times that it narrows, and the largest share of the patch that counts as narrow
ROUNDS, NARROW = 4, 0.6


@kernel
def iterate_narrowing(
    nodes, paths, marked, spot, fresh, temperature, potential, rate, history, loads, narrow, controls, scale, update,
    residual, patch_solver, cautious, evaluation, balances,
):  # fmt: skip
    """As `newton_kernels.iterate`, but after one update of all nodes the rest iterates alone; see there.

    ``narrow``: room for nodes and paths, marks (N,), False before and after, pattern of the matrix (indptr, indices),
    paths by node (start, paths, other ends).  Returns whether it converged, the updates taken and of how many nodes.
    """
    few_nodes, few_paths, few, indptr, indices, path_start, paths_of, path_other = narrow
    couplings, room, groups, inside, zeros, blocks, factors, _ = patch_solver
    capacity, matrix_capacity = cautious[1], cautious[2]
    soft, settled, taken = iterate(
        nodes, paths, marked, FIRST, FIRST_DROP, spot, fresh, temperature, potential, rate, history, loads, controls,
        scale, update, residual, patch_solver, cautious, evaluation, balances,
    )  # fmt: skip
    moved, astray = taken * nodes.size, soft == UNSETTLED
    for _ in range(ROUNDS):
        if settled or astray:
            break
        precondition(couplings, room[: groups[0]], nodes, factors, zeros, residual, update)
        astray = not largest(nodes, update, scale)[1] < 1e300
        if astray:
            break
        settled = not mark_within(
            nodes, marked, update, scale, spot, capacity, matrix_capacity, SOFT, indptr, indices, few
        )  # fmt: skip
        if settled:
            break
        count, joined = gather(nodes, few, path_start, paths_of, path_other, few_nodes, few_paths)
        if count > NARROW * nodes.size:
            break
        soft, done, more = iterate(
            few_nodes[:count], few_paths[:joined], few, MOST, DROP, spot, not settled, temperature, potential, rate,
            history, loads, controls, scale, update, residual, patch_solver, cautious, evaluation, balances,
        )  # fmt: skip
        taken, moved = taken + more, moved + more * count
        # the patch as a whole again, with the rows of the matrix that were renewed
        assemble(
            nodes, paths[:0], marked, temperature, rate, history, loads, controls, False, False, True, *balances
        )  # fmt: skip
        for number in range(nodes.size):
            inside[couplings[0][nodes[number]]] = True
        astray = factorise(couplings, room[: groups[0]], inside, blocks, factors) >= 0 or soft == UNSETTLED or not done
        groups[0] = groups_of(nodes, couplings[0], room, inside)
    for number in range(nodes.size):
        few[nodes[number]] = False
    if settled or soft == UNSETTLED:
        return settled, taken, moved
    soft, settled, more = iterate(
        nodes, paths, marked, MOST, DROP, spot, not settled, temperature, potential, rate, history, loads, controls,
        scale, update, residual, patch_solver, cautious, evaluation, balances,
    )  # fmt: skip
    return settled and soft == 0, taken + more, moved + more * nodes.size
