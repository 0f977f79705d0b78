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

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import state_kernels
from stemwall.solver import step_kernels as steps
from stemwall.solver.effort import Effort
from stemwall.solver.errors import SolverError
from stemwall.solver.local_steps import LocalSteps, LongStep
from stemwall.solver.march_kernels import WAITING, take_step
from stemwall.solver.scheme import COEFFICIENTS, DIAGONAL, STAGE, WEIGHTS, LoadsInTime, longer, next_end, shorter
from stemwall.solver.settings import Accuracy
from stemwall.solver.stage import StageSolver
from stemwall.solver.stage_kernels import BEGIN, DIRECT, GO_ON, RESUME, SOLVED
from stemwall.solver.system import Patch, State, System

Floats = NDArray[np.float64]
#: first step of a run [s]
FIRST_STEP = 300.0
HOUR = 3600.0
#: change of nodes, as a share of the wanted error, by what others did when they marched alone, and tries to do better
STRAYED, TRIES = 0.5, 2


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
    stage : StageSolver
        What solves the stages; knows the wanted errors.

    next_step : float
        Length that the next step should have [s].
    in_turn : bool
        Whether loads are asked for just before each stage, not all before the step: they may set sources too.

    With ``equal_steps`` all steps have the longest length allowed, whatever their error; Newton's iteration still
    works to the share of the wanted error that the accuracy states.
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
        *,
        equal_steps: bool = False,
    ) -> None:
        self.system, self.loads, self.accuracy = system, loads, accuracy
        self.state, self.time = start.copy(), 0.0
        system.evaluate(start)
        self.conserved = system.storage.copy()
        self.through = np.zeros_like(system.flows)
        self.injected = np.zeros(2)
        self.effort = Effort()
        self.equal_steps, self.in_turn = equal_steps, False
        self.next_step = accuracy.longest_step if equal_steps else FIRST_STEP
        self.stage = StageSolver(system, accuracy, importance, start)
        self._local = LocalSteps(system, self.stage, accuracy)
        count = system.network.nodes
        self._drift, self._history, zeros = np.zeros((3, count, 2))
        self._inflows, self._flows = np.zeros((3, count, 2)), np.zeros((3, *system.flows.shape))
        #: what `march_kernels.take_step` and `step_kernels.book` keep accounts in, and the loads of a step
        self._accounts = self.conserved, self._drift, self._history, zeros, self._inflows, self._flows
        self._loads = tuple(np.zeros_like(loads.at(0.0, 0.0)) for _ in range(3))
        self._spare = [start.copy(), start.copy(), start.copy()]
        #: whether the system stands at the state, evaluated and assembled
        self._standing = False

    def advance_to(self, target: float) -> None:
        """March to a time [s]; the last step ends there exactly.

        Raises
        ------
        SolverError
            If the nonlinear iteration fails at the shortest step.
        """
        while self.time < target - 1e-6:
            if not self._step(next_end(self.time, target, min(self.next_step, self.accuracy.longest_step))):
                self.system.evaluate(self.state)
                self._standing = False

    def _step(self, end: float) -> bool:
        """Try a step; True if it was accepted."""
        middle, trial = self._spare[:2]
        long = LongStep(self.time, end, (self.state, middle, trial), self._loads, self.conserved)
        step = end - self.time
        for number in range(0 if self.in_turn else 3):
            self._loads[number][:] = self.loads.at(long.times[number], long.during)
        ended, node, error, few = self._solve(0, BEGIN, self.system.nowhere, long)
        if ended != SOLVED:
            return self._give_way(step, node)
        if self.equal_steps:
            error = 0.0
        alone = self._local.suffices(few) and not self.in_turn  # then the length of the step is not for them to choose
        if error > 1.0 and step > self.accuracy.resolved:
            if not (alone and self._march_alone(long, error)):
                self.effort.reject(node, newton=False)
                self.next_step = max(step * (0.5 if alone else shorter(error)), self.accuracy.resolved)
                return False
        elif error > 1.0:
            self.effort.unresolved += 1
        else:
            self.effort.worst_error = max(self.effort.worst_error, error)
        defect = steps.book(
            step, tuple(WEIGHTS), 1.0 / ((1.0 - STAGE) * step), long.unknowns, self._accounts, self.system.storage,
            self.system.saturation, self.system.source, self.through, self.injected,
        )  # fmt: skip
        self.effort.largest_defect = max(self.effort.largest_defect, defect)
        self.effort.steps += 1
        self.state, self._spare[1], self.time, self._standing = trial, self.state, end, True
        self.next_step = step * (4.0 if alone else longer(error))
        return True

    def _solve(self, number: int, entry: int, where: Patch, long: LongStep) -> tuple[int, int, float, int]:
        """Take a step, or solve its last stage again after a patch has moved; what `take_step` says, but the stage."""
        stage = self.stage
        while True:
            if self.in_turn and entry == BEGIN:
                self._loads[number][:] = self.loads.at(long.times[number], long.during)
            ended, number, node, error, few = take_step(
                number, entry, self.in_turn, self._standing, where.nodes, where.paths, long.end - long.begun,
                COEFFICIENTS, self._loads, long.unknowns, self._accounts, stage.wanted, *stage.given,
            )  # fmt: skip
            stage.count(self.effort)
            if ended == DIRECT:
                stage.solve_directly(self.effort)
            elif ended != WAITING:
                return ended, node, error, few
            entry = GO_ON if ended == DIRECT else BEGIN

    def _march_alone(self, long: LongStep, error: float) -> bool:
        """March the nodes with large errors through a step alone and solve its end again; False if that fails.

        If others end up elsewhere than before, they should have marched along: once more, with these.
        """
        stage, end, before = self.stage, long.course[2], self._spare[2]
        rate = 1.0 / (DIAGONAL * (long.end - long.begun))
        for _ in range(TRIES):
            given = self._local.run(long, error, self.effort)
            if given is None:
                return False
            before.take(end)
            inside = self.system.marked.copy()
            self._history += rate * given.nodes
            if self._solve(2, RESUME, given.where, long)[0] != SOLVED:
                return False
            self._inflows[2] = self.system.inflow + rate * given.nodes
            self._flows[2] = self.system.flows + rate * given.surfaces
            difference(before, end, 1.0, stage.update)
            stage.update[inside] = 0.0
            if steps.largest(self.system.everywhere.nodes, stage.update, stage.scale)[1] <= STRAYED:
                return True
            self._history -= rate * given.nodes
            stage.update[inside, 0] = 1.0 / stage.scale[inside, 0]  # they march again
        return False

    def _give_way(self, step: float, node: int) -> bool:
        self.effort.reject(node, newton=True)
        self._drift[:] = 0.0
        self.next_step = 0.25 * step
        if self.next_step < self.accuracy.shortest_step:
            raise SolverError(self._describe(node))
        return False

    def _describe(self, node: int) -> str:
        network = self.system.network
        part = int(np.flatnonzero(network.part_node == node)[0])
        number = int(network.part_region[part])
        region = network.mesh.section.regions[number].name if number >= 0 else "air zone"
        return (
            f"the run stopped at hour {self.time / HOUR:.2f}: the nonlinear iteration did not converge "
            f"although the step was cut to {self.next_step:.3g} s; worst place "
            f"x = {network.node_x[node]:.4g} m, y = {network.node_y[node]:.4g} m in region '{region}' "
            f"(T = {self.state.temperature[node]:.2f} degC, suction = "
            f"{state_kernels.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )


def difference(later: State, earlier: State, factor: float, out: Floats) -> None:
    """Put a multiple of the change of the unknowns into ``out`` (N, 2)."""
    np.subtract(later.temperature, earlier.temperature, out=out[:, 0])
    np.subtract(later.potential, earlier.potential, out=out[:, 1])
    out *= factor
