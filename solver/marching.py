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
reported.

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

from stemwall.solver import balance_kernels as kernels
from stemwall.solver import step_kernels as steps
from stemwall.solver.errors import SolverError
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import State, System

Floats = NDArray[np.float64]

STAGE = 2.0 - sqrt(2.0)
DIAGONAL = STAGE / 2.0
WEIGHT = sqrt(2.0) / 4.0
#: weights of F0, F1, F2 less those of the third-order companion, Hosea & Shampine 1996
ERROR_WEIGHTS = (
    WEIGHT - (1.0 - WEIGHT) / 3.0,
    WEIGHT - (3.0 * WEIGHT + 1.0) / 3.0,
    DIAGONAL - DIAGONAL / 3.0,
)
#: Newton stops when the next update would be below this share of the wanted local error
NEWTON_SHARE = 0.02
#: the linear solver works to this share of the wanted local error ...
LINEAR_SHARE = 0.004
#: ... and at least to this share of its first residual, so that its noise does not feed on itself
LINEAR_DROP = 0.02
#: most cheap updates, by the factors alone, that polish the balance at the end of a step
POLISH = 4
MOST_NEWTON = 15
#: a matrix is renewed while the next update would exceed this share of the wanted local error
RENEW = 0.3
#: ... or while it falls by less than to this share from one update to the next
SLOW = 0.3
#: sum of residuals that may be carried over a step, as a share of the water held or of ten kelvin of heat
BALANCE = 1e-8
TEN_KELVIN = 10.0
#: water residual that a node may carry over a step, as a share of the water it holds
CARRIED = 0.1
#: residuals below this share of saturation, or of one kelvin, are round-off
REST = 1e-12
DRIEST_POTENTIAL = kernels.Y1 + (kernels.RH1 - kernels.DRIEST) / kernels.D1
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

    ``updates`` counts nonlinear updates, ``matrices`` factorised matrices,
    ``linear`` iterations of the linear solver; ``unresolved`` counts steps kept
    although a faster transient went unresolved;
    ``largest_defect`` is the largest balance residual carried, as a share of a
    node's saturation; ``worst_error`` the largest accepted local error, as a share
    of what is wanted, on resolved steps.
    """

    steps: int = 0
    updates: int = 0
    matrices: int = 0
    linear: int = 0
    rejected_error: int = 0
    rejected_newton: int = 0
    unresolved: int = 0
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
        self._drift = np.zeros_like(self.conserved)
        self._next_step = FIRST_STEP
        self._zeros = np.zeros_like(self.conserved)
        self._switching = np.zeros(system.network.nodes, dtype=bool)
        self._switching[system.network.face_node] = True
        self._importance = np.ones(system.network.nodes) if importance is None else importance
        self._stiffness = np.ones(system.network.nodes)
        self._turns = np.ones_like(self.conserved)
        self._scale, self._update = np.zeros_like(self.conserved), np.zeros_like(self.conserved)

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

    def _step(self, end: float) -> bool:
        """Try a step; True if it was accepted."""
        step = end - self.time
        system, during = self.system, self.time + 0.5 * step
        rate = 1.0 / (DIAGONAL * step)
        system.assemble(self.state, 0.0, self._zeros, self.loads.at(self.time, during), jacobian=False)
        inflows, flows = [system.inflow.copy()], [system.flows.copy()]
        given = [system.source.sum(axis=0)]
        trial = self._ahead(STAGE * step)
        known = [
            lambda: rate * self.conserved + inflows[0],
            lambda: rate * (self.conserved + (WEIGHT * step) * (inflows[0] + inflows[1])),
        ]
        for stage, moment in enumerate((self.time + STAGE * step, end)):
            failed_at = self._solve(trial, rate, known[stage](), self.loads.at(moment, during), fresh=stage == 0)
            if failed_at >= 0:
                self._give_way(step, failed_at)
                return False
            inflows.append(system.inflow.copy())
            flows.append(system.flows.copy())
            given.append(system.source.sum(axis=0))
            if stage == 0:
                middle, trial = trial, self._beyond(trial)
        node, error = self._local_error(inflows, step, rate)
        if error > 1.0 and step > self.accuracy.resolved:
            self.effort.reject(node, newton=False)
            self._next_step = max(step * max(0.2, 0.85 * error ** (-1 / 3)), self.accuracy.resolved)
            return False
        self._accept(trial, middle, inflows, flows, given, end)
        if error > 1.0:
            self.effort.unresolved += 1
        else:
            self.effort.worst_error = max(self.effort.worst_error, error)
        self._next_step = step * min(4.0, max(0.3, 0.85 * max(error, 1e-6) ** (-1 / 3)))
        return True

    def _ahead(self, time: float) -> State:
        """The state extrapolated along its drift at the end of the last step."""
        guess = self.state.copy()
        self._move(guess, self._drift, time)
        return guess

    def _beyond(self, middle: State) -> State:
        """The end of the step, extrapolated through its start and its middle stage."""
        guess = middle.copy()
        self._move(guess, _difference(middle, self.state), (1.0 - STAGE) / STAGE)
        return guess

    def _accept(
        self,
        trial: State,
        middle: State,
        inflows: list[Floats],
        flows: list[Floats],
        given: list[Floats],
        end: float,
    ) -> None:
        step, system = end - self.time, self.system
        weights = (WEIGHT * step, WEIGHT * step, DIAGONAL * step)
        for weight, inflow, flow, source in zip(weights, inflows, flows, given, strict=True):
            self.conserved += weight * inflow
            self.through += weight * flow
            self.injected += weight * source
        defect = np.abs(system.storage[:, 1] - self.conserved[:, 1]) / system.saturation
        self.effort.largest_defect = max(self.effort.largest_defect, float(defect.max()))
        self.effort.steps += 1
        self._drift = _difference(trial, middle) / ((1.0 - STAGE) * step)
        self.state, self.time = trial, end

    def _give_way(self, step: float, node: int) -> None:
        self.effort.reject(node, newton=True)
        self._drift[:] = 0.0
        self._next_step = 0.25 * step
        if self._next_step < self.accuracy.shortest_step:
            raise SolverError(self._describe(node))

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
            f"{kernels.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )

    def _fill_scale(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown, (N, 2)."""
        a, system = self.accuracy, self.system
        steps.fill_scale(
            system.node_state[:, kernels.TOTAL_S], system.node_state[:, kernels.RH_S], system.capacity[:, 2],
            system.saturation, a.temperature, a.humidity, a.saturation, a.pressure, self._importance,
            self._scale,
        )  # fmt: skip
        return self._scale

    def _solve(self, trial: State, rate: float, history: Floats, loads: Floats, *, fresh: bool) -> int:
        """Solve a stage in place; the node that failed, or -1 on success.

        After each update the residual is measured anew and turned into the next
        update it would cause, by the factors at hand: that estimate says when to
        stop.  The matrix serves both stages of a step and is renewed if that does not
        suffice.  At the end of a step the same estimates are applied until the
        residuals add up to next to nothing.
        """
        system = self.system
        system.evaluate(trial)
        system.assemble(trial, rate, history, loads, jacobian=fresh)
        if self._at_rest(rate):
            return -1
        worst, renew, before = -1, fresh, np.inf
        self._turns[:, 0], self._turns[:, 1] = 0.0, 1.0
        for attempt in range(MOST_NEWTON):
            if renew and attempt > 0:
                system.assemble(trial, rate, history, loads, jacobian=True)
            if renew:
                self.effort.matrices += 1
                np.take(system.values[:, 0], system.diagonal, out=self._stiffness)
                if not system.factorise():
                    return self._worst_defect()
            scale = self._fill_scale()
            update = np.negative(system.residual, out=self._update)
            used = system.solve(update, scale, LINEAR_SHARE, LINEAR_DROP)
            self.effort.updates += 1
            self.effort.linear += abs(used)
            if used < 0 or not steps.largest(update, scale)[1] < np.inf:
                return self._worst_defect()
            crossed = self._move(trial, update, rate=rate)
            system.evaluate(trial)
            system.assemble(trial, rate, history, loads, jacobian=False)
            worst, left = self._next_update(scale)
            for _ in range(POLISH):
                if left > NEWTON_SHARE or fresh or crossed > 0 or self._balanced(rate):
                    break
                self._move(trial, self._update, -1.0, rate)
                system.evaluate(trial)
                system.assemble(trial, rate, history, loads, jacobian=False)
                worst, left = self._next_update(scale)
            if left <= NEWTON_SHARE and crossed == 0 and (fresh or self._balanced(rate)):
                return -1
            renew = left > RENEW or left > SLOW * before or crossed > 0
            before = left
        return worst

    def _balanced(self, rate: float) -> bool:
        """Whether the residuals left at the end of a step add up to little of what the section holds.

        And whether none is large against its own node's water: what is carried must
        never ask a nearly dry node for more than it has.
        """
        system = self.system
        heat, water = np.abs(system.residual.sum(axis=0)) / rate
        held = TEN_KELVIN * system.capacity[:, 0].sum()
        small = water <= BALANCE * system.storage[:, 1].sum() and heat <= BALANCE * held
        return bool(small and steps.carried_share(system.residual, system.storage, rate) <= CARRIED)

    def _at_rest(self, rate: float) -> bool:
        """Whether the residual is round-off already."""
        system = self.system
        return bool(steps.at_rest(system.residual, system.capacity, system.saturation, rate, REST))

    def _next_update(self, scale: Floats) -> tuple[int, float]:
        """Node and size of the largest update that the present residual would cause, by the factors."""
        np.copyto(self._update, self.system.residual)
        self.system.precondition(self._update)
        worst, size = steps.largest(self._update, scale)
        return int(worst), float(size)

    def _worst_defect(self) -> int:
        """Node with the largest water residual against its saturation."""
        return int(np.argmax(np.abs(self.system.residual[:, 1]) / self.system.saturation))

    def _move(self, state: State, update: Floats, factor: float = 1.0, rate: float = 0.0) -> int:
        """Add a multiple of an update (N, 2) to a state, cautiously; see `limited_update`.

        ``rate`` is zero for a prediction, which stops at the freezing point.
        """
        system = self.system
        crossed = steps.limited_update(
            state.temperature, state.potential, update, factor,
            system.node_state[:, kernels.TOTAL], system.node_state[:, kernels.TOTAL_S], system.capacity,
            self._stiffness, rate, self._turns,
            self._switching, kernels.Y1, DRIEST_POTENTIAL, kernels.CLAPEYRON, kernels.SPREAD, kernels.L_F,
        )  # fmt: skip
        return int(crossed)

    def _local_error(self, inflows: list[Floats], step: float, rate: float) -> tuple[int, float]:
        """Node where the local error is worst, and the error there as a share of what is wanted.

        Stiff nodes follow their neighbours whatever they did before: the raw
        difference of the two formulas is filtered with the step's own matrix.
        """
        difference = self._update
        difference[:] = 0.0
        for weight, inflow in zip(ERROR_WEIGHTS, inflows, strict=True):
            difference += (rate * step * weight) * inflow
        self.system.precondition(difference)
        worst, size = steps.largest(difference, self._fill_scale())
        return int(worst), float(size)


def _difference(later: State, earlier: State) -> Floats:
    """Change of the unknowns, (N, 2)."""
    return np.stack(
        [later.temperature - earlier.temperature, later.potential - earlier.potential], axis=1
    )
