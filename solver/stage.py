"""One implicit stage of a step: Newton's iteration everywhere, in patches, and the closing of the sums."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import layout
from stemwall.solver import newton_kernels as newton
from stemwall.solver import step_kernels as steps
from stemwall.solver.effort import Effort
from stemwall.solver.newton_kernels import SLOW, UNSETTLED
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import Patch, State, System

Floats = NDArray[np.float64]
#: sums of energy and water residuals, largest water residual as a share of a node's water
Sums = tuple[float, float, float]
#: node and size of the largest next update, nodes that softened (see `_move`), sums of residuals
Found = tuple[int, float, int, Sums]
#: Newton stops when the next update would be below this share of the wanted local error
NEWTON_SHARE = 0.05
#: the linear solver works to this share of the wanted local error ...
LINEAR_SHARE = 0.0003
#: ... and at least to this share of its first residual, so that its noise does not feed on itself
LINEAR_DROP = 0.01
#: most updates of all nodes in a stage
MOST_NEWTON = 15
#: the matrix is renewed before the next update of all nodes if that exceeds this share of the wanted local error,
#: or the share `SLOW` of the update before
RENEW = 0.3
#: updates after which the sums alone are worth a linear solution and a new matrix
PATIENT = 1
#: updates after which sums that are not small may be closed by larger shifts (frost), or are left open (saturation)
ENOUGH, TOO_MANY = 4, 10
#: nodes whose next update exceeds this share of the wanted local error are iterated further, alone ...
SPOT = 0.005
#: ... in at most so many rounds of so many updates, the next only if an update still exceeds this share, and as long as
#: they are at most this share of all nodes
ROUNDS = 2
MOST_LOCAL = 8
AGAIN = 0.02
LARGEST_PATCH = 0.3
#: most updates of a patch that stands alone
MOST_ALONE = 20
#: a step may end when the residuals add up to this share of what flows through all surfaces ...
FLOWING = 0.1
#: ... or of the water held and of ten kelvin of heat; then they are taken out of all nodes ...
BALANCE = 1e-8
TEN_KELVIN = 10.0
#: ... if that moves none by more than this share of its wanted local errors, more where sums are small or it is late
CLOSING, STILL = 3e-4, 1e-2
#: ... and that moved by more than this share of them in the step, if that suffices
AT_REST = 1e-3
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
        self._matrix_capacity = np.zeros((count, 3))
        # what `newton_kernels` needs to be cautious
        self._cautious = (
            system.storage, system.capacity, self._matrix_capacity, system.values, system.diagonal, self._switching,
            layout.Y1, DRIEST_POTENTIAL, np.zeros(count, dtype=np.int64), *np.zeros((3, count)), system.freezing,
        )  # fmt: skip
        self._before, self._start = start.copy(), start.copy()
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
        if fresh:
            self._start.take(trial)
            self.fill_scale()
        sums = system.assemble(
            trial, rate, history, loads, jacobian=fresh, where=None if fresh else system.nowhere
        )  # fmt: skip
        if self._at_rest(rate):
            return -1
        return self._iterate(trial, rate, loads, sums, fresh=fresh, moved=False)

    def resume(self, trial: State, rate: float, history: Floats, loads: Floats, effort: Effort, where: Patch) -> int:
        """Solve the last stage again from where it was left, after a patch has moved; like `solve`."""
        self._history, self._effort = history, effort
        sums = self.system.assemble(trial, rate, history, loads, jacobian=True, where=where)
        self._matrix_capacity[where.nodes] = self.system.capacity[where.nodes]
        if not self.system.factorise():
            return self._worst_defect()
        return self._iterate(trial, rate, loads, sums, fresh=False, moved=True)

    def _iterate(self, trial: State, rate: float, loads: Floats, sums: Sums, *, fresh: bool, moved: bool) -> int:
        """Newton's iteration of `solve`; what has ``moved`` is judged before the first update."""
        system = self.system
        worst, renew, left, before = -1, fresh, np.inf, np.inf
        for attempt in range(MOST_NEWTON):
            softened = 0
            if attempt > 0 or not moved:
                if renew:
                    if attempt > 0:
                        system.assemble(trial, rate, self._history, loads, jacobian=True)
                    self._effort.matrices += 1
                    self._matrix_capacity[:] = system.capacity
                    if not system.factorise():
                        return self._worst_defect()
                if left > NEWTON_SHARE or attempt > PATIENT:
                    if attempt > 0:
                        self.update[:] = 0.0
                    used = system.solve(system.residual, self.update, self.scale, LINEAR_SHARE, LINEAR_DROP)
                    self._effort.linear += abs(used)
                    self._effort.direct += used < 0
                    if not steps.largest(system.everywhere.nodes, self.update, self.scale)[1] < np.inf:
                        return self._worst_defect()
                self._effort.updates += 1
                softened = self._move(trial, rate)
                sums = system.assemble(trial, rate, self._history, loads, jacobian=False)
            worst, left = self._next_update()
            self.bent = self.bent or left > RENEW or softened > 0
            if left > SPOT or softened > 0:
                worst, left, softened, sums = self._settle(trial, rate, loads, (worst, left, softened, sums))
            done = left <= NEWTON_SHARE and softened == 0
            # sums matter at the end of a step alone
            if done and (fresh or self._close(trial, rate, sums, attempt)):
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

    def _settle(self, trial: State, rate: float, loads: Floats, found: Found) -> Found:
        """Iterate in rounds where updates are still large; the state is put back if that led astray."""
        system = self.system
        self._before.take(trial)
        now = found
        for _ in range(ROUNDS):
            where = system.patch(self.update, self.scale, SPOT)
            if where.nodes.size > LARGEST_PATCH * system.network.nodes:
                softened = UNSETTLED
                break
            softened, _ = self._iterate_patch(trial, rate, loads, where, MOST_LOCAL)
            if softened == UNSETTLED:
                break
            sums = system.assemble(trial, rate, self._history, loads, jacobian=False, where=system.nowhere)
            worst, left = self._next_update()
            now = worst, left, softened, sums
            if left <= AGAIN and softened == 0:
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
        softened, settled = self._iterate_patch(trial, rate, loads, where, MOST_ALONE, fresh=fresh)
        return settled and softened == 0

    def _iterate_patch(
        self, trial: State, rate: float, loads: Floats, where: Patch, most: int, *, fresh: bool = True
    ) -> tuple[int, bool]:
        """Newton's iteration in a patch, the rest held, with at most so many updates; ``fresh``: with a new matrix.

        Returns how many nodes softened in the last update, or `UNSETTLED` if the iteration went astray, and whether
        it converged.
        """
        system = self.system
        softened, settled, taken = newton.iterate(
            where.nodes, where.paths, system.marked, most, SPOT, fresh, trial.temperature, trial.potential, rate,
            self._history, loads, system.controls, self.scale, self.update, system.residual,
            *system.patch_solver, *self._cautious, system.evaluation, system.balances,
        )  # fmt: skip
        system.changed(where)
        self._effort.local_updates += taken
        self._effort.local_nodes += taken * where.nodes.size
        return softened, settled

    def _close(self, trial: State, rate: float, sums: Sums, attempt: int) -> bool:
        """Make small sums of residuals at the end of a step nothing; False if there is more to iterate.

        None may be large against its own node's water: what is carried must never ask a
        nearly dry node for more than it has.  After some attempts sums need not be small, and after many they are
        left open.
        """
        system = self.system
        heat, water, carried = sums
        flows = np.abs(system.flows).sum(axis=0)
        still_heat = BALANCE * rate * TEN_KELVIN * system.capacity[:, 0].sum()
        still_water = BALANCE * rate * system.storage[:, 1].sum()
        still = abs(heat) <= still_heat and abs(water) <= still_water
        small = abs(heat) <= max(FLOWING * flows[0], still_heat)
        late, last = attempt >= ENOUGH, attempt >= TOO_MANY
        small = small and abs(water) <= max(FLOWING * (flows[1] + flows[2]), still_water)
        if carried > CARRIED or not (small or late):
            return False
        # nodes at rest are asked last, and late
        closed = any(
            steps.close(
                trial.temperature, trial.potential, self._start.temperature, self._start.potential,
                system.storage, system.capacity, self.scale, system.values, system.diagonal, rate,
                heat / rate, water / rate,
                STILL if still or late else CLOSING, rest, system.spare,
            )
            for rest in ((AT_REST, 0.0) if late else (AT_REST,))
        )  # fmt: skip
        self._effort.left_open += last and not closed and not still
        return bool(closed or last)

    def _at_rest(self, rate: float) -> bool:
        """Whether the residual is round-off already."""
        system = self.system
        return bool(steps.at_rest(system.residual, system.capacity, system.saturation, rate, REST))

    def _next_update(self) -> tuple[int, float]:
        """Node and size of the largest update that the present residual would cause, by the factors."""
        self.system.precondition(self.system.residual, self.update)
        worst, size = steps.largest(self.system.everywhere.nodes, self.update, self.scale)
        return int(worst), float(size)

    def _worst_defect(self) -> int:
        """Node with the largest water residual against its saturation."""
        return int(np.argmax(np.abs(self.system.residual[:, 1]) / self.system.saturation))

    def _move(self, state: State, rate: float) -> int:
        """Take the update at hand from a state, cautiously, and evaluate it.

        Returns how many nodes hold so much less heat per kelvin now that the matrix misleads.
        """
        return int(newton.move(
            self.system.everywhere.nodes, state.temperature, state.potential, rate, self.scale, self.update,
            *self._cautious, self.system.evaluation,
        ))  # fmt: skip
