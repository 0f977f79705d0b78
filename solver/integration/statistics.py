"""What the time integration did, counted."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.kernels.newton import counts

#: places of `kernels.newton.counts` by the name of what they count
COUNTED = {
    "updates": counts.UPDATES,
    "local_updates": counts.LOCAL_UPDATES,
    "local_nodes": counts.LOCAL_NODES,
    "jacobians": counts.MATRICES,
    "linear_iterations": counts.LINEAR,
    "linear_failures": counts.LINEAR_FAILED,
    "unbalanced_steps": counts.UNBALANCED_STEPS,
    "substeps": counts.SUBSTEPS,
    "rejected_substeps": counts.REJECTED_SUBSTEPS,
    "steps_at_floor": counts.AT_FLOOR,
}


@dataclass
class Statistics:
    """What the time integration did: counts, and where steps were rejected.

    Attributes
    ----------
    steps : int
        Accepted global steps; ``rejected_error`` and ``rejected_newton`` were repeated for their error, or because the
        nonlinear iteration did not converge; ``rejections_at`` counts by the worst node.
    updates : int
        Nonlinear updates of all nodes; ``local_updates`` those of subsets, ``local_nodes`` the nodes of these in sum.
    jacobians, linear_iterations, linear_failures : int
        Jacobians of all nodes; iterations of the linear solver for all nodes, and how often it did not converge.
    substeps, rejected_substeps : int
        Steps of subsets within a global step, and those taken again.
    unbalanced_steps : int
        Steps whose residuals do not add up to nothing; they are carried all the same.
    steps_at_floor : int
        Steps accepted above tolerance because they were at their floor.
    max_residual : float
        Largest balance residual carried, as a share of a node's saturation.
    worst_error : float
        Largest accepted local error, as a share of what is wanted, on resolved steps.
    """

    steps: int = 0
    updates: int = 0
    local_updates: int = 0
    local_nodes: int = 0
    jacobians: int = 0
    linear_iterations: int = 0
    linear_failures: int = 0
    substeps: int = 0
    rejected_substeps: int = 0
    rejected_error: int = 0
    rejected_newton: int = 0
    steps_at_floor: int = 0
    unbalanced_steps: int = 0
    max_residual: float = 0.0
    worst_error: float = 0.0
    rejections_at: dict[int, int] = field(default_factory=dict)

    def take(self, counted: NDArray[np.int64]) -> None:
        """Add what kernels counted, and set their counts to nothing."""
        for name, place in COUNTED.items():
            setattr(self, name, getattr(self, name) + int(counted[place]))
        counted[:] = 0

    def reject(self, node: int, *, newton: bool) -> None:
        """Count a rejected step."""
        if newton:
            self.rejected_newton += 1
        else:
            self.rejected_error += 1
        self.rejections_at[node] = self.rejections_at.get(node, 0) + 1
