"""Measured: water that closed-cell foam takes up beside wet soil and under water."""

from __future__ import annotations

from functools import cache

import numpy as np

from stemwall.cases.verification.comparison import BELOW, RELATIVE, Comparison, compare, sign
from stemwall.cases.verification.conduction.transient import DAY
from stemwall.cases.verification.rig import Bench, bar, held_suction, held_temperature
from stemwall.materials.catalogue import catalogue
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.model.settings import Accuracy

EXPOSURE = "bead board outside a basement, 30 months: 0.01-0.96 vol-% (National Research Council of Canada, abstract)"
IMMERSION = "ASTM C578-10, EN 12087: XPS 0.3-0.7, EPS 2-4 vol-% in 28 d (partly from memory, to be checked)"
MESH = "the same board on cells of 1 mm"
FOAMS = ("xps_25", "xps_29", "eps_i", "eps_viii", "eps_ii", "eps_ix", "eps_graphite", "polyiso_foil", "polyiso_glass",
         "phenolic_35", "foam_spray_closed", "cellular_glass")  # fmt: skip
BOARD, SOIL = 0.05, 0.10
#: suction of moist loam [Pa]; cells [m]
MOIST_SOIL, CELLS = 5e3, (0.010, 0.005, 0.001)
THIN = 1e-3


@cache
def beside_soil(foam: str, cell: float) -> float:
    """Water [vol-%] in a board of 50 mm after a year beside loam held at 5 kPa, its other face closed."""
    held = {**held_temperature(20.0), **held_suction(MOIST_SOIL, 1e-3)}
    lines = np.concatenate([np.linspace(0.0, SOIL, 11), SOIL + np.linspace(0.0, BOARD, round(BOARD / cell) + 1)[1:]])
    bench = Bench(
        bar([("loam", SOIL), ("foam", BOARD)], right=False, depth=THIN),
        {"loam": catalogue().material("soil_loam"), "foam": catalogue().material(foam)}, lines, [0.0, THIN],
        lambda t, surface: held, 20.0,
        lambda x, y: np.where(x < SOIL - 1e-9, MOIST_SOIL, float(suction_from_humidity(0.5))),
        Accuracy(longest_step=10.0 * DAY),
    )  # fmt: skip
    bench.run_to(365.0 * DAY)
    return bench.water(1) / (THIN * BOARD) / 10.0


@cache
def immersed(foam: str, cell: float) -> float:
    """Water [vol-%] in a board of 50 mm after 28 days under 50 mm of water."""
    held = {**held_temperature(20.0), **held_suction(-500.0, 1e-3)}
    bench = Bench(
        bar([("foam", BOARD)], depth=THIN), {"foam": catalogue().material(foam)},
        np.linspace(0.0, BOARD, round(BOARD / cell) + 1), [0.0, THIN], lambda t, surface: held, 20.0,
        float(suction_from_humidity(0.5)), Accuracy(longest_step=DAY),
    )  # fmt: skip
    bench.run_to(28.0 * DAY)
    return bench.water() / (THIN * BOARD) / 10.0


def foam_beside_wet_soil() -> list[Comparison]:
    """Boards of 50 mm of every closed-cell foam beside 100 mm of loam at a suction of 5 kPa, one year, isothermal.

    At most 1 vol-%, and the same within 10 % on cells of 10, 5 and 1 mm: water must not enter in proportion to the cell
    that it touches.
    """
    found = np.array([[beside_soil(foam, cell) for cell in CELLS] for foam in FOAMS])
    name, quantity = "Foam beside moist loam, a year", "water [vol-%]"
    numbers, axis = np.arange(1.0, len(FOAMS) + 1.0), "foam"
    return [
        sign(name, EXPOSURE, quantity, found.max(axis=1), BELOW, np.ones(len(FOAMS)), points=numbers, axis=axis),
        *(
            compare(
                f"{name}: cells of {1000 * cell:.0f} mm", MESH, quantity, numbers, found[:, k], found[:, -1], 0.10,
                RELATIVE, axis=axis, labels=FOAMS,
            )
            for k, cell in enumerate(CELLS[:-1])
        ),
    ]  # fmt: skip


def foam_under_water() -> list[Comparison]:
    """Boards of 50 mm under water for 28 days, on cells of 10, 5 and 1 mm: XPS at most 0.7, EPS at most 4 vol-%."""
    name, quantity, axis = "28 days under water", "water [vol-%]", "cell [mm]"
    return [
        sign(
            f"{name}: {foam}", IMMERSION, quantity, [immersed(foam, cell) for cell in CELLS], BELOW,
            [0.7 if foam.startswith("xps") else 4.0] * 3, points=1000.0 * np.array(CELLS), axis=axis,
        )
        for foam in FOAMS
        if foam.startswith(("xps", "eps"))
    ]  # fmt: skip
