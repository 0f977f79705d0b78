"""Infiltration into dry soil under gravity: the two columns of Celia, Bouloutas & Zarba 1990."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import LARGEST, RELATIVE, Comparison, compare
from stemwall.cases.verification.moisture.gravity import WEIGHT, soil
from stemwall.cases.verification.references.method_of_lines import DOWNWARDS, End, Layer, Line
from stemwall.cases.verification.rig import Bench, Load, bar, held_suction
from stemwall.materials.liquid import FunctionLiquid
from stemwall.materials.material import Material
from stemwall.materials.reference import gardner_soil
from stemwall.materials.storage import FunctionRetention, Storage
from stemwall.materials.water import GRAVITY
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
CELIA = "Celia, Bouloutas & Zarba 1990, Water Resour. Res. 26(7) (parameters read in secondary copies)"
CM = WEIGHT / 100
"""Pressure of a centimetre of water [Pa]."""
WIDTH = 0.01


def haverkamp_sand() -> Material:
    """Sand of Haverkamp et al. 1977, power laws of the head in centimetres."""

    def water(suction: Floats) -> Floats:
        return np.asarray(1000 * (0.075 + 1.611e6 * (0.287 - 0.075) / (1.611e6 + (suction / CM) ** 3.96)))

    def conductivity(suction: Floats) -> Floats:
        return np.asarray(9.44e-5 / GRAVITY * 1.175e6 / (1.175e6 + (suction / CM) ** 4.74))

    storage = Storage(FunctionRetention(water))
    return replace(gardner_soil(), id="sand", storage=storage, liquid=FunctionLiquid(conductivity))


def new_mexico_soil() -> Material:
    """Field soil, van Genuchten-Mualem."""
    return soil(0.102, 0.368, 3.35, 2.0, 9.22e-5)


@dataclass(frozen=True)
class Column:
    """One infiltration: heads and depth [cm], times [s], the head that marks the front [cm].

    ``stored`` holds the water gained [cm] and ``heads`` (depth, head) pairs, both by time, from a
    finite-volume solution in mixed form on 1600 or 4000 cells (computed for the dossier).
    """

    name: str
    material: Callable[[], Material]
    depth: float
    start: float
    top: float
    marker: float
    times: tuple[float, ...]
    stored: tuple[float, ...]
    heads: tuple[tuple[tuple[float, float], ...], ...]


SAND = Column(
    "Infiltration into sand",
    haverkamp_sand,
    40.0,
    -61.5,
    -20.7,
    -41.0,
    (120.0, 240.0, 360.0),
    (1.18819, 1.81809, 2.36804),
    (
        ((2, -22.084), (6, -28.935), (8, -40.53), (10, -58.45)),
        ((2, -21.350), (6, -23.725), (10, -30.421), (12, -39.858), (14, -54.95)),
        ((2, -21.079), (6, -22.347), (10, -25.074), (14, -32.867), (16, -43.03), (18, -55.96)),
    ),
)
FIELD = Column(
    "Infiltration into a field soil",
    new_mexico_soil,
    100.0,
    -1000.0,
    -75.0,
    -500.0,
    (21600.0, 43200.0, 86400.0),
    (1.74025, 2.63314, 4.11281),
    (
        ((5, -79.17), (10, -85.98), (20, -126.03), (25.438, -500)),
        ((5, -77.02), (10, -79.93), (20, -90.82), (30, -123.40), (37.504, -500)),
        (
            (5, -75.80),
            (10, -76.87),
            (20, -80.28),
            (30, -86.73),
            (40, -100.46),
            (45, -114.40),
            (50, -142.92),
            (54, -210.1),
            (56, -361.8),
            (56.484, -500),
        ),
    ),
)


def _bench(column: Column, cell: float) -> Bench:
    depth = column.depth / 100

    def load(t: float, surface: Surface) -> Load:
        head = column.top if surface.climate == "right" else column.start
        return {"air_temperature": 20.0, "film": HOLD_HEAT, **held_suction(-head * CM, 1.0)}

    return Bench(
        bar([("soil", depth)], upright=True, depth=WIDTH),
        {"soil": column.material()},
        [0.0, WIDTH],
        np.linspace(0.0, depth, round(depth / cell) + 1),
        load,
        suction=-column.start * CM,
        accuracy=Accuracy(temperature=0.01, humidity=1e-3, saturation=2e-5, resolved=0.01, longest_step=900.0),
    )


def depth_of(head: Floats, depth: Floats, value: float) -> float:
    """Depth [cm] where a head that falls downwards [cm] takes a value, joined linearly."""
    return float(np.interp(-value, -head, depth))


def by_method_of_lines(column: Column, cells: int) -> Floats:
    """Front depth [cm] and stored gain [cm] at the times, by the independent solution."""
    lines = np.linspace(0.0, column.depth / 100, cells + 1)
    ends = End(suction=-column.top * CM), End(suction=-column.start * CM)
    line = Line((Layer(column.material(), lines),), ends, gravity=DOWNWARDS)
    states = line.run(20.0, -column.start * CM, column.times)
    rest = np.full(lines.size, np.log(-column.start * CM))
    rows = []
    for _, u in states:
        front = depth_of(-np.exp(u) / CM, 100 * lines, column.marker)
        rows.append((front, (line.water(u, 0) - line.water(rest, 0)) / 10))
    return np.array(rows)


def infiltration(column: Column, cell: float = 0.005) -> list[Comparison]:
    """One column: front, stored water, profile, balance."""
    bench = _bench(column, cell)
    reference = by_method_of_lines(column, 800)
    top = [s.climate for s in bench.network.surfaces].index("right")
    start, rows, shifts = bench.water(), [], []
    for t, points in zip(column.times, column.heads, strict=True):
        bench.run_to(t)
        order = np.argsort(-bench.network.node_y)
        head, depth = -bench.suction[order] / CM, column.depth - 100 * bench.network.node_y[order]
        entered = bench.entered[top, 2] / WIDTH / 10
        gained = (bench.water() - start) / WIDTH / 10
        rows.append((depth_of(head, depth, column.marker), gained, entered))
        shifts.append([(depth_of(head, depth, h), d) for d, h in points])
    front, gained, entered = np.array(rows).T
    lines, axis = "method of lines, 800 cells, same equations", "time [s]"
    table = f"{CELIA}; mixed form on fine cells (dossier table)"
    found = [
        compare(
            column.name,
            lines,
            f"depth of the head {column.marker:g} cm [cm]",
            column.times,
            front,
            reference[:, 0],
            0.5,
            LARGEST,
            axis=axis,
        ),
        compare(
            column.name,
            lines,
            "stored [cm]",
            column.times,
            gained,
            reference[:, 1],
            0.01,
            RELATIVE,
            axis=axis,
        ),
        compare(
            column.name,
            table,
            "stored [cm]",
            column.times,
            gained,
            column.stored,
            0.01,
            RELATIVE,
            axis=axis,
            extra={"entered through the top by the end [cm]": float(entered[-1])},
        ),
        compare(
            column.name,
            "conservation",
            "water imbalance, share of what flowed [-]",
            0,
            bench.closure()[1],
            0,
            1e-6,
        ),
    ]
    for t, shift in zip(column.times, shifts, strict=True):
        computed, expected = np.array(shift).T
        found.append(
            compare(
                f"{column.name}, {t:g} s",
                table,
                "depths of given heads [cm]",
                expected,
                computed,
                expected,
                0.5,
                axis="depth [cm]",
            )
        )
    return found


def sand_column() -> list[Comparison]:
    """Sand, 40 cm, 360 s.

    Richards' equation with gravity; theta = 0.075 + 0.212 · 1.611e6/(1.611e6 + h^3.96), K = 9.44e-5 ·
    1.175e6/(1.175e6 + h^4.74) m/s, h suction head in cm.  Start -61.5 cm, top held at -20.7 cm, base at -61.5 cm.

    5 mm cells; wanted error of the water content 2e-5 of saturation.
    """
    return infiltration(SAND)


def field_column() -> list[Comparison]:
    """Field soil, 100 cm, one day.

    Richards' equation with gravity; van Genuchten-Mualem, theta 0.102 to 0.368, alpha 3.35 1/m, n = 2,
    K_s = 9.22e-5 m/s.  Start -1000 cm, top held at -75 cm, base at -1000 cm.

    5 mm cells; wanted error of the water content 2e-5 of saturation.
    """
    return infiltration(FIELD)
