"""The method of lines with the stiff integrators of a library, each with its best linear algebra.

BDF and Radau get the exact sparse Jacobian and factorise with a minimum-degree ordering of the symmetric
pattern, which leaves fewer entries than the default column ordering; LSODA gets it as a band after reverse
Cuthill-McKee.  One number scales the tolerances.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from peers_case import WARM_UP, Answer, Size, ready
from peers_lines import HourOfLines, Lines
from scipy.integrate import BDF, LSODA, Radau, solve_ivp
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from stemwall.solver.integration.integrator import HOUR, TimeIntegrator
from stemwall.solver.integration.system import State
from stemwall.solver.run import Run

Floats = NDArray[np.float64]
Scaling = Literal["uniform", "wanted"]
Method = Literal["BDF", "Radau", "LSODA"]


@dataclass(frozen=True)
class Setting:
    """How a stiff integrator is used.

    Parameters
    ----------
    method : {"BDF", "Radau", "LSODA"}
    tolerance : float
        With ``uniform`` scaling rtol = atol = tolerance; with ``wanted``, atol is the tolerance times the
        error per step that the march allows each unknown at the start, and rtol is nothing.
    scaling : {"uniform", "wanted"}
    ordering : str
        Of the sparse factors, see `scipy.sparse.linalg.splu`.
    hourly : bool
        Start afresh every hour, where the loads bend, or run through.
    grouped : bool
        Jacobian by differences of groups of columns from the sparsity alone, in place of the exact one.
    """

    method: Method
    tolerance: float
    scaling: Scaling = "wanted"
    ordering: str = "MMD_AT_PLUS_A"
    hourly: bool = False
    grouped: bool = False

    def __str__(self) -> str:
        text = f"{self.scaling} tolerance {self.tolerance:g}"
        text += ", anew every hour" if self.hourly else ""
        text += ", column ordering" if self.ordering == "COLAMD" else ""
        return text + (", Jacobian by differences" if self.grouped else "")


def _settings(method: Method, uniform: Sequence[float], wanted: Sequence[float]) -> tuple[Setting, ...]:
    return (*(Setting(method, t, "uniform") for t in uniform), *(Setting(method, t) for t in wanted))


#: settings worth trying, from a wider search by hand; a looser tolerance is neither always cheaper nor less exact
TRIALS: dict[str, tuple[Setting, ...]] = {
    "BDF": (
        *_settings("BDF", (1e-3, 2e-4, 1e-4, 5e-5), (3e-2, 1e-2, 7e-3, 5e-3, 3e-3)),
        Setting("BDF", 1e-2, "uniform", hourly=True),
        Setting("BDF", 0.1, hourly=True),
    ),
    "LSODA": _settings("LSODA", (3e-3, 1e-3), (0.3, 0.2, 0.1)),
    "Radau": _settings("Radau", (1e-2, 1e-3), (3.0, 0.3, 0.03)),
}


def integrate(size: Size, start: State, setting: Setting, hours: int) -> Answer:
    """Integrate the case and read the probes at the ends of hours."""
    run = ready(size, 1.0, start)
    kind = HourOfLines if setting.hourly else Lines
    lines = kind(run, "bandwidth")
    u = lines.pack(start)
    options = _tolerances(run, lines, setting) | _algebra(lines, u, setting)
    begun = time.process_time()
    through = _by_hours if setting.hourly else _in_one
    states, counts = through(lines, u, hours, _method(setting), options)
    seconds = time.process_time() - begun
    temperature, humidity = zip(*(lines.read(state) for state in states), strict=True)
    return Answer(np.array(temperature), np.array(humidity), seconds, counts)


def _in_one(
    lines: Lines, u: Floats, hours: int, method: Any, options: dict[str, Any]
) -> tuple[list[Floats], dict[str, float]]:
    begin = WARM_UP * HOUR
    ends = begin + HOUR * np.arange(1, hours + 1)
    found = solve_ivp(lines.rate, (begin, ends[-1]), u, method, t_eval=ends, **options)
    if not found.success:
        raise RuntimeError(found.message)
    return list(found.y.T), _counts(found)


def _by_hours(
    lines: Lines, u: Floats, hours: int, method: Any, options: dict[str, Any]
) -> tuple[list[Floats], dict[str, float]]:
    assert isinstance(lines, HourOfLines)
    states, counts = [], {"right sides": 0.0, "factors": 0.0}
    for hour in range(WARM_UP, WARM_UP + hours):
        lines.hour = hour
        span = (hour * HOUR, (hour + 1) * HOUR)
        found = solve_ivp(lines.rate, span, u, method, t_eval=span[1:], **options)
        if not found.success:
            raise RuntimeError(found.message)
        u = found.y[:, -1]
        states.append(u)
        counts = {key: counts[key] + value for key, value in _counts(found).items()}
    return states, counts


def _counts(found: Any) -> dict[str, float]:
    return {"right sides": float(found.nfev), "factors": float(found.nlu)}


def _tolerances(run: Run, lines: Lines, setting: Setting) -> dict[str, Any]:
    if setting.scaling == "uniform":
        return {"rtol": setting.tolerance, "atol": setting.tolerance}
    return {"rtol": 1e-12, "atol": setting.tolerance * wanted_errors(run.integrator)[lines.order].ravel()}


def wanted_errors(march: TimeIntegrator) -> Floats:
    """Errors per step that the march allows each unknown at its start, (N, 2)."""
    march.system.evaluate(march.state)
    return np.asarray(1.0 / march.fill_weights())


def _algebra(lines: Lines, u: Floats, setting: Setting) -> dict[str, Any]:
    if setting.method == "LSODA":
        width = lines.bandwidth
        return {"jac": _banded(lines, width), "lband": width, "uband": width}
    if setting.grouped:
        pattern = lines.jacobian(WARM_UP * HOUR, u)
        pattern.data[:] = 1.0
        return {"jac_sparsity": pattern}
    return {"jac": lines.jacobian}


def _banded(lines: Lines, width: int) -> Callable[[float, Floats], Floats]:
    """Jacobian as the band that LSODA wants, (2 width + 1, 2N)."""

    def jacobian(t: float, u: Floats) -> Floats:
        matrix = lines.jacobian(t, u).tocoo()
        band = np.zeros((2 * width + 1, u.size))
        band[width + matrix.row - matrix.col, matrix.col] = matrix.data
        return band

    return jacobian


def _method(setting: Setting) -> Any:
    """The integrator, with its sparse factors ordered as asked."""
    if setting.method == "LSODA":
        return LSODA
    base: Any = BDF if setting.method == "BDF" else Radau
    symmetric = setting.ordering == "MMD_AT_PLUS_A"
    options = {"diag_pivot_thresh": 0.1, "options": {"SymmetricMode": True}} if symmetric else {}

    class Ordered(base):  # type: ignore[misc]
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, **named)

            def factorise(matrix: csc_matrix) -> Any:
                self.nlu += 1
                return splu(csc_matrix(matrix), permc_spec=setting.ordering, **options)

            self.lu = factorise

    return Ordered
