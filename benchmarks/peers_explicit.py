"""Explicit peers on the equations of `peers_lines`: forward Euler and a stabilised Runge-Kutta-Chebyshev method.

Both work in T and y, by the capacity of each node; inverting enthalpy and water for the state at every
stage would cost them more and gain nothing here.  Their steps are limited by the spectral radius of the
Jacobian, found by power iteration on the exact matrix; its cost is theirs.  Hours are integrated one by one,
so that no step crosses a jump of the rain.

References
----------
.. [1] Sommeijer, Shampine, Verwer (1998), J. Comput. Appl. Math. 88, 315-326: the method of second order,
   its step control and error estimate (formulas from memory, held by the order shown in the tests).
"""

from __future__ import annotations

import time
from functools import cache

import numpy as np
from numpy.typing import NDArray
from peers_case import WARM_UP, Answer, Size, ready
from peers_lines import HourOfLines, Lines
from peers_stiff import wanted_errors

from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.system import State

Floats = NDArray[np.float64]

#: share of the limit of stability that Euler's steps take, since the radius moves between two looks at it
EULER_SHARE = 0.8
#: Euler's steps from one look at the spectral radius to the next
LOOK = 40
#: stages that a Chebyshev step may have
MOST_STAGES = 60
#: damping of the Chebyshev polynomials
DAMPING = 2.0 / 13.0


class Radius:
    """Spectral radius of the Jacobian by power iteration, which starts where it last ended."""

    def __init__(self, lines: Lines) -> None:
        self.lines = lines
        self._vector = np.random.default_rng(1).standard_normal(2 * lines.system.network.nodes)

    def at(self, t: float, u: Floats) -> float:
        """Radius [1/s] at a time and state."""
        matrix = self.lines.jacobian(t, u).tocsr()
        v, size = self._vector, 0.0
        for _ in range(60):
            v = v / np.linalg.norm(v)
            w = matrix @ v
            before, size = size, float(np.linalg.norm(w))
            v = w
            if abs(size - before) < 0.01 * size:
                break
        self._vector = v
        return size


def euler(size: Size, start: State, hours: int) -> Answer:
    """Forward Euler with steps at the limit of stability."""
    lines = HourOfLines(ready(size, 1.0, start))
    radius, u = Radius(lines), lines.pack(start)
    temperature, humidity, steps = [], [], 0
    begun = time.process_time()
    for hour in range(WARM_UP, WARM_UP + hours):
        lines.hour, t, end = hour, hour * HOUR, (hour + 1) * HOUR
        while t < end - 1e-6:
            if steps % LOOK == 0 or t == hour * HOUR:
                longest = EULER_SHARE * 2.0 / radius.at(t, u)
            step = min(longest, end - t)
            u += step * lines.rate(t, u)
            t += step
            steps += 1
        at, rh = lines.read(u)
        temperature.append(at)
        humidity.append(rh)
    seconds = time.process_time() - begun
    return Answer(np.array(temperature), np.array(humidity), seconds, {"steps": steps, "right sides": steps})


def chebyshev(size: Size, start: State, hours: int, tolerance: float) -> Answer:
    """Second-order Runge-Kutta-Chebyshev method with error control.

    ``tolerance`` multiplies the error per step that the march allows each unknown.
    """
    run = ready(size, 1.0, start)
    lines = HourOfLines(run)
    stepper = Chebyshev(lines, tolerance * wanted_errors(run.integrator).ravel())
    u, temperature, humidity = lines.pack(start), [], []
    begun = time.process_time()
    for hour in range(WARM_UP, WARM_UP + hours):
        lines.hour = hour
        u = stepper.advance(hour * HOUR, (hour + 1) * HOUR, u)
        at, rh = lines.read(u)
        temperature.append(at)
        humidity.append(rh)
    seconds = time.process_time() - begun
    counts = {"steps": stepper.steps, "right sides": lines.right_sides, "rejected": stepper.rejected}
    return Answer(np.array(temperature), np.array(humidity), seconds, counts)


class Chebyshev:
    """Steps a right side with as many stages as stability asks for the step that accuracy allows."""

    def __init__(self, lines: Lines, wanted: Floats) -> None:
        self.lines, self.wanted, self.radius = lines, wanted, Radius(lines)
        self.steps = self.rejected = 0
        self._next = 30.0

    def advance(self, t: float, end: float, u: Floats) -> Floats:
        """State at the end of an hour."""
        lines = self.lines
        rate, radius, age = lines.rate(t, u), 1.2 * self.radius.at(t, u), 0
        while t < end - 1e-6:
            count = int(np.ceil((end - t) / self._next - 1e-9))
            step = (end - t) / count
            stages = _stages(step * radius)
            if stages > MOST_STAGES:
                self._next = 0.653 * MOST_STAGES**2 / radius
                continue
            new = _stabilised(lines, t, u, rate, step, stages)
            new_rate = lines.rate(t + step, new)
            error = float(np.max(np.abs(0.8 * (u - new) + 0.4 * step * (rate + new_rate)) / self.wanted))
            if not error <= 1.0:
                self.rejected += 1
                self._next = step * max(0.1, 0.8 * error ** (-1 / 3)) if np.isfinite(error) else 0.1 * step
                radius, age = 1.2 * self.radius.at(t, u), 0
                continue
            t, u, rate = t + step, new, new_rate
            self.steps += 1
            age += 1
            self._next = step * min(5.0, max(0.1, 0.8 * max(error, 1e-9) ** (-1 / 3)))
            if age >= 10:
                radius, age = 1.2 * self.radius.at(t, u), 0
        return u


def _stages(stiffness: float) -> int:
    """Least number of stages that is stable for a step times the spectral radius."""
    return max(2, int(np.ceil(np.sqrt(1.0 + 1.54 * stiffness))))


def _stabilised(lines: Lines, t: float, u: Floats, rate: Floats, step: float, stages: int) -> Floats:
    """One step of the method."""
    first, rows = _coefficients(stages)
    before, here = u, u + (first * step) * rate
    c_before, c_here = 0.0, first
    for mu, nu, mu_f, gamma in rows:
        slope = lines.rate(t + c_here * step, here)
        there = (1.0 - mu - nu) * u + mu * here + nu * before + (mu_f * step) * slope + (gamma * step) * rate
        c_before, c_here = c_here, mu * c_here + nu * c_before + mu_f + gamma
        before, here = here, there
    return here


@cache
def _coefficients(stages: int) -> tuple[float, tuple[tuple[float, float, float, float], ...]]:
    """Weight of the first stage, and mu, nu, mu~, gamma~ of the others."""
    w0 = 1.0 + DAMPING / stages**2
    t, dt, ddt = [1.0, w0], [0.0, 1.0], [0.0, 0.0]
    for _ in range(2, stages + 1):
        t.append(2 * w0 * t[-1] - t[-2])
        dt.append(2 * t[-2] + 2 * w0 * dt[-1] - dt[-2])
        ddt.append(4 * dt[-2] + 2 * w0 * ddt[-1] - ddt[-2])
    w1 = dt[stages] / ddt[stages]
    b = [0.0, 0.0] + [ddt[j] / dt[j] ** 2 for j in range(2, stages + 1)]
    b[0] = b[1] = b[2]
    rows = []
    for j in range(2, stages + 1):
        mu, nu, mu_f = 2 * w0 * b[j] / b[j - 1], -b[j] / b[j - 2], 2 * w1 * b[j] / b[j - 1]
        rows.append((mu, nu, mu_f, -(1.0 - b[j - 1] * t[j - 1]) * mu_f))
    return b[1] * w1, tuple(rows)
