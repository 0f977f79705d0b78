"""One implicit stage of a step: Newton's iteration everywhere, in patches, and the closing of the sums."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import layout
from stemwall.solver import step_kernels as steps
from stemwall.solver.effort import Effort
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import Patch, State, System

Floats = NDArray[np.float64]
#: sums of energy and water residuals, largest water residual as a share of a node's water
Sums = tuple[float, float, float]
#: node and size of the largest next update, nodes that softened (see `_move`), sums of residuals
Found = tuple[int, float, int, Sums]
#: in place of softened nodes: the iteration in a patch did not get there
UNSETTLED = -1

#: Newton stops when the next update would be below this share of the wanted local error
NEWTON_SHARE = 0.05
#: the linear solver works to this share of the wanted local error ...
LINEAR_SHARE = 0.001
#: ... and at least to this share of its first residual, so that its noise does not feed on itself
LINEAR_DROP = 0.01
#: most updates of all nodes in a stage
MOST_NEWTON = 15
#: the matrix is renewed before the next update of all nodes if that exceeds this share of the wanted local error ...
RENEW = 0.3
#: ... or exceeds this share of the update before
SLOW = 0.3
#: updates after which the sums alone are worth a linear solution and a new matrix
PATIENT = 1
#: updates after which a step that has converged ends though its sums are not small (frost)
ENOUGH = 4
#: nodes whose next update exceeds this share of the wanted local error are iterated further, alone ...
SPOT = 0.005
#: ... in at most so many rounds of so many updates, as long as they are at most this share of all nodes
ROUNDS = 2
MOST_LOCAL = 8
#: most updates of a patch that stands alone
MOST_ALONE = 20
LARGEST_PATCH = 0.3
#: a step may end when the residuals add up to this share of what flows through all surfaces ...
FLOWING = 3e-3
#: ... or of the water held and of ten kelvin of heat; then they are taken out of all nodes ...
BALANCE = 1e-8
TEN_KELVIN = 10.0
#: ... if that moves none by more than this share of its wanted local errors, more where sums are small or it is late
CLOSING, STILL = 5e-5, 1e-2
#: cold nodes settle their own heat to this share of the wanted error, in at most so many updates
TEMPERED = 1e-3
MOST_TEMPERING = 30
#: a node that holds less than this share of the heat per kelvin that its row of the matrix says has to be seen again
SOFT = 0.5
#: water residual that a node may carry over a step, as a share of the water it holds
CARRIED = 0.1
#: residuals below this share of saturation, or of one kelvin, are round-off
REST = 1e-12
DRIEST_POTENTIAL = layout.Y1 + (layout.RH1 - layout.DRIEST) / layout.D1


class StageSolver:
    """Solves the stages of the steps of a system.

    Attributes
    ----------
    update : Floats
        Before `solve`: the change that is foreseen, with its sign turned, (N, 2); afterwards anything.
    scale : Floats
        Reciprocals of the wanted local errors at the last `fill_scale`, (N, 2).
    bent : bool
        Whether some nodes have moved so far, since it was last set to False, that their rows of the matrix are others
        than those that were factorised.
    """

    def __init__(self, system: System, accuracy: Accuracy, importance: Floats | None, start: State) -> None:
        self.system, self.accuracy = system, accuracy
        count = system.network.nodes
        self.update, self.scale, self.bent = np.zeros((count, 2)), np.zeros((count, 2)), False
        self._importance = np.ones(count) if importance is None else importance
        self._switching = np.zeros(count, dtype=bool)
        self._switching[system.network.face_node] = True
        self._stiffness, self._matrix_capacity = np.ones(count), np.zeros((count, 3))
        self._cold, self._promised = np.zeros(count, dtype=np.int64), np.zeros(count)
        self._low, self._high = np.zeros(count), np.zeros(count)
        self._before = start.copy()
        # of the stage at hand
        self._history, self._effort = self.update, Effort()

    def solve(self, trial: State, rate: float, history: Floats, loads: Floats, effort: Effort, *, fresh: bool) -> int:
        """Solve rate * storage = history + inflow in place; the node that failed, or -1 on success.

        Newton starts from the last evaluated state; what ``update`` holds, the change foreseen
        with its sign turned, starts the linear solver.  After each update the
        residual is measured anew and turned into the next update it would cause, by the factors at
        hand: that estimate says when to stop.  Where it is still large, mostly a few
        nodes, the iteration goes on in these alone.  The matrix serves both stages
        of a step and is renewed if that does not suffice.  At the end of a step the
        residuals are made to add up to nothing, see `_close`.
        """
        system, self._history, self._effort = self.system, history, effort
        sums = system.assemble(
            trial, rate, history, loads, jacobian=fresh, where=None if fresh else system.nowhere
        )  # fmt: skip
        if self._at_rest(rate):
            return -1
        self.fill_scale()
        return self._iterate(trial, rate, loads, sums, fresh=fresh, moved=False)

    def resume(self, trial: State, rate: float, history: Floats, loads: Floats, effort: Effort, where: Patch) -> int:
        """Solve the last stage again from where it was left, after a patch has moved; like `solve`."""
        self._history, self._effort = history, effort
        sums = self.system.assemble(trial, rate, history, loads, jacobian=True, where=where)
        self._stiffness[where.nodes] = self.system.values[self.system.diagonal[where.nodes], 0]
        self._matrix_capacity[where.nodes] = self.system.capacity[where.nodes]
        if not self.system.factorise():
            return self._worst_defect()
        return self._iterate(trial, rate, loads, sums, fresh=False, moved=True)

    def _iterate(self, trial: State, rate: float, loads: Floats, sums: Sums, *, fresh: bool, moved: bool) -> int:
        """Newton's iteration of `solve`; what has ``moved`` is judged before the first update."""
        system, scale = self.system, self.scale
        worst, renew, left, before = -1, fresh, np.inf, np.inf
        for attempt in range(MOST_NEWTON):
            softened = 0
            if attempt > 0 or not moved:
                if renew:
                    if attempt > 0:
                        system.assemble(trial, rate, self._history, loads, jacobian=True)
                    self._effort.matrices += 1
                    np.take(system.values[:, 0], system.diagonal, out=self._stiffness)
                    self._matrix_capacity[:] = system.capacity
                    if not system.factorise():
                        return self._worst_defect()
                if left > NEWTON_SHARE or attempt > PATIENT:
                    if attempt > 0:
                        self.update[:] = 0.0
                    used = system.solve(system.residual, self.update, scale, LINEAR_SHARE, LINEAR_DROP)
                    self._effort.linear += abs(used)
                    if used < 0 or not steps.largest(system.everywhere.nodes, self.update, scale)[1] < np.inf:
                        return self._worst_defect()
                self._effort.updates += 1
                softened = self._move(trial, rate, scale)
                sums = system.assemble(trial, rate, self._history, loads, jacobian=False)
            worst, left = self._next_update(scale)
            self.bent = self.bent or left > RENEW or softened > 0
            if left > SPOT or softened > 0:
                worst, left, softened, sums = self._settle(trial, rate, loads, scale, (worst, left, softened, sums))
            done = left <= NEWTON_SHARE and softened == 0
            # sums matter at the end of a step alone
            if done and (fresh or self._close(trial, rate, scale, sums, late=attempt >= ENOUGH)):
                return -1
            slow = left > SLOW * before and (left > NEWTON_SHARE or attempt > PATIENT)
            renew, before = left > RENEW or slow or softened != 0, left
        return worst

    def fill_scale(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown, (N, 2)."""
        a, system = self.accuracy, self.system
        steps.fill_scale(
            system.node_state[:, layout.TOTAL_S], system.node_state[:, layout.RH_S], system.capacity[:, 2],
            system.saturation, a.temperature, a.humidity, a.saturation, a.pressure, self._importance,
            self.scale,
        )  # fmt: skip
        return self.scale

    def _settle(self, trial: State, rate: float, loads: Floats, scale: Floats, found: Found) -> Found:
        """Iterate in rounds where updates are still large; the state is put back if that led astray."""
        system = self.system
        self._before.take(trial)
        now = found
        for _ in range(ROUNDS):
            where = system.patch(self.update, scale, SPOT)
            if where.nodes.size > LARGEST_PATCH * system.network.nodes:
                softened = UNSETTLED
                break
            sums, softened = self._iterate_patch(trial, rate, loads, scale, where)
            if softened == UNSETTLED:
                break
            worst, left = self._next_update(scale)
            now = worst, left, softened, sums
            if left <= SPOT and softened == 0:
                return now
        if softened != UNSETTLED and now[1] <= max(found[1], NEWTON_SHARE):
            return now
        trial.take(self._before)
        system.evaluate(trial)
        sums = system.assemble(trial, rate, self._history, loads, jacobian=False)
        return found[0], found[1], UNSETTLED, sums

    def solve_alone(
        self, trial: State, rate: float, history: Floats, loads: Floats, effort: Effort, where: Patch, *, fresh: bool
    ) -> bool:
        """Solve a stage of a patch that stands alone, from an evaluated state; False if that fails."""
        self._history, self._effort = history, effort
        softened = self._iterate_patch(trial, rate, loads, self.scale, where, alone=True, fresh=fresh)[1]
        return softened == 0

    def _iterate_patch(
        self, trial: State, rate: float, loads: Floats, scale: Floats, where: Patch, *,
        alone: bool = False, fresh: bool = True,
    ) -> tuple[Sums, int]:  # fmt: skip
        """Newton's iteration in a patch, the rest held; ``fresh``: with a new matrix.

        Returns the sums of the residuals, and how many nodes softened in the
        last update, or `UNSETTLED` if the iteration does not converge.
        """
        system = self.system
        before, renew, softened = np.inf, fresh, 0
        sums = (0.0, 0.0, 0.0)
        if not renew:
            sums = system.assemble(trial, rate, self._history, loads, jacobian=False, where=where, alone=alone)
        for _ in range(MOST_ALONE if alone else MOST_LOCAL):
            if renew:
                sums = system.assemble(trial, rate, self._history, loads, jacobian=True, where=where, alone=alone)
                self._stiffness[where.nodes] = system.values[system.diagonal[where.nodes], 0]
                self._matrix_capacity[where.nodes] = system.capacity[where.nodes]
                if not system.factorise_patch():
                    return sums, UNSETTLED
            np.copyto(self.update, system.residual)
            system.precondition_patch(self.update)
            left = float(steps.largest(where.nodes, self.update, scale)[1])
            if left <= SPOT and softened == 0:
                return sums, 0
            if not left < np.inf:
                return sums, UNSETTLED
            renew = left > SLOW * before or softened > 0
            before = left
            softened = self._move(trial, rate, scale, where)
            sums = system.assemble(trial, rate, self._history, loads, jacobian=False, where=where, alone=alone)
            self._effort.local_updates += 1
            self._effort.local_nodes += where.nodes.size
        return sums, UNSETTLED if alone else softened

    def _close(self, trial: State, rate: float, scale: Floats, sums: Sums, *, late: bool) -> bool:
        """Make small sums of residuals at the end of a step nothing; False if there is more to iterate.

        None may be large against its own node's water: what is carried must never ask a
        nearly dry node for more than it has.  Where the iteration has long converged (``late``), sums need not
        be small.
        """
        system = self.system
        heat, water, carried = sums
        flows = np.abs(system.flows).sum(axis=0)
        still_heat = BALANCE * rate * TEN_KELVIN * system.capacity[:, 0].sum()
        still_water = BALANCE * rate * system.storage[:, 1].sum()
        still = abs(heat) <= still_heat and abs(water) <= still_water
        small = abs(heat) <= max(FLOWING * flows[0], still_heat)
        small = small and abs(water) <= max(FLOWING * (flows[1] + flows[2]), still_water)
        if carried > CARRIED or not (small or late):
            return False
        closed = steps.close(
            trial.temperature, trial.potential, system.storage, system.capacity, scale,
            system.values, system.diagonal, rate, heat / rate, water / rate, STILL if still or late else CLOSING,
        )  # fmt: skip
        self._effort.left_open += not closed and late and not still
        return bool(closed or late)

    def _at_rest(self, rate: float) -> bool:
        """Whether the residual is round-off already."""
        system = self.system
        return bool(steps.at_rest(system.residual, system.capacity, system.saturation, rate, REST))

    def _next_update(self, scale: Floats) -> tuple[int, float]:
        """Node and size of the largest update that the present residual would cause, by the factors."""
        self.system.precondition(self.system.residual, self.update)
        worst, size = steps.largest(self.system.everywhere.nodes, self.update, scale)
        return int(worst), float(size)

    def _worst_defect(self) -> int:
        """Node with the largest water residual against its saturation."""
        return int(np.argmax(np.abs(self.system.residual[:, 1]) / self.system.saturation))

    def _move(self, state: State, rate: float, scale: Floats, where: Patch | None = None) -> int:
        """Take the update at hand from a state, cautiously, and evaluate it.

        Returns how many nodes hold so much less heat per kelvin now that the matrix misleads.
        """
        system, cold = self.system, self._cold
        nodes = (where or system.everywhere).nodes
        count = steps.limited_update(
            nodes, state.temperature, state.potential, self.update, system.storage, self._matrix_capacity,
            self._stiffness, rate, self._switching, layout.Y1, DRIEST_POTENTIAL,
            cold, self._promised, self._low, self._high,
        )  # fmt: skip
        system.evaluate(state, where)
        if not system.freezing or count == 0:
            return 0
        for _ in range(MOST_TEMPERING):
            count = steps.temper(
                cold, count, state.temperature, system.storage, system.capacity, self._matrix_capacity,
                self._stiffness, rate, self._promised, self._low, self._high, scale, TEMPERED,
            )  # fmt: skip
            if count == 0:
                break
            system.evaluate(state, system.at_nodes(cold, count))
        return int(steps.softened(nodes, system.capacity, self._matrix_capacity, SOFT))
