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

from stemwall.solver import step_kernels as steps
from stemwall.solver.effort import Effort
from stemwall.solver.march_kernels import ALONE
from stemwall.solver.scheme import (
    DIAGONAL,
    ERROR_WEIGHTS,
    STAGE,
    WEIGHT,
    WEIGHTS,
    LoadsInTime,
    longer,
    next_end,
    shorter,
    summed,
)
from stemwall.solver.settings import Accuracy
from stemwall.solver.stage import StageSolver
from stemwall.solver.system import Patch, State, System

Floats = NDArray[np.float64]
#: nodes with large errors march alone, with their neighbours, if they are at most this share of all
MOST_ALONE = 0.25
#: nodes that march alone for each with a large error, about
NEIGHBOURS = 5


class LocalSteps:
    """Marches the nodes where a step was too long through it again."""

    def __init__(self, system: System, stage: StageSolver, loads: LoadsInTime, accuracy: Accuracy) -> None:
        self.system, self.stage, self.loads, self.accuracy = system, stage, loads, accuracy

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
        trip = _Trip(self, where, long)
        if not trip.march(error, effort):
            return None
        return trip.given()


@dataclass(frozen=True)
class LongStep:
    """A step of all nodes: its times [s], the states of its stages, what was conserved before it (N, 2)."""

    begun: float
    end: float
    course: tuple[State, State, State]
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


class _Trip:
    """One march of a patch through a long step."""

    def __init__(self, owner: LocalSteps, where: Patch, long: LongStep) -> None:
        self.system, self.stage, self.loads, self.accuracy = owner.system, owner.stage, owner.loads, owner.accuracy
        self.where, self.long, self.border = where, long, owner.system.border(where)
        self.state, self.history = long.course[2], self.system.spare
        self.begun, self.end, self.during = long.begun, long.end, long.during
        network, border = self.system.network, self.border
        inward = network.part_node[network.path_a[border.paths]] == border.outer
        self.sign = np.where(inward, -1.0, 1.0)[:, None]
        self.beyond_t = np.array([s.temperature[border.beyond] for s in long.course])
        self.beyond_y = np.array([s.potential[border.beyond] for s in long.course])
        #: what entered the nodes, crossed the border outwards and came through surfaces beyond the long step's account
        self.entered, self.crossed = np.zeros((where.nodes.size, 2)), np.zeros((border.paths.size, 2))
        self.through = np.zeros_like(self.system.flows)

    def _go_back(self) -> None:
        """Take back what flowed in the first two stages of the long step; stand at its beginning."""
        for number in (1, 0):
            time = self.long.times[number]
            self._put(self.long.course[number])
            self._surround(time)
            self.system.evaluate(self.state, self.border.around)
            self._take_back(number, time)

    def _put(self, state: State) -> None:
        nodes = self.where.nodes
        self.state.temperature[nodes], self.state.potential[nodes] = state.temperature[nodes], state.potential[nodes]

    def _take_back(self, number: int, time: float) -> None:
        """Take back what a stage of the long step says, the system evaluated at it."""
        weight = (self.end - self.begun) * WEIGHTS[number]
        loads = self.loads.at(time, self.during)
        self.system.assemble(self.state, 0.0, self.history, loads, jacobian=False, where=self.where, alone=True)
        self.entered -= weight * self.system.inflow[self.where.nodes]
        self.crossed -= weight * self._crossing()
        self.through -= weight * self.system.flows

    def given(self) -> Given:
        """What flowed beyond the long step's account, its last stage evaluated anew where the patch ended."""
        self._surround(self.end)
        self.system.evaluate(self.state, self.border.around)
        self._take_back(2, self.end)
        nodes = np.zeros_like(self.long.conserved)
        nodes[self.where.nodes] = self.entered
        np.add.at(nodes, self.border.outer, self.crossed)
        return Given(nodes, self.through, self.where)

    def march(self, error: float, effort: Effort) -> bool:
        """March from the beginning to the end of the long step; False if that fails."""
        self._go_back()
        system, stage, where, state = self.system, self.stage, self.where, self.state
        nodes, held = where.nodes, self.long.conserved[where.nodes]
        inflows, crossings = np.zeros((3, nodes.size, 2)), np.zeros((3, *self.crossed.shape))
        flows = np.zeros((3, *system.flows.shape))

        def note(number: int) -> None:
            inflows[number], crossings[number], flows[number] = system.inflow[nodes], self._crossing(), system.flows

        note(0)
        before = state.temperature[nodes], state.potential[nodes]
        time, wanted = self.begun, (self.end - self.begun) * shorter(error, least=0.1)
        while time < self.end - 1e-6:
            after = next_end(time, self.end, wanted)
            step = after - time
            rate = 1.0 / (DIAGONAL * step)
            self.history[nodes] = rate * held + inflows[0]
            solved = self._stage(time + STAGE * step, rate, effort, fresh=True)
            if solved:
                note(1)
                self.history[nodes] = rate * held + rate * WEIGHT * step * (inflows[0] + inflows[1])
                solved = self._stage(after, rate, effort, fresh=False)
            if solved:
                note(2)
                stage.update[nodes] = summed(rate * step * ERROR_WEIGHTS, inflows)
                system.precondition_patch(nodes, stage.update)
                error = float(steps.largest(nodes, stage.update, stage.scale)[1])
            if not solved or (error > 1.0 and step > self.accuracy.resolved):
                wanted = step * (shorter(error) if solved else 0.25)
                if not solved and wanted < self.accuracy.resolved:
                    return False
                wanted = max(wanted, self.accuracy.resolved)
                effort.local_rejected += 1
                state.temperature[nodes], state.potential[nodes] = before
                self._surround(time)
                system.evaluate(state, self.border.around)
                continue
            effort.local_steps += 1
            effort.unresolved += error > 1.0
            weights = step * WEIGHTS
            gained = summed(weights, inflows)
            held += gained
            self.entered += gained
            self.crossed += summed(weights, crossings)
            self.through += summed(weights, flows)
            inflows[0], crossings[0], flows[0] = inflows[2], crossings[2], flows[2]
            before = state.temperature[nodes], state.potential[nodes]
            time = after
            wanted = step * longer(error)
        return True

    def _stage(self, time: float, rate: float, effort: Effort, *, fresh: bool) -> bool:
        """Solve a stage at a time; the nodes start from where they are."""
        self._surround(time)
        self.system.evaluate(self.state, self.border.around)
        loads = self.loads.at(time, self.during)
        return self.stage.solve_alone(self.state, rate, self.history, loads, effort, self.where, fresh=fresh)

    def _crossing(self) -> Floats:
        """What crosses the border outwards now, (paths, 2)."""
        return np.asarray(self.sign * self.system.path_flow[self.border.paths])

    def _surround(self, time: float) -> None:
        """Put the nodes beyond the border where the long step saw them at a time."""
        share = (time - self.begun) / (self.end - self.begun)
        first, part = (0, share / STAGE) if share < STAGE else (1, (share - STAGE) / (1.0 - STAGE))
        for values, course in ((self.state.temperature, self.beyond_t), (self.state.potential, self.beyond_y)):
            values[self.border.beyond] = (1.0 - part) * course[first] + part * course[first + 1]
