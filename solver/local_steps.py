"""Short steps where one step of all nodes was too long, inside what the others did in it.

Fronts of frost and of rain ask for short steps in a few nodes.  The step is kept in
all others; these few are marched through it again in steps of their own, with the
nodes around them on the course that the long step took [1]_.  What entered them and crossed their
border then takes the place of what the long step said, as a given amount for each node, and the last stage
of the long step is solved once more for all: mass and energy are kept as in any other step.

References
----------
.. [1] Savcenco, Hundsdorfer, Verwer (2007), BIT Numerical Mathematics 47, 137-155: a multirate strategy for stiff
   equations, without the accounts (from memory, to be checked).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import alone_kernels as alone
from stemwall.solver.effort import Effort
from stemwall.solver.march_kernels import ALONE
from stemwall.solver.scheme import COEFFICIENTS, STAGE
from stemwall.solver.settings import Accuracy
from stemwall.solver.stage import StageSolver
from stemwall.solver.system import Border, Patch, State, System

Floats = NDArray[np.float64]
#: nodes with large errors march alone, with their neighbours, if they are at most this share of all
MOST_ALONE = 0.25
#: nodes that march alone for each with a large error, about
NEIGHBOURS = 5


class LocalSteps:
    """Marches the nodes where a step was too long through it again."""

    def __init__(self, system: System, stage: StageSolver, accuracy: Accuracy) -> None:
        self.system, self.stage, self.accuracy = system, stage, accuracy

    def suffices(self, found: int) -> bool:
        """Whether nodes with large errors are so few that they may march alone."""
        return NEIGHBOURS * found <= MOST_ALONE * self.system.network.nodes

    def run(self, long: LongStep, error: float, effort: Effort) -> Given | None:
        """March again where the error in the stage's ``update`` is large; None if that is too much or fails.

        The system stands evaluated at the end of the long step, whose state is replaced.
        """
        system, stage = self.system, self.stage
        where = system.patch(stage.update, stage.scale, ALONE, closed=True)
        if where.nodes.size > MOST_ALONE * system.network.nodes:
            return None
        border, counts = system.border(where), np.zeros(alone.COUNTS, dtype=np.int64)
        accounts = self._accounts(where, border, long)
        done = alone.march_alone(
            long.end - long.begun, error, self.accuracy.resolved, COEFFICIENTS, counts, self._patch(where, border),
            long.unknowns, self._beyond(border, long), accounts, (*long.loads, np.empty_like(long.loads[0])),
            system.spare, system.narrow, stage.given_alone,
        )  # fmt: skip
        system.changed(where)
        self._count(counts.tolist(), effort)
        return self._given(where, border, accounts) if done else None

    def _patch(self, where: Patch, border: Border) -> tuple[NDArray[np.generic], ...]:
        """What `alone_kernels` calls ``patch``."""
        network = self.system.network
        inward = network.part_node[network.path_a[border.paths]] == border.outer
        return (
            where.nodes, where.paths, self.system.marked, border.beyond, border.paths, np.where(inward, -1.0, 1.0),
        )  # fmt: skip

    @staticmethod
    def _beyond(border: Border, long: LongStep) -> tuple[Floats, Floats]:
        """Temperature and potential beyond the border at the stages of the long step, (3, nodes)."""
        return (
            np.array([state.temperature[border.beyond] for state in long.course]),
            np.array([state.potential[border.beyond] for state in long.course]),
        )

    def _accounts(self, where: Patch, border: Border, long: LongStep) -> tuple[Floats, ...]:
        """What `alone_kernels` calls ``accounts``, at the beginning of the long step."""
        n, shapes = where.nodes.size, ((where.nodes.size, 2), (border.paths.size, 2), self.system.flows.shape)
        sums, flowing = (tuple(np.zeros((*stages, *shape)) for shape in shapes) for stages in ((), (3,)))
        return long.conserved[where.nodes], *sums, *flowing, np.empty((2, n))

    def _given(self, where: Patch, border: Border, accounts: tuple[Floats, ...]) -> Given:
        _, entered, crossed, through = accounts[:4]
        nodes = np.zeros((self.system.network.nodes, 2))
        nodes[where.nodes] = entered
        np.add.at(nodes, border.outer, crossed)
        return Given(nodes, through, where)

    @staticmethod
    def _count(counts: list[int], effort: Effort) -> None:
        effort.local_steps += counts[alone.STEPS]
        effort.local_rejected += counts[alone.REJECTED]
        effort.unresolved += counts[alone.UNRESOLVED]
        effort.local_updates += counts[alone.UPDATES]
        effort.local_nodes += counts[alone.MOVED]


@dataclass(frozen=True)
class LongStep:
    """A step of all nodes: its times [s], states and loads of its stages, what was conserved before it (N, 2)."""

    begun: float
    end: float
    course: tuple[State, State, State]
    loads: tuple[Floats, ...]
    conserved: Floats

    @property
    def times(self) -> tuple[float, float, float]:
        """Times of its stages [s]."""
        return self.begun, self.begun + STAGE * (self.end - self.begun), self.end

    @property
    def during(self) -> float:
        """A time within it [s], for loads that jump at its ends."""
        return 0.5 * (self.begun + self.end)

    @property
    def unknowns(self) -> tuple[Floats, ...]:
        """Temperature and potential of each of the states in turn."""
        return tuple(values for state in self.course for values in (state.temperature, state.potential))


@dataclass(frozen=True)
class Given:
    """What is added to the sums of a long step: to each node (N, 2), through surfaces (surfaces, 4); where."""

    nodes: Floats
    surfaces: Floats
    where: Patch
