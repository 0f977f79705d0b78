"""Marching in time: TR-BDF2 in conservation form, error-controlled.

What is stepped is enthalpy and water themselves.  With W storage, F net inflow,
g = 2 - sqrt 2, d = g/2, w = sqrt 2/4, a step h takes two implicit stages with one
and the same matrix,

    W1 = W0 + d h (F0 + F1)            at t + g h (trapezoidal),
    W2 = W0 + h (w F0 + w F1 + d F2)   at t + h   (backward difference),

second order, L-stable, one-step: nothing is remembered across a jump or a bend of
the loads [1]_ [2]_.  Amounts through surfaces are summed with the same weights, so
they add up to the change of storage exactly.  The balance residual that the
nonlinear iteration leaves is carried into the next step (W2 is what the fluxes
say, not what the state says), so no tolerance leaks mass or energy; its size is
reported, and its sum over all nodes is nothing.

References
----------
.. [1] Bank, Coughran, Fichtner, Grosse, Rose, Smith (1985), IEEE Trans. CAD 4, 436-451.
.. [2] Hosea, Shampine (1996), Applied Numerical Mathematics 20, 21-37: error estimate.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import sqrt
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import layout, state_kernels
from stemwall.solver import step_kernels as steps
from stemwall.solver.errors import SolverError
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import Patch, State, System

Floats = NDArray[np.float64]
#: sums of energy and water residuals, largest water residual as a share of a node's water
Sums = tuple[float, float, float]
#: node and size of the largest next update, nodes that softened (see `_move`), sums of residuals
Found = tuple[int, float, int, Sums]
#: in place of softened nodes: the iteration in a patch did not get there
UNSETTLED = -1

STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: weights of F0, F1, F2 less those of the third-order companion, Hosea & Shampine 1996
ERROR_WEIGHTS = np.array(
    [WEIGHT - (1.0 - WEIGHT) / 3.0, WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0, DIAGONAL - DIAGONAL / 3.0]
)
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
#: first step of a run [s]
FIRST_STEP = 300.0
HOUR = 3600.0


class LoadsInTime(Protocol):
    """What the marching asks of loads: rows (surfaces, columns) at a time [s] of a step.

    ``during`` is a time inside the step: what jumps at the step's ends has the value it has there.
    """

    def at(self, seconds: float, during: float) -> Floats: ...


@dataclass
class Effort:
    """What the marching did: counts, and where steps were rejected.

    ``updates`` counts nonlinear updates of all nodes, ``local_updates`` those of a few
    alone and ``local_nodes`` these nodes in sum, ``matrices`` factorised matrices of the
    whole, ``linear`` iterations of the linear solver; ``unresolved`` counts steps kept
    although a faster transient went unresolved, ``left_open`` those whose residuals do
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


