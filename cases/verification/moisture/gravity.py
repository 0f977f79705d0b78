"""Rest and steady flow under gravity: hydrostatic columns, exponential soil above a water table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stemwall.cases.verification.comparison import LARGEST, RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import DAY
from stemwall.cases.verification.rig import Bench, Load, Start, bar, held_suction
from stemwall.materials.liquid import soil_conductivity
from stemwall.materials.material import Material
from stemwall.materials.reference import gardner_soil
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.storage import Storage
from stemwall.materials.water import GAS_CONSTANT, GRAVITY, WATER_DENSITY
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.model.settings import Accuracy

WEIGHT = WATER_DENSITY * GRAVITY
"""Pressure of a metre of water [Pa/m]."""
YEAR = 365 * DAY
WIDTH = 0.1
LOAM_SOURCE = "closed form; loam of Carsel & Parrish 1988, Water Resour. Res. 24 (from memory)"
GARDNER_SOURCE = "Gardner 1958, Soil Sci. 85 (from memory); closed form"
LONG = Accuracy(temperature=0.01, humidity=1e-4, saturation=1e-4, longest_step=1e9)
#: K_s [m/s] and alpha [1/m] of the exponential soil
GARDNER_K, GARDNER_ALPHA = 1e-6, 2.0


def soil(theta_r: float, theta_s: float, alpha: float, n: float, saturated: float) -> Material:
    """van Genuchten-Mualem soil in its closed form to the dry end, without vapour flow.

    Vapour and gravity together would drive a slow circulation.  alpha [1/m], saturated [m/s].
    """
    curve = replace(VanGenuchten.soil(theta_r, theta_s, alpha, n, air_entry=0.0), junction=None)
    liquid = soil_conductivity(saturated, alpha, n, 0.0)
    return replace(gardner_soil(), id="soil", storage=Storage(curve), liquid=liquid)


def loam() -> Material:
    """Loam of the hydrostatic column."""
    return soil(0.078, 0.43, 3.6, 1.56, 2.888889e-6)


def loam_content(height: np.ndarray) -> np.ndarray:
    """Water content [m3/m3] of the loam at rest at a height above the water table [m]."""
    return np.asarray(0.078 + (0.43 - 0.078) * (1 + (3.6 * height) ** 1.56) ** -(1 - 1 / 1.56))


def _table(t: float, surface: Surface) -> Load:
    return {"air_temperature": 10.0, "film": HOLD_HEAT, **held_suction(0.0)}


def hydrostatic() -> list[Comparison]:
    """Column of loam over a water table, closed above: stays at rest, and comes to rest from elsewhere.

    5 m of van Genuchten-Mualem loam, 10 degC, suction zero held at the base.  At rest the suction head is the
    height, ln phi = -g z/(R_v T), and theta follows the retention curve.

    Cells of 20 mm to 1 m and 40 mm above; one year at rest in daily steps; 300 years from 20 kPa everywhere.
    """
    lines = np.concatenate([np.linspace(0, 1, 51), np.linspace(1, 5, 101)[1:]])
    section = bar([("loam", 5.0)], right=False, upright=True, depth=WIDTH)

    def bench(suction: Start, accuracy: Accuracy) -> Bench:
        return Bench(
            section,
            {"loam": loam()},
            [0.0, WIDTH],
            lines,
            _table,
            10.0,
            suction,
            accuracy,
        )

    resting = bench(lambda x, y: WEIGHT * y, replace(LONG, longest_step=DAY))
    before = resting.system.storage[:, 1].copy()
    resting.run_to(YEAR)
    change = resting.system.storage[:, 1] - before
    moved = np.abs(change).sum() / WIDTH / YEAR
    through = abs(resting.entered[0, 2]) / WIDTH / YEAR
    z = np.array([0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0])
    humidity = np.exp(-GRAVITY * z / (GAS_CONSTANT * 283.15))
    reached = bench(2.0e4, LONG)
    reached.run_to(300 * YEAR)
    filled = reached.along_y(reached.node_water(), z) / 1000
    head = reached.along_y(reached.suction, z) / WEIGHT
    name, axis = "Hydrostatic column", "height [m]"
    return [
        compare(
            f"{name}, one year at rest",
            LOAM_SOURCE,
            "flow [kg/(m² s)]",
            [1, 2],
            [moved, through],
            [0, 0],
            1e-12,
            axis="1 within, 2 through the base",
        ),
        compare(
            f"{name}, at rest",
            LOAM_SOURCE,
            "relative humidity [-]",
            z,
            resting.along_y(resting.humidity, z),
            humidity,
            5e-8,
            axis=axis,
        ),
        compare(f"{name}, come to rest", LOAM_SOURCE, "suction head [m]", z, head, z, 1e-3, axis=axis),
        compare(f"{name}, come to rest", LOAM_SOURCE, "water [m³/m³]", z, filled, loam_content(z), 1e-3, axis=axis),
    ]


def _gardner_bench(top: Load, height: float) -> Bench:
    def load(t: float, surface: Surface) -> Load:
        held = {"air_temperature": 10.0, "film": HOLD_HEAT}
        return held | dict(top) if surface.climate == "right" else held | held_suction(0.0, 1.0)

    bench = Bench(
        bar([("soil", height)], upright=True, depth=WIDTH),
        {"soil": gardner_soil(GARDNER_K, GARDNER_ALPHA)},
        [0.0, WIDTH],
        np.linspace(0.0, height, 151),
        load,
        temperature=10.0,
        suction=lambda x, y: WEIGHT * np.maximum(y, 0.01),
        accuracy=LONG,
    )
    bench.run_to(1e11)
    return bench


def steady_profiles() -> list[Comparison]:
    """Steady percolation and evaporation through an exponential soil above a water table.

    K = K_s exp(-2 h/m), K_s = 1e-6 m/s, 1.5 m above the table; flow q down (positive) or up.  With r = q/K_s the
    head is ln(r + (1 - r) exp(-alpha z))/alpha.

    10 mm cells, run until nothing changes.
    """
    z, height = np.array([0.5, 1.0, 1.5]), 1.5
    found = []
    for ratio in (0.1, 0.5, -0.01, -0.04):
        supply = ratio * GARDNER_K * WATER_DENSITY
        bench = _gardner_bench({"supply": supply, "uptake": 1e-3, "held_suction": -1e6}, height)
        head = -bench.along_y(bench.suction, z) / WEIGHT
        exact = np.log(ratio + (1 - ratio) * np.exp(-GARDNER_ALPHA * z)) / GARDNER_ALPHA
        name = f"Exponential soil, flow {ratio:g} K_s"
        found.append(compare(name, GARDNER_SOURCE, "head [m]", z, head, exact, 1e-3, LARGEST, axis="height [m]"))
    return found


def largest_evaporation() -> list[Comparison]:
    """Surface dried out at 1.5 m above the water table: the flow the soil can lift.

    The same soil; as the suction of the surface grows the flow tends to K_s/(exp(alpha z) - 1).
    """
    height = 1.5
    bench = _gardner_bench(held_suction(2e5, 1e-3), height)
    top = [s.climate for s in bench.network.surfaces].index("right")
    flow = bench.system.flows[top, 2] / WIDTH
    exact = -GARDNER_K * WATER_DENSITY / (np.exp(GARDNER_ALPHA * height) - 1)
    return [
        compare(
            "Exponential soil, largest evaporation",
            GARDNER_SOURCE,
            "flow from the surface [kg/(m² s)]",
            0.0,
            flow,
            exact,
            5e-3,
            RELATIVE,
        )
    ]
