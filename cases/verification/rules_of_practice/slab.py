"""Common practice: foam under slabs, their edge, and the frost beside them."""

from __future__ import annotations

import xarray as xr

from stemwall.cases.verification.comparison import ABOVE, BELOW, Comparison, sign
from stemwall.cases.verification.rules_of_practice.runs import (
    BASEMENT,
    CRAWL,
    FREE,
    HEAT,
    HEATING,
    HUMIDITY,
    KELVIN,
    SLAB,
    SUMMER,
    WINTER,
    at,
    heat,
    in_months,
    run,
)

HANDBOOK = "foundation design handbook of a national laboratory, section 4-1"
EDGE_STRIP = "owner's report from Alaska on a bare slab edge (second-hand)"
WINGS = "trade forum on shallow footings beside insulated slabs (second-hand)"
DUCTS = "trade reports on closed crawlspaces in three climates (second-hand); direction only"

HIGH_SUMMER = (6, 7, 8)
MIDDLE, EDGE = "slab top, middle", "slab top, edge"
#: how much warmer than the embedded year [K]
HOT, COLD, ALASKA = 4.0, -8.0, -12.0
FROST = -12.0
#: cold cases leave out rain and the cap of clay, which have no part in them
DRY_GROUND = {"weather.rain": "none", "detail.backfill.cap_width": 0}

#: slab on foam with a bare, thickened edge
THICKENED = """
[weather]
rain = "none"

[bounds]
x = [-6, 4.2]
y = [-6, 1.2]

[[region]]
name = "soil"
material = "soil_sandy_loam"
x = [-6, 4.2]
y = [-6, 0]

[[region]]
name = "foam"
material = "xps_25"
x = [0.4, 4.2]
y = [0, 0.1]

[[region]]
name = "thickened edge"
material = "concrete_wc050"
x = [0, 0.4]
y = [-0.4, 0.2]

[[region]]
name = "slab"
material = "concrete_wc050"
x = [0.4, 4.2]
y = [0.1, 0.2]

[[opening]]
name = "outdoors"
climate = "outdoors"
x = [-6, 0]
y = [0, 1.2]

[[opening]]
name = "house"
climate = "house"
x = [0, 4.2]
y = [0.2, 1.2]

[[region]]
name = "wall"
material = "mineral_wool_batt_40"
x = [0, 0.15]
y = [0.2, 1.2]

[[membrane]]
name = "weather barrier"
material = "housewrap"
x = 0
y = [0.2, 1.2]

[[membrane]]
name = "vapour retarder"
material = "pe_015"
x = 0.15
y = [0.2, 1.2]

[[membrane]]
name = "sheet under the slab"
material = "pe_015"
x = [0.4, 4.2]
y = 0.1

[[edge]]
side = "bottom"
kind = "ground"
water = "table"

[[probe]]
name = "edge"
x = 0.25
y = 0.2
region = "thickened edge"
kind = "surface"

[[probe]]
name = "middle"
x = 3
y = 0.2
region = "slab"
kind = "surface"
"""


def _mean(data: xr.Dataset, quantity: str, place: str) -> float:
    """Mean of June to August at a probe."""
    return in_months(data, at(data, quantity, place), *HIGH_SUMMER)


def ground_insulation_by_climate() -> list[Comparison]:
    """Foam under the slab of a closed crawlspace with insulated walls, in a cold and in a warm place.

    The default crawlspace, October to January, 8 K colder and 4 K warmer than the embedded year; heat that the slab
    takes, without 2 in of foam less with it.  Only the direction is asked for: it saves in the cold place, and less in
    the warm one.  The percentages of the source include ducts and equipment.
    """
    foam = {"detail.slab.insulation_thickness": "2 in"}
    saved = {
        warmer: _into_slab(DRY_GROUND, warmer) - _into_slab({**DRY_GROUND, **foam}, warmer) for warmer in (COLD, HOT)
    }
    quantity = "heat saved by foam under the slab [kWh/m]"
    return [
        sign("Cold place", DUCTS, quantity, saved[COLD], ABOVE, 0.0, HEAT),
        sign("Cold place, against warm", DUCTS, quantity, saved[COLD], ABOVE, saved[HOT], HEAT),
    ]


def _into_slab(change: dict[str, object], warmer: float) -> float:
    return heat(run(CRAWL, WINTER, change, warmer=warmer), "crawlspace | slab")