class March:
    """Steps a system through its loads; owns the state and what has flowed.

    Attributes
    ----------
    state : State
        The state now; the system is always evaluated at it between steps.
    time : float
        Time now [s].
    conserved : Floats
        Enthalpy and water of each node by the fluxes (N, 2) [J/m, kg/m].
    through : Floats
        Amounts that entered through each surface so far, (surfaces, 4) [J/m, kg/m].
    injected : Floats
        Amounts that given sources added so far, (2,) [J/m, kg/m].

    The wanted errors hold where ``importance`` (N,) is one; where it is less, they
    are larger by its reciprocal.
    """

    def __init__(
        self,
        system: System,
        loads: LoadsInTime,
        start: State,
        accuracy: Accuracy,
        importance: Floats | None = None,
    ) -> None:
        self.system, self.loads, self.accuracy = system, loads, accuracy
        self.state, self.time = start.copy(), 0.0
        system.evaluate(start)
        self.conserved = system.storage.copy()
        self.through = np.zeros_like(system.flows)
        self.injected = np.zeros(2)
        self.effort = Effort()
        count = system.network.nodes
        self._drift, self._zeros = np.zeros((count, 2)), np.zeros((count, 2))
        self._next_step = FIRST_STEP
        self._switching = np.zeros(count, dtype=bool)
        self._switching[system.network.face_node] = True
        self._importance = np.ones(count) if importance is None else importance
        self._stiffness = np.ones(count)
        self._scale, self._matrix_capacity = np.zeros((count, 2)), np.zeros((count, 3))
        self._cold, self._promised = np.zeros(count, dtype=np.int64), np.zeros(count)
        self._low, self._high = np.zeros(count), np.zeros(count)
        self._update, self._history = np.zeros((count, 2)), np.zeros((count, 2))
        self._inflows = np.zeros((3, count, 2))
        self._flows = np.zeros((3, *system.flows.shape))
        self._spare, self._before = [start.copy(), start.copy()], start.copy()
        #: whether the system stands at the state, evaluated and assembled
        self._standing = False
        #: whether the step moved some nodes so far that their rows of the matrix have changed since it was factorised
        self._bent = False

    def advance_to(self, target: float) -> None:
        """March to a time [s]; the last step ends there exactly.

        Raises
        ------
        SolverError
            If the nonlinear iteration fails at the shortest step.
        """
        while self.time < target - 1e-6:
            left = target - self.time
            count = int(np.ceil(left / min(self._next_step, self.accuracy.longest_step) - 1e-9))
            end = target if count == 1 else self.time + left / count
            if not self._step(end):
                self.system.evaluate(self.state)
                self._standing = False

    def _step(self, end: float) -> bool:
        """Try a step; True if it was accepted."""
        step = end - self.time
        system, during, trial = self.system, self.time + 0.5 * step, self._spare[1]
        self._bent = False
        rate = 1.0 / (DIAGONAL * step)
        where = system.nowhere if self._standing else None
        system.assemble(self.state, 0.0, self._zeros, self.loads.at(self.time, during), jacobian=False, where=where)
        self._note(0)
        np.multiply(self._drift, -STAGE * step, out=self._update)
        steps.weigh(self.conserved, rate, self._inflows[0], 1.0, self._zeros, self._history)
        trial.take(self.state)
        failed_at = self._solve(trial, rate, self.loads.at(self.time + STAGE * step, during), fresh=True)
        if failed_at >= 0:
            return self._give_way(step, failed_at)
        self._note(1)
        middle = self._spare[0]
        middle.take(trial)
        difference(self.state, middle, (1.0 - STAGE) / STAGE, self._update)
        steps.weigh(
            self.conserved, rate, self._inflows[0], rate * WEIGHT * step, self._inflows[1], self._history
        )
        failed_at = self._solve(trial, rate, self.loads.at(end, during), fresh=False)
        if failed_at >= 0:
            return self._give_way(step, failed_at)
        self._note(2)
        if self._bent:
            system.factorise()
        node, error = self._local_error(rate * step)
        if error > 1.0:
            # before a step is refused, its error is judged by the matrix of its own end
            system.assemble(trial, rate, self._history, self.loads.at(end, during), jacobian=True)
            if system.factorise():
                self.effort.matrices += 1
                node, error = self._local_error(rate * step)
        if error > 1.0 and step > self.accuracy.resolved:
            self.effort.reject(node, newton=False)
            self._next_step = max(step * max(0.2, 0.85 * error ** (-1 / 3)), self.accuracy.resolved)
            return False
        self._accept(trial, middle, end)
        if error > 1.0:
            self.effort.unresolved += 1
        else:
            self.effort.worst_error = max(self.effort.worst_error, error)
        self._next_step = step * min(4.0, max(0.3, 0.85 * max(error, 1e-6) ** (-1 / 3)))
        return True

    def _note(self, stage: int) -> None:
        """Keep what flows at a stage."""
        system = self.system
        self._inflows[stage], self._flows[stage] = system.inflow, system.flows

    def _accept(self, trial: State, middle: State, end: float) -> None:
        step, system = end - self.time, self.system
        weights = np.array([WEIGHT * step, WEIGHT * step, DIAGONAL * step])
        defect = steps.accept(
            self.conserved, self._inflows, weights, system.storage, system.saturation,
            middle.temperature, middle.potential, trial.temperature, trial.potential,
            1.0 / ((1.0 - STAGE) * step), self._drift,
        )  # fmt: skip
        through = np.tensordot(weights, self._flows, axes=1)
        self.through += through
        self.injected += step * np.array([system.source[:, 0].sum(), system.source[:, 1].sum()])
        self.effort.largest_defect = max(self.effort.largest_defect, float(defect))
        self.effort.steps += 1
        self.state, self._spare[1], self.time, self._standing = trial, self.state, end, True

    def _give_way(self, step: float, node: int) -> bool:
        self.effort.reject(node, newton=True)
        self._drift[:] = 0.0
        self._next_step = 0.25 * step
        if self._next_step < self.accuracy.shortest_step:
            raise SolverError(self._describe(node))
        return False

    def _describe(self, node: int) -> str:
        network = self.system.network
        part = int(np.flatnonzero(network.part_node == node)[0])
        number = int(network.part_region[part])
        region = network.mesh.section.regions[number].name if number >= 0 else "air zone"
        return (
            f"the run stopped at hour {self.time / HOUR:.2f}: the nonlinear iteration did not converge "
            f"although the step was cut to {self._next_step:.3g} s; worst place "
            f"x = {network.node_x[node]:.4g} m, y = {network.node_y[node]:.4g} m in region '{region}' "
            f"(T = {self.state.temperature[node]:.2f} degC, suction = "
            f"{state_kernels.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )

    def _fill_scale(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown, (N, 2)."""
        a, system = self.accuracy, self.system
        steps.fill_scale(
            system.node_state[:, layout.TOTAL_S], system.node_state[:, layout.RH_S], system.capacity[:, 2],
            system.saturation, a.temperature, a.humidity, a.saturation, a.pressure, self._importance,
            self._scale,
        )  # fmt: skip
        return self._scale

    def _solve(self, trial: State, rate: float, loads: Floats, *, fresh: bool) -> int:
        """Solve a stage in place; the node that failed, or -1 on success.

        Newton starts from the last evaluated state; what ``_update`` holds, the change foreseen
        with its sign turned, starts the linear solver.  After each update the
        residual is measured anew and turned into the next update it would cause, by the factors at
        hand: that estimate says when to stop.  Where it is still large, mostly a few
        nodes, the iteration goes on in these alone.  The matrix serves both stages
        of a step and is renewed if that does not suffice.  At the end of a step the
        residuals are made to add up to nothing, see `_close`.
        """
        system, history = self.system, self._history
        system.assemble(trial, rate, history, loads, jacobian=fresh, where=None if fresh else system.nowhere)
        if self._at_rest(rate):
            return -1
        scale = self._fill_scale()
        worst, renew, left, before = -1, fresh, np.inf, np.inf
        for attempt in range(MOST_NEWTON):
            if renew:
                if attempt > 0:
                    system.assemble(trial, rate, history, loads, jacobian=True)
                self.effort.matrices += 1
                np.take(system.values[:, 0], system.diagonal, out=self._stiffness)
                self._matrix_capacity[:] = system.capacity
                if not system.factorise():
                    return self._worst_defect()
            if left > NEWTON_SHARE or attempt > PATIENT:
                if attempt > 0:
                    self._update[:] = 0.0
                used = system.solve(system.residual, self._update, scale, LINEAR_SHARE, LINEAR_DROP)
                self.effort.linear += abs(used)
                if used < 0 or not steps.largest(system.everywhere.nodes, self._update, scale)[1] < np.inf:
                    return self._worst_defect()
            self.effort.updates += 1
            softened = self._move(trial, rate, scale)
            sums = system.assemble(trial, rate, history, loads, jacobian=False)
            worst, left = self._next_update(scale)
            self._bent = self._bent or left > RENEW or softened > 0
            if left > SPOT or softened > 0:
                worst, left, softened, sums = self._settle(trial, rate, loads, scale, (worst, left, softened, sums))
            done = left <= NEWTON_SHARE and softened == 0
            if done and (fresh or self._close(trial, rate, scale, sums, late=attempt >= ENOUGH)):
                return -1
            slow = left > SLOW * before and (left > NEWTON_SHARE or attempt > PATIENT)
            renew, before = left > RENEW or slow or softened != 0, left
        return worst

    def _settle(self, trial: State, rate: float, loads: Floats, scale: Floats, found: Found) -> Found:
        """Iterate in rounds where updates are still large; the state is put back if that led astray."""
        self._before.take(trial)
        now = found
        for _ in range(ROUNDS):
            sums, softened = self._iterate_patch(trial, rate, loads, scale)
            if softened == UNSETTLED:
                break
            worst, left = self._next_update(scale)
            now = worst, left, softened, sums
            if left <= SPOT and softened == 0:
                return now
        if softened != UNSETTLED and now[1] <= max(found[1], NEWTON_SHARE):
            return now
        system = self.system
        trial.take(self._before)
        system.evaluate(trial)
        sums = system.assemble(trial, rate, self._history, loads, jacobian=False)
        return found[0], found[1], UNSETTLED, sums

    def _iterate_patch(self, trial: State, rate: float, loads: Floats, scale: Floats) -> tuple[Sums, int]:
        """Newton's iteration where ``_update`` is large, the rest held.

        Returns the sums of the residuals, and how many nodes softened in the
        last update, or `UNSETTLED` if they are too many or the iteration does not converge.
        """
        system, sums = self.system, (0.0, 0.0, 0.0)
        where = system.patch(self._update, scale, SPOT)
        if where.nodes.size > LARGEST_PATCH * system.network.nodes:
            return sums, UNSETTLED
        before, renew, softened = np.inf, True, 0
        for _ in range(MOST_LOCAL):
            if renew:
                sums = system.assemble(trial, rate, self._history, loads, jacobian=True, where=where)
                self._stiffness[where.nodes] = system.values[system.diagonal[where.nodes], 0]
                self._matrix_capacity[where.nodes] = system.capacity[where.nodes]
                if not system.factorise_patch():
                    return sums, UNSETTLED
            np.copyto(self._update, system.residual)
            system.precondition_patch(self._update)
            left = float(steps.largest(where.nodes, self._update, scale)[1])
            if left <= SPOT and softened == 0:
                return sums, 0
            if not left < np.inf:
                return sums, UNSETTLED
            renew = left > SLOW * before or softened > 0
            before = left
            softened = self._move(trial, rate, scale, where)
            sums = system.assemble(trial, rate, self._history, loads, jacobian=False, where=where)
            self.effort.local_updates += 1
            self.effort.local_nodes += where.nodes.size
        return sums, softened

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
        self.effort.left_open += not closed and late and not still
        return bool(closed or late)

    def _at_rest(self, rate: float) -> bool:
        """Whether the residual is round-off already."""
        system = self.system
        return bool(steps.at_rest(system.residual, system.capacity, system.saturation, rate, REST))

    def _next_update(self, scale: Floats) -> tuple[int, float]:
        """Node and size of the largest update that the present residual would cause, by the factors."""
        self.system.precondition(self.system.residual, self._update)
        worst, size = steps.largest(self.system.everywhere.nodes, self._update, scale)
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
            nodes, state.temperature, state.potential, self._update, system.storage, self._matrix_capacity,
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

    def _local_error(self, rate_step: float) -> tuple[int, float]:
        """Node where the local error is worst, and the error there as a share of what is wanted.

        Stiff nodes follow their neighbours whatever they did before: the raw
        difference of the two formulas is filtered with the step's own matrix.
        """
        steps.combine(self._inflows, rate_step * ERROR_WEIGHTS, self._update)
        self.system.precondition(self._update, self._update)
        worst, size = steps.largest(self.system.everywhere.nodes, self._update, self._fill_scale())
        return int(worst), float(size)


def difference(later: State, earlier: State, factor: float, out: Floats) -> None:
    """Put a multiple of the change of the unknowns into ``out`` (N, 2)."""
    np.subtract(later.temperature, earlier.temperature, out=out[:, 0])
    np.subtract(later.potential, earlier.potential, out=out[:, 1])
    out *= factor
