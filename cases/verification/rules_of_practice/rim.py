"""Common practice at the rim: when foam behind a batt meets the dew point, a column across the wall."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import BELOW, Comparison, compare, sign
from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.cases.verification.rules_of_practice.columns import DAY, suction_of
from stemwall.materials.catalogue import catalogue
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy
from stemwall.weather.moistair import dew_point, saturation_pressure

Floats = NDArray[np.float64]

RIM = (
    "owner's report, 1.5 in of foam and a batt, 65 °F and 40 to 45 % (second-hand); thresholds by hand from these "
    "resistances"
)
#: m2 K/W in 1 ft2 h degF/Btu
R_VALUE = 0.17611
#: resistances outside the foam with the film, of foam, batt and inner film [ft2 h degF/Btu]
OUTBOARD, FOAM, BATT, INNER_FILM = 2.2, 7.5, 19.0, 0.68
OUTER_FILM = 25.0
INDOORS = (65.0 - 32.0) / 1.8
WARMEST, COLDEST = 4.0, -40.0
#: the air outdoors cools by a kelvin in so many days: slow against the day that heat takes through the wall
DAYS_PER_KELVIN = 4.0


@dataclass(frozen=True)
class Cooling:
    """What a slow fall of the outdoor temperature finds at the inner face of the foam.

    Parameters
    ----------
    reached : float
        Outdoor temperature at which the face reaches the dew point of the indoor air [degC]; nan if it never does.
    highest : float
        Highest relative humidity of the face down to `COLDEST` [-].
    condenses : float
        Outdoor temperature at which the face reaches 99.5 % [degC]; nan if it never does.
    """

    reached: float
    highest: float
    condenses: float


def behind_a_batt() -> list[Comparison]:
    """Rim with 1.5 in of foam, and a batt on its room side; outdoors it cools slowly.

    One dimension: wood, foam (R 7.5) and batt (R 19) of the catalogue, as thick as these resistances ask; R 2.2
    outside the foam and 0.68 for the inner film.  Indoors 65 °F, 40 or 45 %.  The foam's inner face must reach
    the dew point of the indoor air at −2 and 0 degC outdoors, within 1 K; without the batt it must not even at
    −40 degC.  The face condenses later than it reaches that dew point, since some vapour passes the foam.
    """
    found: list[Comparison] = []
    for humidity, threshold in ((0.40, -2.0), (0.45, 0.0)):
        cooling = _cool(humidity, with_batt=True)
        found.append(
            compare(
                f"Batt inside, {100 * humidity:.0f} % indoors", RIM, "outdoor temperature at the dew point [°C]",
                [0], cooling.reached, threshold, 1.0,
                extra={"outdoor temperature at 99.5 % on the foam [°C]": cooling.condenses},
            )
        )  # fmt: skip
    bare = _cool(0.45, with_batt=False)
    quantity = "highest relative humidity of the foam's face down to −40 °C [-]"
    return [*found, sign("No batt, 45 % indoors", RIM, quantity, bare.highest, BELOW, 1.0, 0.05)]


def _cool(humidity: float, *, with_batt: bool) -> Cooling:
    layers = [("lumber_spf", OUTBOARD * R_VALUE - 1.0 / OUTER_FILM), ("xps_25", FOAM * R_VALUE)]
    layers += [("mineral_wool_batt_40", BATT * R_VALUE)] if with_batt else []
    walls = [(key, resistance * _conductivity(key)) for key, resistance in layers]
    faces = np.cumsum([thickness for _, thickness in walls])

    def outdoors(t: float) -> float:
        return WARMEST - t / (DAYS_PER_KELVIN * DAY)

    def load(t: float, surface: Surface) -> Load:
        if surface.climate == "left":
            return air(outdoors(t), 0.8, OUTER_FILM, 1.4e-7)
        return air(INDOORS, humidity, 1.0 / (INNER_FILM * R_VALUE), 1.7e-8)

    def warm(x: Floats, y: Floats) -> Floats:
        return np.asarray(WARMEST + (INDOORS - WARMEST) * x / faces[-1])

    lines = np.concatenate([[0.0], *(f - t + t * np.arange(1, 9) / 8 for f, (_, t) in zip(faces, walls, strict=True))])
    materials = {key: catalogue().material(key) for key, _ in walls}
    quarter = Accuracy(longest_step=DAY / 4)
    bench = Bench(bar(walls), materials, lines, [0.0, 0.1], load, warm, suction_of(0.6), quarter)
    return _watch(bench, bench.node_at(float(faces[1]), 0.0), humidity, outdoors)


def _conductivity(key: str) -> float:
    """Conductivity of a material at 10 degC and 70 % [W/(m K)]."""
    material = catalogue().material(key)
    return float(material.thermal_conductivity(material.water_content(np.array([suction_of(0.7)])), 10.0)[0])


def _watch(bench: Bench, node: int, humidity: float, outdoors: Callable[[float], float]) -> Cooling:
    """Run through the fall, half a day at a time, and note what the node reaches when."""
    dew = float(dew_point(humidity * saturation_pressure(INDOORS)))
    reached = condenses = float("nan")
    highest, end = 0.0, (WARMEST - COLDEST) * DAYS_PER_KELVIN
    for half_days in range(1, round(2 * end) + 1):
        now = half_days * DAY / 2
        bench.run_to(now)
        highest = max(highest, float(bench.humidity[node]))
        if np.isnan(reached) and bench.temperature[node] < dew:
            reached = outdoors(now)
        if np.isnan(condenses) and highest >= 0.995:
            condenses = outdoors(now)
            break
    return Cooling(reached, highest, condenses)