def humid_summer() -> list[Comparison]:
    """Foam under a basement slab in a humid summer: 2 in, and none; April to August, the embedded year."""
    bare, foam = (run(BASEMENT, SUMMER, change) for change in ({}, {"detail.slab.insulation_thickness": "2 in"}))
    found: list[Comparison] = []
    for place in (MIDDLE, EDGE):
        name = f"Foam, against none: {place}"
        warm, humid = ([_mean(d, q, place) for d in (foam, bare)] for q in ("temperature", "relative_humidity"))
        found.append(sign(name, HANDBOOK, "temperature, June to August [°C]", warm[0], ABOVE, warm[1], KELVIN))
        quantity = "relative humidity, June to August [-]"
        found.append(sign(name, HANDBOOK, quantity, humid[0], BELOW, humid[1], HUMIDITY))
    return found


def bare_edge() -> list[Comparison]:
    """Slab on foam whose thickened edge lies bare on the ground, early summer in a cold place.

    Two dimensions, April to August, 12 K colder than the embedded year; in June the surface must be colder and more
    humid over the edge than in the middle.
    """
    data = run(FREE + THICKENED, SUMMER, warmer=ALASKA)
    warm, humid = (
        [in_months(data, at(data, quantity, place), 6) for place in ("edge", "middle")]
        for quantity in ("temperature", "relative_humidity")
    )
    name = "Over the edge, against the middle"
    return [
        sign(name, EDGE_STRIP, "temperature of the surface, June [°C]", warm[0], BELOW, warm[1], KELVIN),
        sign(name, EDGE_STRIP, "relative humidity of the surface, June [-]", humid[0], ABOVE, humid[1], HUMIDITY),
    ]


def hot_climate() -> list[Comparison]:
    """Slab on grade in a hot place, on the ground and on 2 in of foam; April to August, 4 K warmer.

    The bare slab must take heat from the cooled house, more than the insulated one, and be more humid.
    """
    bare = run(SLAB, SUMMER, {"detail.slab.insulation_thickness": 0}, warmer=HOT)
    foam = run(SLAB, SUMMER, {"detail.slab.insulation_width": 0}, warmer=HOT)
    taken = [heat(data.sel(time=data["time"].dt.month.isin(HIGH_SUMMER)), "house | slab, up") for data in (bare, foam)]
    humid = [_mean(data, "relative_humidity", MIDDLE) for data in (bare, foam)]
    name, quantity = "On the ground, against on foam", "heat from the house into the slab, June to August [kWh/m]"
    return [
        sign("On the ground", HANDBOOK, quantity, taken[0], ABOVE, 0.0, HEAT),
        sign(name, HANDBOOK, quantity, taken[0], ABOVE, taken[1], HEAT),
        sign(name, HANDBOOK, "relative humidity, June to August [-]", humid[0], ABOVE, humid[1], HUMIDITY),
    ]


def frost_at_the_footing() -> list[Comparison]:
    """A footing 0.6 m deep beside a heated slab: slab bare, on 4 in of foam, and with a wing outside.

    The embedded year 12 K colder without rain, October to March; lowest temperature under the outer edge of the
    footing.  Foam under the slab must let frost reach it, a wing of 2 in must keep it away.
    """
    shallow = {**DRY_GROUND, "detail.insulation.placement": "none", "detail.wall.below_grade": "16 in"}
    foam = {"detail.slab.insulation_thickness": "4 in", "detail.slab.insulation_width": 0}
    wing = {"detail.wing.thickness": "2 in", "detail.wing.depth": "8 in"}
    changes = ({"detail.slab.insulation_thickness": 0}, foam, {**foam, **wing})
    lowest = [
        float(at(run(SLAB, HEATING, {**shallow, **change}, warmer=FROST), "temperature", "under footing, outer").min())
        for change in changes
    ]
    quantity = "lowest temperature under the footing [°C]"
    return [
        sign("Slab on foam, against bare", WINGS, quantity, lowest[1], BELOW, lowest[0], KELVIN),
        sign("Slab on foam", WINGS, quantity, lowest[1], BELOW, 0.0),
        sign("With a wing, against without", WINGS, quantity, lowest[2], ABOVE, lowest[1], KELVIN),
        sign("With a wing", WINGS, quantity, lowest[2], ABOVE, 0.0),
    ]
