"""Marching in time: variable-step BDF2 in conservation form, error-controlled.

What is stepped is enthalpy and water themselves.  With alpha = (1 + 2r)/(1 + r),
beta = r^2/(1 + r), r = step/last step,

    alpha (W1 - W0) - beta (W0 - W_) = step * F(x1),

and r = 0 gives the implicit Euler step that starts a run and follows a jump.
Amounts through surfaces obey the same recursion, so they add up to the change of
storage exactly.  The balance residual left by the nonlinear iteration is carried
into the next step (W1 is what the fluxes say, not what the state says), so no
tolerance leaks mass or energy; its size is reported.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stemwall.solver import balance_kernels as kernels
from stemwall.solver.errors import SolverError
from stemwall.solver.settings import Accuracy
from stemwall.solver.system import State, System

Floats = NDArray[np.float64]

#: Newton stops when an update is this share of the wanted local error
NEWTON_SHARE = 0.1
#: the linear solver works to this share of the wanted local error ...
LINEAR_SHARE = 0.01
#: ... and at least to this share of its first residual, so that its noise does not feed on the prediction
LINEAR_DROP = 0.03
MOST_NEWTON = 10
#: first step after a jump of the loads [s]
RESTART_STEP = 600.0
HOUR = 3600.0


class LoadsInTime(Protocol):
    """What the marching asks of loads: the rows at a time [s], (surfaces, columns)."""

    def at(self, seconds: float) -> Floats: ...


@dataclass
class Effort:
    """What the marching did: counts, and where steps were rejected.

    ``unresolved`` counts steps kept although a faster transient went unresolved;
    ``largest_defect`` is the largest balance residual carried, as a share of a
    node's saturation; ``worst_error`` the largest accepted local error, as a share
    of what is wanted, on resolved steps.
    """

    steps: int = 0
    newton: int = 0
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
        The state now.
    time : float
        Time now [s].
    conserved : Floats
        Enthalpy and water of each node by the fluxes (N, 2) [J/m, kg/m].
    through : Floats
        Amounts that entered through each surface so far, (surfaces, 4) [J/m, kg/m ...].
    """

    def __init__(self, system: System, loads: LoadsInTime, start: State, accuracy: Accuracy) -> None:
        self.system, self.loads, self.accuracy = system, loads, accuracy
        self.state, self.time = start.copy(), 0.0
        system.evaluate(start)
        self.conserved = system.storage.copy()
        self.gained = np.zeros_like(self.conserved)
        self.flowed = np.zeros_like(system.flows)
        self.through = np.zeros_like(system.flows)
        self.injected = np.zeros(2)
        self._injected_step = np.zeros(2)
        self.effort = Effort()
        self._past: list[tuple[float, State]] = []
        self._last_step = 0.0
        self._next_step = RESTART_STEP

    def restart(self) -> None:
        """Forget the past: the loads jump here."""
        self._past.clear()
        self._last_step = 0.0
        self._next_step = min(self._next_step, RESTART_STEP)

    def advance_to(self, target: float) -> None:
        """March to a time [s]; the last step ends there exactly.

        Raises
        ------
        SolverError
            If the nonlinear iteration fails at the shortest step.
        """
        while self.time < target - 1e-6:
            left = target - self.time
            wanted = min(self._next_step, self.accuracy.longest_step)
            if self._last_step > 0.0:
                wanted = min(wanted, 2.0 * self._last_step)
            count = int(np.ceil(left / wanted - 1e-9))
            self._try_step(left / count, last=count == 1, target=target)

    def _try_step(self, step: float, *, last: bool, target: float) -> None:
        end = target if last else self.time + step
        ratio = step / self._last_step if self._last_step > 0.0 else 0.0
        alpha, beta = (1 + 2 * ratio) / (1 + ratio), ratio * ratio / (1 + ratio)
        system = self.system
        guess, share = self._predict(step, ratio)
        history = (alpha * self.conserved + beta * self.gained) / step
        trial = guess.copy()
        failed_at = self._newton(trial, alpha / step, history, self.loads.at(end))
        if failed_at >= 0:
            self.effort.reject(failed_at, newton=True)
            self._next_step = 0.25 * step
            if self._next_step < self.accuracy.shortest_step:
                raise SolverError(self._describe(failed_at))
            return
        error, node = self._local_error(trial, guess, share, alpha / step)
        if error > 1.0 and step > self.accuracy.resolved:
            self.effort.reject(node, newton=False)
            order = 3 if share is not None and ratio > 0 else 2
            shorter = step * max(0.2, 0.85 * error ** (-1 / order))
            self._next_step = max(shorter, self.accuracy.resolved)
            return
        self.effort.unresolved += error > 1.0
        self._accept(trial, step, end, alpha, beta)
        if error <= 1.0:
            self.effort.worst_error = max(self.effort.worst_error, error)
        order = 3 if ratio > 0 else 2
        growth = min(2.0, max(0.5, 0.85 * max(error, 1e-6) ** (-1 / order)))
        self._next_step = step * growth

    def _accept(self, trial: State, step: float, end: float, alpha: float, beta: float) -> None:
        system = self.system
        defect = system.residual * (step / alpha)
        conserved = system.storage - defect
        self.effort.steps += 1
        size = float(np.max(np.abs(defect[:, 1]) / np.maximum(system.saturation, 1e-12)))
        self.effort.largest_defect = max(self.effort.largest_defect, size)
        self.gained = conserved - self.conserved
        self.conserved = conserved
        self.flowed = (beta * self.flowed + step * system.flows) / alpha
        self.through += self.flowed
        self._injected_step = (beta * self._injected_step + step * system.source.sum(axis=0)) / alpha
        self.injected += self._injected_step
        self._past.insert(0, (self.time, self.state))
        del self._past[2:]
        self.state, self.time, self._last_step = trial, end, step

    def _describe(self, node: int) -> str:
        network = self.system.network
        part = int(np.flatnonzero(network.part_node == node)[0])
        region = network.mesh.section.regions[network.part_region[part]].name
        return (
            f"the run stopped at hour {self.time / HOUR:.2f}: the nonlinear iteration did not converge although the step "
            f"was cut to {self._next_step:.3g} s; worst place x = {network.node_x[node]:.4g} m, "
            f"y = {network.node_y[node]:.4g} m in region '{region}' "
            f"(T = {self.state.temperature[node]:.2f} degC, suction = "
            f"{kernels.suction_of(self.state.potential[node])[0]:.4g} Pa). "
            "Try a finer mesh there, check the material's retention curve and the loads of that hour, "
            "or loosen the accuracy and compare."
        )

    def _predict(self, step: float, ratio: float) -> tuple[State, float | None]:
        """Extrapolated state, and the share of (solution - prediction) that is local error."""
        now = self.state
        if not self._past:
            return now.copy(), None
        t0, (t1, x1) = self.time, self._past[0]
        h0 = t0 - t1
        if len(self._past) == 1:
            f = step / h0
            guess = State(
                now.temperature + f * (now.temperature - x1.temperature),
                now.potential + f * (now.potential - x1.potential),
            )
            if ratio == 0.0:
                return guess, None
            # BDF2 against linear extrapolation: take the difference as a bound
            return guess, 0.25
        t2, x2 = self._past[1]
        h1 = t1 - t2
        a1 = -step * (step + h0 + h1) / (h0 * h1)
        a2 = step * (step + h0) / ((h0 + h1) * h1)
        a0 = 1.0 - a1 - a2
        guess = State(
            a0 * now.temperature + a1 * x1.temperature + a2 * x2.temperature,
            a0 * now.potential + a1 * x1.potential + a2 * x2.potential,
        )
        predictor = step * (step + h0) * (step + h0 + h1) / 6
        corrector = step**3 * (1 + ratio) ** 2 / (6 * ratio * (1 + 2 * ratio))
        return guess, corrector / (corrector + predictor)

    def _scale(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown, (N, 2)."""
        a, system = self.accuracy, self.system
        scale = np.empty((system.network.nodes, 2))
        scale[:, 0] = 1.0 / a.temperature
        humidity = np.abs(system.node_state[:, kernels.RH_S]) / a.humidity
        water = np.abs(system.capacity[:, 2]) / (a.saturation * system.saturation)
        scale[:, 1] = np.maximum(np.maximum(humidity, water), 1e-3)
        return scale

    def _newton(self, trial: State, rate: float, history: Floats, loads: Floats) -> int:
        """Solve the step in place; the node that failed, or -1 on success."""
        system = self.system
        for _ in range(MOST_NEWTON):
            system.evaluate(trial)
            system.assemble(trial, rate, history, loads, jacobian=True)
            self.effort.newton += 1
            if not system.factorise():
                return int(np.argmax(np.abs(system.residual[:, 1])))
            scale = self._scale()
            update = -system.residual
            used = system.solve(update, scale, LINEAR_SHARE, LINEAR_DROP)
            self.effort.linear += abs(used)
            if used < 0 or not np.isfinite(update).all():
                return int(np.argmax(np.abs(system.residual[:, 1])))
            scaled = np.abs(update * scale)
            worst = int(np.argmax(scaled.max(axis=1)))
            size = float(scaled[worst].max())
            self._limit(trial, update)
            if size <= NEWTON_SHARE:
                system.evaluate(trial)
                system.assemble(trial, rate, history, loads, jacobian=False)
                worst, size = self._defect(rate)
                if size <= NEWTON_SHARE:
                    return -1
        return worst

    def _defect(self, rate: float) -> tuple[int, float]:
        """Node with the largest balance residual, and its size as a share of the wanted local error."""
        system, a = self.system, self.accuracy
        heat = np.abs(system.residual[:, 0]) / (rate * a.temperature * system.capacity[:, 0])
        water = np.abs(system.residual[:, 1]) / (rate * a.saturation * system.saturation)
        share = np.maximum(heat, water)
        worst = int(np.argmax(share))
        return worst, float(share[worst])

    @staticmethod
    def _limit(trial: State, update: Floats) -> None:
        """Apply an update with care: small steps in the capillary range, none far across saturation."""
        trial.temperature += np.clip(update[:, 0], -15.0, 15.0)
        before = trial.potential
        after = before + update[:, 1]
        capillary = (before > 0.0) & (before < kernels.Y1)
        after = np.where(capillary, np.clip(after, before - 2.0, before + 2.0), after)
        after = np.where((before > 0.0) & (after < -0.2), -0.2, after)
        after = np.where((before < 0.0) & (after > 0.2), 0.2, after)
        dry = before >= kernels.Y1
        after = np.where(dry & (after < kernels.Y1 - 1.0), kernels.Y1 - 1.0, after)
        trial.potential = np.minimum(after, kernels.Y1 + (kernels.RH1 - kernels.DRIEST) / kernels.D1)

    def _local_error(
        self, trial: State, guess: State, share: float | None, rate: float
    ) -> tuple[float, int]:
        """Local error as a share of what is wanted, and the node where it is worst."""
        system = self.system
        difference = np.stack(
            [trial.temperature - guess.temperature, trial.potential - guess.potential], axis=1
        )
        difference *= 0.5 if share is None else share
        # stiff nodes follow their neighbours, whatever the prediction: filter with the step's own matrix
        weighted = np.empty_like(difference)
        c = system.capacity
        weighted[:, 0] = rate * (c[:, 0] * difference[:, 0] + c[:, 1] * difference[:, 1])
        weighted[:, 1] = rate * c[:, 2] * difference[:, 1]
        system.precondition(weighted)
        scaled = np.abs(weighted * self._scale()).max(axis=1)
        worst = int(np.argmax(scaled))
        return float(scaled[worst]), worst
