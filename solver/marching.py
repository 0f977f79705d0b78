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
from stemwall.solver.system import State, System

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
        self.stage = StageSolver(system, accuracy, importance, start)
        self._local = LocalSteps(system, self.stage, loads, accuracy)
        self._history = np.zeros((count, 2))
        self._inflows = np.zeros((3, count, 2))
        self._flows = np.zeros((3, *system.flows.shape))
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
            if not self._step(next_end(self.time, target, min(self._next_step, self.accuracy.longest_step))):
                self.system.evaluate(self.state)
                self._standing = False

    def _step(self, end: float) -> bool:
        """Try a step; True if it was accepted."""
        step = end - self.time
        system, during, trial = self.system, self.time + 0.5 * step, self._spare[1]
        stage = self.stage
        stage.bent = False
        rate = 1.0 / (DIAGONAL * step)
        where = system.nowhere if self._standing else None
        system.assemble(self.state, 0.0, self._zeros, self.loads.at(self.time, during), jacobian=False, where=where)
        self._note(0)
        np.multiply(self._drift, -STAGE * step, out=stage.update)
        steps.weigh(self.conserved, rate, self._inflows[0], 1.0, self._zeros, self._history)
        trial.take(self.state)
        loads = self.loads.at(self.time + STAGE * step, during)
        failed_at = stage.solve(trial, rate, self._history, loads, self.effort, fresh=True)
        if failed_at >= 0:
            return self._give_way(step, failed_at)
        self._note(1)
        middle = self._spare[0]
        middle.take(trial)
        difference(self.state, middle, (1.0 - STAGE) / STAGE, stage.update)
        steps.weigh(
            self.conserved, rate, self._inflows[0], rate * WEIGHT * step, self._inflows[1], self._history
        )
        failed_at = stage.solve(trial, rate, self._history, self.loads.at(end, during), self.effort, fresh=False)
        if failed_at >= 0:
            return self._give_way(step, failed_at)
        self._note(2)
        if stage.bent:
            system.factorise()
        node, error = self._local_error(rate * step)
        few = self._local.suffices()  # then the length of the step is not for them to choose
        if error > 1.0 and step > self.accuracy.resolved:
            long = LongStep(self.time, end, (self.state, middle, trial), self.conserved)
            if not (few and self._march_alone(long, rate, error)):
                self.effort.reject(node, newton=False)
                self._next_step = max(step * (0.5 if few else shorter(error)), self.accuracy.resolved)
                return False
        elif error > 1.0:
            self.effort.unresolved += 1
        else:
            self.effort.worst_error = max(self.effort.worst_error, error)
        self._accept(trial, middle, end)
        self._next_step = step * (4.0 if few else longer(error))
        return True

    def _march_alone(self, long: LongStep, rate: float, error: float) -> bool:
        """March the nodes with large errors through a step alone and solve its end again; False if that fails.

        If others end up elsewhere than before, they should have marched along: once more, with these.
        """
        stage, end, before = self.stage, long.course[2], self._spare[2]
        loads = self.loads.at(long.end, 0.5 * (long.begun + long.end)).copy()
        for _ in range(TRIES):
            given = self._local.run(long, error, self.effort)
            if given is None:
                return False
            before.take(end)
            inside = self.system.marked.copy()
            self._history += rate * given.nodes
            if stage.resume(end, rate, self._history, loads, self.effort, given.where) >= 0:
                return False
            self._note(2)
            self._inflows[2] += rate * given.nodes
            self._flows[2] += rate * given.surfaces
            difference(before, end, 1.0, stage.update)
            stage.update[inside] = 0.0
            if steps.largest(self.system.everywhere.nodes, stage.update, stage.scale)[1] <= STRAYED:
                return True
            self._history -= rate * given.nodes
            stage.update[inside, 0] = 1.0 / stage.scale[inside, 0]  # they march again
        return False

    def _note(self, number: int) -> None:
        """Keep what flows at a stage."""
        self._inflows[number], self._flows[number] = self.system.inflow, self.system.flows

    def _accept(self, trial: State, middle: State, end: float) -> None:
        step, system = end - self.time, self.system
        weights = step * WEIGHTS
        defect = steps.accept(
            self.conserved, self._inflows, weights, system.storage, system.saturation,
            middle.temperature, middle.potential, trial.temperature, trial.potential,
            1.0 / ((1.0 - STAGE) * step), self._drift,
        )  # fmt: skip
        through = summed(weights, self._flows)
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

    def _local_error(self, rate_step: float) -> tuple[int, float]:
        """Node where the local error is worst, and the error there as a share of what is wanted.

        Stiff nodes follow their neighbours whatever they did before: the raw
        difference of the two formulas is filtered with the step's own matrix.
        """
        error = self.stage.update
        steps.combine(self._inflows, rate_step * ERROR_WEIGHTS, error)
        self.system.precondition(error, error)
        worst, size = steps.largest(self.system.everywhere.nodes, error, self.stage.fill_scale())
        return int(worst), float(size)


def difference(later: State, earlier: State, factor: float, out: Floats) -> None:
    """Put a multiple of the change of the unknowns into ``out`` (N, 2)."""
    np.subtract(later.temperature, earlier.temperature, out=out[:, 0])
    np.subtract(later.potential, earlier.potential, out=out[:, 1])
    out *= factor
