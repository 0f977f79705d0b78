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

from stemwall.solver.integration.statistics import Effort
from stemwall.solver.integration.substep_workspace import MOST_ALONE, room_for_few
from stemwall.solver.integration.system import State, System
from stemwall.solver.integration.workspace import StageSolver
from stemwall.solver.kernels.newton.stage import BEGIN, DIRECT, FAILED, GO_ON, SOLVED
from stemwall.solver.kernels.physics import material_state
from stemwall.solver.kernels.time.coefficients import (
    COEFFICIENTS,
    STAGE,
    WEIGHTS,
    LoadsInTime,
    longer,
    next_end,
    shorter,
)
from stemwall.solver.kernels.time.step import try_step
from stemwall.solver.kernels.time.tr_bdf2 import WAITING
from stemwall.solver.model.errors import SolverError
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
#: first step of a run [s]
FIRST_STEP = 300.0
HOUR = 3600.0


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
        Amounts that entered through each surface so far, (surfaces, 5) [J/m, kg/m], see `flux_kernels.assemble`.
    injected : Floats
        Amounts that given sources added so far, (2,) [J/m, kg/m].
    stage : StageSolver
        What solves the stages; knows the wanted errors.

    next_step : float
        Length that the next step should have [s].
    in_turn : bool
        Whether loads are asked for just before each stage, not all before the step: they may set sources too.
    most_alone : float
        Largest share of all nodes that may march alone where a step was too long [-].

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
        self.state, self.time = start.copy(system.pages), 0.0
        system.evaluate(start)
        self.conserved = system.pages.keep(system.storage)
        self.through = np.zeros_like(system.flows)
        self.injected = np.zeros(2)
        self.effort = Effort()
        self.equal_steps, self.in_turn = equal_steps, False
        self.next_step = accuracy.longest_step if equal_steps else FIRST_STEP
        self.stage = StageSolver(system, accuracy, importance, start)
        count = system.network.nodes
        drift, history, zeros = system.pages.zeros((3, count, 2))
        inflows, flows = system.pages.zeros((3, count, 2)), np.zeros((3, *system.flows.shape))
        #: what `march_kernels.take_step` keeps accounts in, the loads of a step, and what `step_kernels.book` adds to
        self._accounts = self.conserved, drift, history, zeros, inflows, flows
        self._loads = tuple(np.zeros_like(loads.at(0.0, 0.0)) for _ in range(3))
        self._booked = self.through, self.injected, np.zeros(1)
        self.most_alone, self._few = MOST_ALONE, room_for_few(system, self._loads[0])
        self._spare = [start.copy(system.pages), start.copy(system.pages)]
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
        step = end - self.time
        ended, node, error, few = self._try(step)
        if ended == FAILED:
            return self._give_way(step, node)
        if ended != SOLVED:
            self.effort.reject(node, newton=False)
            self.next_step = max(step * (0.5 if few else shorter(error)), self.accuracy.resolved)
            return False
        if error <= 1.0:
            self.effort.worst_error = max(self.effort.worst_error, error)
        self.effort.largest_defect = max(self.effort.largest_defect, float(self._booked[2][0]))
        self.effort.steps += 1
        self.state, self._spare[1], self.time, self._standing = self._spare[1], self.state, end, True
        # the length of a step is not for few nodes to choose
        self.next_step = step * (4.0 if few else longer(error))
        return True

    def _try(self, step: float) -> tuple[int, int, float, bool]:
        """What `try_step` says but the stage; loads and direct solutions as it asks for them."""
        stage, (middle, trial) = self.stage, self._spare
        times, during = (self.time, self.time + STAGE * step, self.time + step), self.time + 0.5 * step
        rest = (
            self._loads, (*self.state.unknowns, *middle.unknowns, *trial.unknowns), self._accounts, stage.wanted,
            *stage.given,
        )  # fmt: skip
        number, entry = 0, BEGIN
        for row, time in zip(self._loads[: 1 if self.in_turn else 3], times, strict=False):
            row[:] = self.loads.at(time, during)
        while True:
            ended, number, node, error, few = try_step(
                number, entry, self.in_turn, self._standing, self.equal_steps, step, self.accuracy.resolved,
                self.most_alone, COEFFICIENTS, WEIGHTS, self._booked, self._few, *rest,
            )  # fmt: skip
            if ended == WAITING:
                entry = BEGIN
                self._loads[number][:] = self.loads.at(times[number], during)
            elif ended == DIRECT:
                entry = GO_ON
                stage.solve_directly(self.effort)
            else:
                stage.count(self.effort)
                return ended, node, error, few

    def _give_way(self, step: float, node: int) -> bool:
        self.effort.reject(node, newton=True)
        self._accounts[1][:] = 0.0  # the drift may have led astray
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
            f"{material_state.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )
