"""What the marching did, counted."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Effort:
    """What the marching did: counts, and where steps were rejected.

    ``local_steps`` counts steps of a few nodes inside a step of all, ``local_rejected`` those taken again;
    ``updates`` nonlinear updates of all nodes, ``local_updates`` those of a few
    alone and ``local_nodes`` these nodes in sum, ``matrices`` factorised matrices of the
    whole, ``linear`` iterations of the linear solver and ``direct`` solutions without it;
    ``unresolved`` counts steps kept although a faster transient went unresolved, ``left_open`` those whose residuals do
    not add up to nothing (they are carried all the same);
    ``largest_defect`` is the largest balance residual carried, as a share of a
    node's saturation; ``worst_error`` the largest accepted local error, as a share
    of what is wanted, on resolved steps.
    """

    steps: int = 0
    updates: int = 0
    local_updates: int = 0
    local_nodes: int = 0
    matrices: int = 0
    linear: int = 0
    direct: int = 0
    local_steps: int = 0
    local_rejected: int = 0
    rejected_error: int = 0
    rejected_newton: int = 0
    unresolved: int = 0
    left_open: int = 0
    largest_defect: float = 0.0
    worst_error: float = 0.0
    rejections_at: dict[int, int] = field(default_factory=dict)

    def reject(self, node: int, *, newton: bool) -> None:
        if newton:
            self.rejected_newton += 1
        else:
            self.rejected_error += 1
        self.rejections_at[node] = self.rejections_at.get(node, 0) + 1
