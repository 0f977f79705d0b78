"""Time integration: TR-BDF2 in conservation form, error-controlled.

What is stepped is enthalpy and water themselves, see `kernels.time.coefficients`.  Amounts through surfaces are summed
with the weights of the scheme, so they add up to the change of storage exactly.  The balance residual that the
nonlinear iteration leaves is carried into the next step (the new storage is what the fluxes say, not what the state
says), so no tolerance leaks mass or energy; its size is reported, and its sum over all nodes is nothing.  The scheme
is a one-step one: nothing is remembered across a jump or a kink of the loads.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.integration.statistics import Statistics
from stemwall.solver.integration.system import State, System
from stemwall.solver.integration.workspace import MAX_LOCAL_SHARE, substep_workspace
from stemwall.solver.kernels.newton.stage import FAILED, SOLVED
from stemwall.solver.kernels.physics import material_state
from stemwall.solver.kernels.support.arrays import Accounts, StageStates, StepControl, StepLoads
from stemwall.solver.kernels.support.norms import error_weights
from stemwall.solver.kernels.time.coefficients import IMPLICIT_EULER, TR_BDF2
from stemwall.solver.kernels.time.step import attempt_step
from stemwall.solver.kernels.time.step_control import growth_factor, next_step_end, reduction_factor
from stemwall.solver.model.errors import SolverError
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
#: first step of a run [s]
FIRST_STEP = 300.0
HOUR = 3600.0
#: a step counts as no longer than what is resolved up to this factor: equal steps up to a target are so by round-off
ROUNDED = 1.0 + 1e-6
#: after a step that Newton's iteration failed in, each may be so many times as long as the one before
RECOVERY = 2.0


class LoadsInTime(Protocol):
    """What the integrator asks of loads: rows (surfaces, columns) at a time [s] of a step.

    ``during`` is a time inside the step: what jumps at the step's ends has the value it has there.  Nodes that are
    sub-stepped see loads on straight lines between its three stages.
    """

    def at(self, seconds: float, during: float) -> Floats:
        """Rows at a time of a step."""
        ...


class TimeIntegrator:
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
        Amounts that entered through each surface so far, (surfaces, 5) [J/m, kg/m], see `arrays.Balance`.
    injected : Floats
        Amounts that given sources added so far, (2,) [J/m, kg/m].
    next_step : float
        Length that the next step should have [s].
    max_local_share : float
        Largest share of all nodes that may be sub-stepped where a step was too long [-].

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
        self.state, self.time = start.copy(system.arena), 0.0
        system.evaluate(start)
        self.through, self.injected = np.zeros_like(system.flows), np.zeros(2)
        self.statistics = Statistics()
        self.equal_steps, self.max_local_share = equal_steps, MAX_LOCAL_SHARE
        self.next_step = accuracy.longest_step if equal_steps else FIRST_STEP
        tolerances = system.problem.tolerances
        tolerances.wanted[:] = accuracy.temperature, accuracy.humidity, accuracy.saturation, accuracy.pressure
        tolerances.importance[:] = 1.0 if importance is None else importance
        count, zeros = system.network.nodes, system.arena.zeros
        self._accounts = Accounts(
            conserved=system.arena.keep(system.storage),
            drift=zeros((count, 2)),
            rhs=zeros((count, 2)),
            zeros=zeros((count, 2)),
            inflows=zeros((3, count, 2)),
            flows=np.zeros((3, *system.flows.shape)),
            through=self.through,
            injected=self.injected,
            defect=np.zeros(1),
        )
        self.conserved = self._accounts.conserved
        rows = loads.at(0.0, 0.0)
        first, middle, last, now = (np.zeros_like(rows) for _ in range(4))
        self._loads = StepLoads(first, middle, last, now, system.source, system.source, system.source)
        self._substeps = substep_workspace(system.network, system.arena)
        self._spare = [start.copy(system.arena), start.copy(system.arena)]
        #: Newton's iteration failed, and steps are shorter than what is resolved since: by implicit Euler
        self._failed = False
        #: a step no longer than this is hoped to be solved [s]: short after Newton's iteration failed
        self._solvable = accuracy.longest_step
        #: whether material state and error weights belong to the state
        self._current = False

    def advance_to(self, target: float) -> None:
        """Integrate to a time [s]; the last step ends there exactly.

        A step that is taken again is shorter, or as short as what is resolved, where its error does not count: time
        goes on, or the iteration fails at the shortest step.  Between steps an interruption gets through.

        Raises
        ------
        SolverError
            If the nonlinear iteration fails at the shortest step.
        """
        while self.time < target - 1e-6:
            if not self._step(next_step_end(self.time, target, min(self.next_step, self.accuracy.longest_step))):
                self.system.evaluate(self.state)
                self._current = False

    def drive_sources(self, sources: Sequence[Floats]) -> None:
        """Take given gains at the three times of a step from three arrays (N, 2), not from the system's one.

        Loads fill them when they are asked for these times, in that order; steps must be equal, since sub-steps take
        the last for all of their step.
        """
        start, middle, end = sources
        self._loads = self._loads._replace(source_start=start, source_middle=middle, source_end=end)

    def fill_weights(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown at the last evaluated state, (N, 2)."""
        problem = self.system.problem
        error_weights(problem.state, problem.newton, problem.tolerances)
        return problem.newton.weights

    def _step(self, end: float) -> bool:
        """Try a step; True if it was accepted."""
        step = end - self.time
        ended, node, error, few = self._attempt(step)
        if ended == FAILED:
            return self._give_way(step, node)
        if ended != SOLVED:
            self.statistics.reject(node, newton=False)
            self.next_step = max(step * (0.5 if few else reduction_factor(error)), self.accuracy.resolved)
            return False
        if error <= 1.0:
            self.statistics.worst_error = max(self.statistics.worst_error, error)
        self.statistics.max_residual = max(self.statistics.max_residual, float(self._accounts.defect[0]))
        self.statistics.steps += 1
        self.state, self._spare[1], self.time, self._current = self._spare[1], self.state, end, True
        # the length of a step is not for few nodes to choose
        wanted = step * 4.0 if few else max(step * growth_factor(error), min(step, self.accuracy.resolved))
        self.next_step = min(wanted, self._solvable)
        self._failed = self._failed and step < self.accuracy.resolved
        self._solvable = min(RECOVERY * self._solvable, self.accuracy.longest_step)
        return True

    def _attempt(self, step: float) -> tuple[int, int, float, bool]:
        """How a step ended, its worst node and error, and whether few enough nodes had a large one."""
        middle, trial = self._spare
        loads = self._loads
        damped = self._failed and step <= ROUNDED * self.accuracy.resolved
        within = (IMPLICIT_EULER if damped else TR_BDF2).middle * step
        times, during = (self.time, self.time + within, self.time + step), self.time + 0.5 * step
        for row, time in zip((loads.start, loads.middle, loads.end), times, strict=True):
            row[:] = self.loads.at(time, during)
        problem = self.system.problem
        ended, node, error, few = attempt_step(
            self._current,
            step,
            StepControl(ROUNDED * float(self.accuracy.resolved), float(self.max_local_share), self.equal_steps, damped),
            loads,
            StageStates(self.state.unknowns, middle.unknowns, trial.unknowns),
            self._accounts,
            self._substeps,
            problem,
        )
        self.statistics.take(problem.newton.counts)
        return ended, node, error, few

    def _give_way(self, step: float, node: int) -> bool:
        self.statistics.reject(node, newton=True)
        self._accounts.drift[:] = 0.0  # what it foresaw may be what failed
        self._failed, self.next_step, self._solvable = True, 0.25 * step, 0.25 * step
        if self.next_step < self.accuracy.shortest_step:
            raise SolverError(self._describe(node))
        return False

    def _describe(self, node: int) -> str:
        network = self.system.network
        scv = int(np.flatnonzero(network.scv_node == node)[0])
        number = int(network.scv_region[scv])
        region = network.mesh.section.regions[number].name if number >= 0 else "air zone"
        return (
            f"the run stopped at hour {self.time / HOUR:.2f}: the nonlinear iteration did not converge "
            f"although the step was cut to {self.next_step:.3g} s; worst place "
            f"x = {network.node_x[node]:.4g} m, y = {network.node_y[node]:.4g} m in region '{region}' "
            f"(T = {self.state.temperature[node]:.2f} degC, suction = "
            f"{material_state.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )
