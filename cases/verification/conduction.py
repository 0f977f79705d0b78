"""Heat conduction against closed forms: semi-infinite solid under a step and a wave."""

from __future__ import annotations

import numpy as np
from scipy.special import erfc

from stemwall.cases.verification.bench import Bench, Comparison, bar, held_temperature
from stemwall.materials.reference import conductor
from stemwall.solver.settings import Accuracy

DAY = 86400.0
CONDUCTIVITY, CAPACITY = 1.5, 2.0e6
CARSLAW = "Carslaw & Jaeger, Conduction of Heat in Solids, 1959"


def _half_space_lines(reach: float, first: float = 0.002, growth: float = 1.03) -> np.ndarray:
    steps = first * growth ** np.arange(int(np.log(1 + reach * (growth - 1) / first) / np.log(growth)) + 1)
    lines = np.concatenate([[0.0], np.cumsum(steps)])
    return np.asarray(lines * (reach / lines[-1]))


def semi_infinite_step() -> list[Comparison]:
    """Surface of a solid at 10 degC held at -5 degC from t = 0 (§2.5)."""
    reach, x = 12.0, np.array([0.05, 0.10, 0.25, 0.50, 1.00, 2.00])
    bench = Bench(
        bar([("solid", reach)], right=False),
        {"solid": conductor(CONDUCTIVITY, CAPACITY)},
        _half_space_lines(reach),
        [0.0, 0.1],
        lambda t, surface: held_temperature(-5.0),
        temperature=10.0,
        accuracy=Accuracy(temperature=0.003, longest_step=6 * 3600.0),
    )
    found = []
    a = CONDUCTIVITY / CAPACITY
    for days in (1, 7, 30):
        t = days * DAY
        bench.run_to(t)
        exact = -5.0 + 15.0 * (1 - erfc(x / (2 * np.sqrt(a * t))))
        name = f"semi-infinite solid, surface step, {days} d"
        source = f"{CARSLAW}, §2.5; erfc evaluated here"
        found.append(
            Comparison(
                name, source, "temperature [degC]", x, bench.along_x(bench.temperature, x), exact, 0.01
            )
        )
        entered = bench.march.through[0, 0] / 0.1
        exact_heat = -2 * CONDUCTIVITY * 15.0 * np.sqrt(t / (np.pi * a))
        found.append(
            Comparison(
                name,
                source,
                "heat through the surface [J/m2]",
                np.array([0.0]),
                np.array([entered]),
                np.array([exact_heat]),
                2e-3,
                "largest relative difference",
            )  # fmt: skip
        )
    return found
