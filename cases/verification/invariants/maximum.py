"""Maximum principle: without sources nothing gets warmer, colder, wetter or drier than what surrounds it ever was."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import EXCESS, SHORTFALL, Comparison, compare
from stemwall.cases.verification.conduction.transient import HOUR
from stemwall.cases.verification.moisture.vapour import isothermal
from stemwall.cases.verification.rig import Bench, Load, air
from stemwall.materials.reference import conductor, linear_vapour
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.section import Edge, Membrane, Region, Section
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
PRINCIPLE = "maximum principle of parabolic equations"
#: conductors from foam to steel
HEAT = {
    "foam": conductor(0.03, 3e4),
    "stone": conductor(2.0, 2e6),
    "steel": conductor(50.0, 3.5e6),
}
#: the same places by vapour: open wool to metal
VAPOUR = {
    "foam": isothermal(linear_vapour(1e-10, 2.0)),
    "stone": isothermal(linear_vapour(2e-11, 50.0)),
    "steel": isothermal(linear_vapour(1e-14, 5.0)),
}
#: outdoors hour by hour, share of the range from lowest to highest: jumps that reach ever farther for a day
OUTDOORS = 0.5 + np.random.default_rng(3).choice([-0.5, -0.4, 0.0, 0.4, 0.5], 48) * np.minimum(np.arange(48) / 24, 1)
LINES = np.linspace(0.0, 0.6, 25), np.linspace(0.0, 0.4, 17)


def section() -> Section:
    """Stone with foam inside and a steel part through both; a membrane along the foam."""
    items = (
        Region("wall", "stone", 0.0, 0.0, 0.4, 0.4),
        Region("board", "foam", 0.4, 0.0, 0.6, 0.4),
        Region("part", "steel", 0.2, 0.15, 0.6, 0.2),
    )
    return Section(
        0.0, 0.0, 0.6, 0.4, items,
        membranes=(Membrane("sheet", 0.4, 0.0, 0.4, 0.15, 10.0, 10.0),),
        edges=(Edge("left", "climate", climate="outdoors"), Edge("right", "climate", climate="room")),
    )  # fmt: skip


def heat_only() -> list[Comparison]:
    """Temperatures in a wall of foam, stone and steel under an outdoor temperature that jumps every hour.

    Start 20 °C, room 20 °C behind 8 W/(m² K), outdoors -15 to 30 °C by jumps behind 25 W/(m² K), two days, default
    accuracy.  Highest and lowest node at each half hour against the highest and lowest that start, room and
    outdoors have been until then.
    """

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "room":
            return {"air_temperature": 20.0, "film": 8.0}
        return {"air_temperature": float(_outdoors(t, -15.0, 30.0)), "film": 25.0}

    bench = Bench(section(), HEAT, *LINES, load, temperature=20.0)
    return _extremes(bench, lambda b: b.temperature, (-15.0, 30.0), 20.0, "temperature [°C]", 1e-9, "default accuracy")


def vapour_only() -> list[Comparison]:
    """Humidities in the same wall, isothermal and without liquid, under an outdoor humidity that jumps every hour.

    Start 60 %, room 60 %, outdoors 20 to 98 % by jumps, films 2e-8 and 1e-6 s/m, 20 °C, two days.  No stepping of
    second order keeps the principle at steps of any length (Bolley & Crouzeix 1978, from memory): it may be passed by
    the wanted error of a step, which is the limit, at the default accuracy and at a third and a thirtieth of it.
    """

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "room":
            return air(20.0, 0.6, 0.0, 2e-8)
        return air(20.0, float(_outdoors(t, 0.2, 0.98)), 0.0, 1e-6)

    found = []
    for name, part in (("default accuracy", 1), ("a third of the wanted errors", 3), ("a thirtieth", 30)):
        accuracy = Accuracy(temperature=0.2 / part, humidity=0.02 / part, saturation=0.02 / part)
        bench = Bench(section(), VAPOUR, *LINES, load, suction=float(suction_from_humidity(0.6)), accuracy=accuracy)
        found += _extremes(
            bench, lambda b: b.humidity, (0.2, 0.98), 0.6, "relative humidity [-]", accuracy.humidity, name
        )
    return found


def _outdoors(seconds: float, low: float, high: float) -> float:
    return float(low + (high - low) * OUTDOORS[min(int(seconds // HOUR), OUTDOORS.size - 1)])


def _extremes(
    bench: Bench,
    field: Callable[[Bench], Floats],
    span: tuple[float, float],
    start: float,
    quantity: str,
    limit: float,
    name: str,
) -> list[Comparison]:
    """Highest and lowest node each half hour against the extremes so far."""
    highest = lowest = start
    rows = []
    for half_hour in range(1, 2 * OUTDOORS.size + 1):
        time = half_hour * HOUR / 2
        now = _outdoors(time - 1.0, *span)
        highest, lowest = max(highest, now), min(lowest, now)
        bench.run_to(time)
        rows.append((time / HOUR, field(bench).max(), highest, field(bench).min(), lowest))
    t, top, high, bottom, low = np.array(rows).T
    return [
        compare(name, PRINCIPLE, f"highest {quantity}", t, top, high, limit, EXCESS, axis="time [h]"),
        compare(name, PRINCIPLE, f"lowest {quantity}", t, bottom, low, limit, SHORTFALL, axis="time [h]"),
    ]
