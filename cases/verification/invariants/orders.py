"""Order of convergence against closed forms: conduction and linear vapour diffusion, in space and in time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import SHORTFALL, Comparison, Refinement, compare
from stemwall.cases.verification.conduction.transient import (
    CARSLAW,
    CONDUCTIVITY,
    DIFFUSIVITY,
    SOLID,
    box,
    rectangle_expected,
)
from stemwall.cases.verification.moisture.vapour import AMBIENT, CRANK, PERMEABILITY, SATURATION, START, isothermal
from stemwall.cases.verification.moisture.vapour import DIFFUSIVITY as VAPOUR_DIFFUSIVITY
from stemwall.cases.verification.references.series import PlaneWall
from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.reference import linear_vapour
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
HALF, FILM = 0.1, 10.0
#: order of the scheme in space and in time, and by how much an observed order may fall short
DESIGN, SHORT = 2.0, 0.1
TIGHT = Accuracy(temperature=1e-7, humidity=1e-9, saturation=1e-9, longest_step=1e9)


def _cooling(t: float, surface: Surface) -> Load:
    return {"air_temperature": 0.0, "film": FILM}


def observed(
    name: str, source: str, quantity: str, counts: list[int], errors: list[float], what: str, unit: str
) -> Comparison:
    """Comparison of the observed orders with the order of the scheme."""
    study = Refinement(np.array(counts, dtype=float), np.array(errors), DESIGN, what, unit)
    orders = study.orders
    return compare(
        name, source, quantity, counts[1:], orders, np.full(orders.size, DESIGN), SHORT, SHORTFALL, axis=what,
        refinement=study,
    )  # fmt: skip


def heat_in_space() -> list[Comparison]:
    """Wall and rectangle cooling behind films, cells halved three times; time steps too short to matter.

    Largest error of temperature (share of the start) at the places of the cases "Wall behind films" (Bi = 2/3,
    Fo = 0.5) and "Rectangle behind films" (4 h).
    """
    counts = [5, 10, 20, 40]
    found = []
    wall, plane = [], []
    biot, fourier = FILM * HALF / CONDUCTIVITY, 0.5
    series = PlaneWall(biot)
    for cells in counts:
        lines = np.linspace(0.0, 2 * HALF, 2 * cells + 1)
        bench = Bench(bar([("solid", 2 * HALF)]), SOLID, lines, [0.0, 0.1], _cooling, temperature=1.0, accuracy=TIGHT)
        bench.run_to(fourier * HALF**2 / DIFFUSIVITY)
        share = np.array([0.0, 0.6, 1.0])
        gap = bench.along_x(bench.temperature, HALF * (1 + share)) - series.at(share, fourier)
        wall.append(float(np.abs(gap).max()))
        across = np.linspace(0.0, 0.4, 2 * cells + 1)
        both = Bench(box(0.2, 0.4), SOLID, lines, across, _cooling, temperature=1.0, accuracy=TIGHT)
        both.run_to(4 * 3600.0)
        at = DIFFUSIVITY * 4 * 3600.0
        exact = rectangle_expected((biot, 2 * biot), (at / 0.01, at / 0.04))
        nodes = [both.node_at(*place) for place in ((0.1, 0.2), (0.2, 0.2), (0.2, 0.4))]
        plane.append(float(np.abs(both.temperature[nodes] - exact[:3]).max()))
    source = f"{CARSLAW} (from memory); series"
    found.append(observed("Wall", source, "observed order, wall [-]", counts, wall, "cells per half", "-"))
    found.append(observed("Rectangle", source, "observed order, rectangle [-]", counts, plane, "cells per half", "-"))
    return found


def heat_in_time() -> list[Comparison]:
    """The wall again on 400 cells, in 5 to 40 equal steps, against the same mesh in 640 steps.

    The start jumps (wall at 1, air at 0), so that the first steps are far from smooth.
    """
    end, counts = 0.5 * HALF**2 / DIFFUSIVITY, [5, 10, 20, 40]
    lines = np.linspace(0.0, 2 * HALF, 401)

    def run(steps: int) -> Floats:
        bench = Bench(bar([("solid", 2 * HALF)]), SOLID, lines, [0.0, 0.1], _cooling, temperature=1.0,
                      accuracy=Accuracy(temperature=1e-9, longest_step=end / steps), equal_steps=True)  # fmt: skip
        bench.run_to(end)
        return bench.temperature.copy()

    exact = run(640)
    errors = [float(np.abs(run(steps) - exact).max()) for steps in counts]
    return [observed("Wall", "itself in 640 steps", "observed order in time [-]", counts, errors, "steps", "-")]


def vapour_in_space() -> list[Comparison]:
    """Slab of linear vapour diffusion behind films, cells halved three times; Fo = 0.2, as the case of that name."""
    beta, thickness, fourier = 2e-8, 0.1, 0.2
    counts, errors = [10, 20, 40, 80], []
    series = PlaneWall(beta * thickness / 2 / PERMEABILITY)
    share = np.array([0.0, 0.5, 1.0])
    exact = AMBIENT + (START - AMBIENT) * np.asarray(series.at(share, fourier))
    for cells in counts:
        bench = Bench(
            bar([("solid", thickness)]), {"solid": isothermal(linear_vapour(PERMEABILITY, SATURATION))},
            np.linspace(0.0, thickness, cells + 1), [0.0, 0.1], lambda t, s: air(20.0, AMBIENT, 0.0, beta),
            suction=float(suction_from_humidity(START)), accuracy=Accuracy(humidity=1e-6, saturation=1e-6),
        )  # fmt: skip
        bench.run_to(fourier * (thickness / 2) ** 2 / VAPOUR_DIFFUSIVITY)
        errors.append(float(np.abs(bench.along_x(bench.humidity, thickness * (1 + share) / 2) - exact).max()))
    return [observed("Slab", CRANK, "observed order, humidity [-]", counts, errors, "cells", "-")]
