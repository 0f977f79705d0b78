"""Measured in the field: crawlspaces of a mixed-humid summer, vented, sealed, and closed with supply air.

Weather of Durham, North Carolina, made hourly from the measured days of 2020 (`stemwall.weather.daily`).  A house 10 m
wide on stem walls 0.81 m high, earth covered all over by polyethylene, 122 mm of mineral wool in the floor
(3.3 m2 K/W), inside 20 degC in winter, 24 degC in summer and 50 % all year.  The air of the crawlspace is computed;
materials and all else are the defaults of the detail, the mesh is that of common practice (`practice_runs`).

The year runs twice from January, and the second summer is read.  The first summer is 0.3 to 1.5 points wetter, a third
one equals the second within 0.1 points: nothing shorter than one year of warm-up is settled, since the ground under
the house is still that beside it.

What moves these means: cells of 0.02 m, two fifths of the error of a step and ground of 10 m (`FINE`) lower them by 1.0
(vented) and 1.4 points (closed); the wave of temperature that was measured in the ground there (17.25 ± 9.37 degC), at
the edges of the section, by 0.9 to 1.3; grass outside, in place of bare soil, raises them by 0.6.
"""

from __future__ import annotations

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import ABOVE, BELOW, Comparison, compare, sign
from stemwall.cases.verification.rules_of_practice.runs import (
    MOISTURE,
    VENTED,
    Change,
    Season,
    air,
    in_months,
    moisture,
    run,
)

TWELVE_HOUSES = (
    "OSTI 850459 (2005), 12 like houses in North Carolina, and Davis, Dastur 2004, Buildings IX: vented above 80 % "
    "most of the time, closed below 65 % (second-hand); bands are a judgement around that"
)
LEAKAGE = "Stiles, Custer, 17 houses in New Jersey: joist moisture follows the leakage to outdoors (read, introduction)"
TWO_SUMMERS = Season("2020-01-01", 610)
SUMMER = (6, 7, 8)
HOUSE: Change = {
    "indoor.house.temperature": {"winter": "20 degC", "summer": "24 degC"},
    "indoor.house.humidity": "50 %",
    "detail.half_width": "5 m",
    "detail.wall.below_grade": "2 ft",
    "detail.floor.insulation_thickness": "122 mm",
    "zone.crawlspace.vents": False,
}
#: 0.5 L/s per 2.8 m2 of ground [m/s]
SUPPLY: Change = {"zone.crawlspace.supply": 0.179e-3}
#: outdoor air changes [1/h]: of open vents, of closed ones, and what lies between them
OPEN, SHUT, RISING = (3.0, 5.0), (0.05, 0.1), (0.05, 0.2, 1.0, 3.0)
#: mesh, accuracy and ground that show what those of the runs leave open
FINE: Change = {
    "mesh.finest": 0.02,
    "mesh.growth": 1.6,
    "mesh.coarsest": 1.0,
    "mesh.layer_cells": 4,
    "accuracy.temperature": 0.2,
    "accuracy.humidity": 0.02,
    "accuracy.saturation": 0.02,
    "detail.ground.outward": "10 m",
    "detail.ground.down": "10 m",
}


def crawlspace(leakage: float, change: Change | None = None) -> xr.Dataset:
    """Return the second year, up to August, of a crawlspace with so many outdoor air changes an hour."""
    changes = {**HOUSE, "zone.crawlspace.outdoor_leakage": leakage, **(change or {})}
    data = run(VENTED, TWO_SUMMERS, changes, station="durham_nc")
    return data.isel(time=data["time"].dt.year.values == 2021)


def humidity(data: xr.Dataset, *months: int) -> NDArray[np.float64]:
    """Return the hourly relative humidity of the air of the crawlspace in some months [-]."""
    return air(data, "relative_humidity", "crawlspace")[np.isin(data["time"].dt.month.values, months)]


def vented_against_closed() -> list[Comparison]:
    """June to August in a vented crawlspace, 3 and 5 outdoor air changes an hour, and in a closed one.

    Closed: 0.05 and 0.1 outdoor air changes and 0.179 L/(s m2) of the house's air.  Vented: 78 to 92 % in the mean
    and at least 55 % of the hours above 80 %; closed: 50 to 65 % and no hour above 75 %; at least 18 points apart.
    Set-up, weather and warm-up: see the module.
    """
    opened, closed = [crawlspace(rate) for rate in OPEN], [crawlspace(rate, SUPPLY) for rate in SHUT]
    wet, dry = ([humidity(data, *SUMMER) for data in runs] for runs in (opened, closed))
    means = [np.array([series.mean() for series in runs]) for runs in (wet, dry)]
    warm = [in_months(data, air(data, "temperature", "crawlspace"), *SUMMER) for data in (opened[0], closed[0])]
    quantity, axis = "mean relative humidity, June to August [-]", "outdoor air change [1/h]"
    return [
        compare("Vented", TWELVE_HOUSES, quantity, OPEN, means[0], [0.85] * 2, 0.07, axis=axis,
                note="between 78 and 92 %", extra={"mean temperature at the first [°C]": warm[0]}),
        sign("Vented", TWELVE_HOUSES, "share of hours above 80 % [-]", [(s > 0.8).mean() for s in wet], ABOVE,
             [0.55] * 2, points=OPEN, axis=axis),
        compare("Closed", TWELVE_HOUSES, quantity, SHUT, means[1], [0.575] * 2, 0.075, axis=axis,
                note="between 50 and 65 %", extra={"mean temperature at the first [°C]": warm[1]}),
        sign("Closed, dampest hour", TWELVE_HOUSES, "relative humidity [-]", [s.max() for s in dry], BELOW, [0.75] * 2,
             points=SHUT, axis=axis),
        sign("Vented, against closed", TWELVE_HOUSES, quantity, means[0].min(), ABOVE, means[1].max(), 0.18),
    ]  # fmt: skip


def sealing_alone() -> list[Comparison]:
    """July in the same crawlspace when vents of 3 air changes an hour are closed and nothing else is done.

    No supply air; 0.05 and 0.1 air changes remain.  Over covered ground less outdoor air must mean drier air, by
    3 points at least.  It is the walls that decide: where they and the footing carry water for ever as in an uptake
    test (`practice_runs.WICKING`), closing the vents makes it 8 points damper.
    """
    vented = humidity(crawlspace(OPEN[0]), 7).mean()
    sealed = [humidity(crawlspace(rate), 7).mean() for rate in SHUT]
    return [
        sign("Sealed, against vented", LEAKAGE, "mean relative humidity in July [-]", sealed, BELOW, [vented] * 2, 0.03,
             points=SHUT, axis="outdoor air change [1/h]"),
    ]  # fmt: skip


def outdoor_leakage() -> list[Comparison]:
    """Moisture of the subfloor's underside, June to August, as the leakage to outdoors of a closed crawlspace rises.

    From 0.05 to 0.2, 1 and 3 air changes an hour, without supply air.  The underside of the subfloor, over its
    insulation, stands for the joists, which are not drawn; each step must make it wetter.
    """
    found = [in_months(data, moisture(data, "subfloor underside"), *SUMMER) for data in map(crawlspace, RISING)]
    return [
        sign("More leakage, against less", LEAKAGE, "moisture of the subfloor's underside [kg/kg]", found[1:], ABOVE,
             found[:-1], MOISTURE, points=RISING[1:], axis="outdoor air change [1/h]"),
    ]  # fmt: skip
