"""Common practice: what the ground gives to a crawlspace, and what moist soil takes from a basement."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from stemwall.cases.verification.comparison import ABOVE, Comparison, sign
from stemwall.cases.verification.rules_of_practice.columns import Column, Layer, room, soil
from stemwall.cases.verification.rules_of_practice.runs import (
    BASEMENT,
    HEAT,
    HEATING,
    SUMMER,
    VENTED,
    WATER,
    heat,
    run,
    vapour,
)
from stemwall.materials.catalogue import catalogue

COVERS = "researchers cited in the trade press, 1984: up to 90 % less evaporation (second-hand)"
FULL_COVER = "a sealed full cover cuts at least 80 %; common practice, no source"
SHARES = "rule of thumb in a home-repair column (second-hand)"
PIERS = "engineers' forum, 2007 (second-hand)"
AIR_CHANGE = "Kurnitski 2000, Energy and Buildings 32, abstract"
COUPLED = "Janssen, Carmeliet, Hens 2002, coupled soil heat and moisture, abstract"

EARTH, WALL = "crawlspace | native soil, up", "crawlspace | stem wall"
BARE = {"detail.earth.ground_cover": False}
HALF = {"detail.earth.covered_share": 0.5}
#: suction of a soil at field capacity [Pa]; the start of soils without a water table
FIELD_CAPACITY = 33e3


def _summer(change: dict[str, Any]) -> xr.Dataset:
    return run(VENTED, SUMMER, change)


def ground_cover() -> list[Comparison]:
    """Bare earth, and earth under a polyethylene sheet that is turned up the wall.

    A crawlspace vented through 1/150 of its floor, from April to August.  And a thin slab with and without such
    a sheet under it on moist loam, the third year under a room of 20 degC and 50 %: what flows then comes from
    the ground.
    """
    bare, covered = (vapour(_summer(change), EARTH) for change in (BARE, {}))
    without, sheet = (_from_slab(with_sheet=with_sheet) for with_sheet in (False, True))
    quantity = "share of the evaporation that is cut off [-]"
    return [
        sign("Covered earth", FULL_COVER, quantity, 1.0 - covered / bare, ABOVE, 0.80, note=COVERS),
        sign("Sheet under a thin slab", FULL_COVER, quantity, 1.0 - sheet / without, ABOVE, 0.80, note=COVERS),
    ]


def _from_slab(*, with_sheet: bool) -> float:
    """Vapour [kg/m2] that the third year brings through a thin slab."""
    layers = (soil(), Layer("stone_crushed", 0.1, 5), Layer("concrete_wc070", 0.05, 5, 0.5))
    column = Column(layers, room(20.0, 0.5), 12.0, {1: "pe_015"} if with_sheet else None)
    before = column.after(2.0).given
    return column.after(3.0).given - before


def partial_cover() -> list[Comparison]:
    """Earth bare, half covered, covered.

    The vented crawlspace of the cover on the earth; what is bare lies along the wall.  Only the order is asked for:
    with the share that is covered, evaporation must fall.
    """
    bare, half, full = (vapour(_summer(change), EARTH) for change in (BARE, HALF, {}))
    return [
        sign(
            "Less cover, against more", SHARES, "evaporation from April to August [kg/m]",
            [bare, half], ABOVE, [half, full], WATER,
            points=[0.0, 0.5], axis="share that is covered",
            extra={"reduction with half a cover [-]": 1.0 - half / bare},
        )
    ]  # fmt: skip


def walls_go_on() -> list[Comparison]:
    """With the earth covered and the wall bare, evaporation moves to the wall.

    The vented crawlspace of the cover on the earth: the wall's share of what earth and wall give off.
    """
    bare, covered = _summer(BARE), _summer({})
    of_wall = [vapour(data, WALL) / vapour(data, WALL, EARTH) for data in (covered, bare)]
    quantity = "share of the wall in what evaporates [-]"
    amounts = {
        f"vapour from the wall, {word} [kg/m]": vapour(data, WALL)
        for word, data in (("covered", covered), ("bare", bare))
    }
    return [sign("Earth covered, against bare", PIERS, quantity, of_wall[0], ABOVE, of_wall[1], 0.01, extra=amounts)]


def air_change() -> list[Comparison]:
    """More air change over bare moist earth.

    A crawlspace without vents that exchanges 0.5 or 2 times its air an hour with the outdoors, from April to
    August.  Evaporation must rise; that humidity need not fall is no sign to test.
    """
    slow, fast = (
        vapour(_summer({**BARE, "zone.crawlspace.vents": False, "zone.crawlspace.outdoor_leakage": rate}), EARTH)
        for rate in (0.5, 2.0)
    )
    return [sign("2 air changes an hour, against 0.5", AIR_CHANGE, "evaporation [kg/m]", fast, ABOVE, slow, WATER)]


def moist_soil() -> list[Comparison]:
    """Heat lost from a basement to soil with moisture, and to the same soil as a mere conductor.

    An uninsulated basement in loam without a water table, October to March.  The conductor has the
    conductivity and heat capacity that the loam has at the start, at field capacity; the loam wets with rain,
    dries, and carries vapour.  The sign depends on that choice: dry weather dries the loam below it.
    """
    bare = {"detail.insulation.placement": "none", "detail.backfill.cap_width": 0, "site.water_table": False}
    coupled = {**bare, "detail.backfill.material": "soil_loam"}
    linear = {**bare, "detail.backfill.material": "loam", "site.soil": "loam", "material.loam": _conductor()}
    lost = [_lost(run(BASEMENT, HEATING, change)) for change in (coupled, linear)]
    return [
        sign("Moist loam, against a conductor", COUPLED, "heat lost [kWh/m]", lost[0], ABOVE, lost[1], HEAT),
    ]


def _lost(data: xr.Dataset) -> float:
    return heat(data, "basement | stem wall", "basement | slab")


def _conductor() -> dict[str, Any]:
    """A material with the conductivity and heat capacity of loam at field capacity, and no moisture to speak of."""
    loam = catalogue().material("soil_loam")
    water = loam.water_content(np.array([FIELD_CAPACITY]))
    return {
        "name": "Loam as a conductor",
        "hatch": "soil",
        "density": loam.density,
        "specific_heat": loam.specific_heat + 4190.0 * float(water[0]) / loam.density,
        "storage": {"kind": "sorption", "humidity": [0.5, 0.95], "water": [0.001, 0.002], "saturation": 0.003},
        "liquid": {"kind": "none"},
        "vapour": {"kind": "constant", "mu": 1e5},
        "conductivity": {"kind": "linear", "dry": float(loam.thermal_conductivity(water, 10.0)[0])},
    }
