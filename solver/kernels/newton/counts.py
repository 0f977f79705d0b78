"""Places of what the nonlinear solution and the steps count, and of what they remember between stages."""

#: updates of all nodes, of subsets, and nodes of these in sum; Jacobians renewed; iterations of the linear solver, and
#: how often it failed; steps whose balance was left open; sub-steps, those taken again; steps accepted at their floor
(
    UPDATES, LOCAL_UPDATES, LOCAL_NODES, MATRICES, LINEAR, LINEAR_FAILED, UNBALANCED_STEPS, SUBSTEPS, REJECTED_SUBSTEPS,
    AT_FLOOR, COUNTS,
) = range(11)  # fmt: skip
#: whether the Jacobian is outdated at the end of the step, and the rate that it was assembled for
JACOBIAN_OUTDATED, RATE, FLAGS = range(3)
