"""Common practice: slabs and the fill below them, wet and drying for years, in one dimension."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import ABOVE, BELOW, Comparison, sign
from stemwall.cases.verification.rules_of_practice.columns import FILM, Column, Layer, room, soil
from stemwall.cases.verification.rules_of_practice.runs import HUMIDITY, PRACTICE

FILL = "Rantala and Leivo 2008, Building and Environment 43: fill under heated slabs near 100 %"
DOWNWARD = "statement on slabs without a sheet, trade forum (second-hand)"
SAND = "essay of a building scientist on sand over the sheet, BSI-003"
DRYING = "trade publications on construction water: more than one to two years (second-hand)"

#: relative humidity in the pores of concrete as cast [-], as `stemwall.cases.section.construction_moisture` has it
WET_CONCRETE = 0.97


def fill_under_a_heated_slab() -> list[Comparison]:
    """Fill under a heated slab on 100 mm of foam without a sheet, above moist sandy loam.

    One dimension, the fifth year under a room of 21 degC and 40 %, ground of 8 degC 2.5 m below.  The slab starts dry,
    so that what rises through it comes from the fill.
    """
    column, covered = _heated_slab(None), _heated_slab("pe_015")
    rising, held = _fifth_year(column), _fifth_year(covered)
    warm = column.temperature[column.node_at(0.0, float(column.tops[1]) - 0.15)]
    return [
        sign(
            "Fill", FILL, "relative humidity amid the fill [-]", column.humidity_in(1), ABOVE, 0.97,
            extra={"its temperature [°C]": float(warm)},
        ),
        sign("No sheet", FILL, "vapour that rises into the room [kg/(m2 a)]", rising, ABOVE, 0.0, 0.01),
        sign("No sheet, against one", FILL, "vapour that rises into the room [kg/(m2 a)]", rising, ABOVE, held, 0.01),
    ]  # fmt: skip


def _heated_slab(sheet: str | None) -> Column:
    layers = (
        soil(2.0, 12, "soil_sandy_loam"), Layer("gravel_bankrun", 0.3, 8), Layer("eps_ii", 0.1, 6),
        Layer("concrete_wc050", 0.1, 8, 0.4),
    )  # fmt: skip
    return Column(layers, room(21.0, 0.4), 8.0, {2: sheet} if sheet else None)


def _fifth_year(column: Column) -> float:
    before = column.after(4.0).given
    return column.after(5.0).given - before


def drying_downward() -> list[Comparison]:
    """A wet slab on 50 mm of foam without a sheet, its top tight, over wet ground.

    One dimension, a year: under a room of 22 degC over ground of 10 degC the slab must dry, under one of 8 degC over
    14 degC it must take up water.
    """
    gained = [_gain_of_slab(*temperatures) for temperatures in ((22.0, 10.0), (8.0, 14.0))]
    quantity = "water that the slab gains in a year [kg/m2]"
    return [
        sign("Slab warmer than the ground", DOWNWARD, quantity, gained[0], BELOW, 0.0, 0.05),
        sign("Slab colder than the ground", DOWNWARD, quantity, gained[1], ABOVE, 0.0, 0.05),
    ]


def _gain_of_slab(above: float, ground: float) -> float:
    layers = (soil(0.3, 6), Layer("eps_ii", 0.05, 6, 0.9), Layer("concrete_wc050", 0.1, 8, WET_CONCRETE))
    column = Column(layers, {"air_temperature": above, "film": FILM}, ground)
    before = column.water_in(2)
    return column.after(1.0).water_in(2) - before


def sand_over_the_sheet() -> list[Comparison]:
    """Wet sand between slab and sheet, and the slab on the sheet with the sand below it.

    One dimension under a room of 21 degC and 50 %, slab as cast, sand wet from casting; bare, and under sheet vinyl.
    For years the slab over sand must be the wetter one.
    """
    found: list[Comparison] = []
    for name, covering in (("Bare floor", None), ("Vinyl on the floor", "vinyl_sheet")):
        over, contact = (_wet_sand(number, covering) for number in (0, 1))
        humid = [[column.after(years).humidity_in(2) for years in (1.0, 3.0)] for column in (over, contact)]
        found.append(
            sign(
                f"{name}: sand above the sheet, against below", SAND,
                "relative humidity amid the slab after 1 and 3 years [-]", humid[0], ABOVE, humid[1], HUMIDITY,
                points=[1.0, 3.0], axis="years",
            )
        )  # fmt: skip
    return found


def _wet_sand(under_sheet: int, covering: str | None) -> Column:
    """Slab on sand; the sheet lies on layer 0, the soil, or 1, the sand."""
    layers = (soil(), Layer("sand_backfill", 0.1, 6, suction=1e3), Layer("concrete_wc050", 0.1, 8, WET_CONCRETE))
    sheets = {under_sheet: "pe_015", **({2: covering} if covering else {})}
    return Column(layers, room(21.0, 0.5), 12.0, sheets)


def construction_water() -> list[Comparison]:
    """A 4 in slab as cast on a sheet dries into a room of 21 degC and 50 %, one dimension.

    The first year must give much more than the third, which is read as three times as much, and the third must still
    give some.
    """
    column = Column((soil(), Layer("concrete_wc050", 0.1, 10, WET_CONCRETE)), room(21.0, 0.5), 12.0, {0: "pe_015"})
    given = np.diff([0.0, *(column.after(float(year)).given for year in (1, 2, 3))])
    quantity = "water given to the room [kg/(m2 a)]"
    return [
        sign("First year, against three times the third", DRYING, quantity, given[0], ABOVE, 3.0 * given[2]),
        sign("Each year, against the next", PRACTICE, quantity, given[:2], ABOVE, given[1:], 0.05),
        sign("Third year", DRYING, quantity, given[2], ABOVE, 0.0, 0.05),
    ]
