"""Common practice: the check cases of the trade, each a signed assertion, in the order of their numbers."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.rules_of_practice import air, drying, ground, psychrometry, rim, slab, wall, water


class Check(NamedTuple):
    """A check: number, title, what runs it, and whether that takes more than some ten seconds."""

    number: int
    title: str
    run: Callable[[], list[Comparison]]
    slow: bool = True


CHECKS = (
    Check(1, "Capillary break under the sill", water.capillary_break),
    Check(2, "Membrane on the footing", water.footing_break),
    Check(3, "Batt or foam inside the stem wall", wall.batt_or_foam),
    Check(4, "Foam behind a batt at the rim", rim.behind_a_batt, slow=False),
    Check(5, "Cover on the earth", ground.ground_cover),
    Check(6, "Partial cover", ground.partial_cover),
    Check(7, "Covered earth, bare wall", ground.walls_go_on),
    Check(8, "More air change over bare earth", ground.air_change),
    Check(9, "Supply, natural and extract ventilation", air.fans),
    Check(10, "Vented crawlspace, hot and humid", air.hot_and_humid),
    Check(11, "Insulated floor over a vented crawlspace", air.insulated_floor),
    Check(12, "Foam below the subfloor", air.foam_below_the_floor),
    Check(13, "Sealing a vented crawlspace", air.sealing),
    Check(14, "Sub-arctic crawlspace, mould index", air.sub_arctic),
    Check(15, "Foam under the crawlspace slab by climate", slab.ground_insulation_by_climate),
    Check(16, "Foam inside or outside, heat", wall.placement_and_heat),
    Check(17, "Foam inside or outside, warmth of the wall", wall.placement_and_warmth),
    Check(18, "Half and full height of basement insulation", wall.half_and_full_height),
    Check(19, "Foam under a slab in a humid summer", slab.humid_summer),
    Check(20, "Bare thickened edge of a slab on foam", slab.bare_edge, slow=False),
    Check(21, "Slab on the ground in a hot climate", slab.hot_climate),
    Check(22, "Fill under a heated slab", drying.fill_under_a_heated_slab, slow=False),
    Check(23, "Slab without a sheet, warmer and colder than the ground", drying.drying_downward, slow=False),
    Check(24, "Sand above the sheet", drying.sand_over_the_sheet, slow=False),
    Check(25, "Construction water of a slab", drying.construction_water, slow=False),
    Check(26, "Strip of the wall above grade", wall.strip_above_grade),
    Check(27, "Frost at a shallow footing", slab.frost_at_the_footing),
    Check(28, "Moist soil or a mere conductor", ground.moist_soil),
    Check(29, "Foot of a wall on its footing", wall.junction),
    Check(30, "Flood, then drying", water.flood, slow=False),
    Check(31, "Psychrometry of cooled air", psychrometry.cooled_air, slow=False),
    Check(32, "Thicker foam and the room side", wall.thicker_foam),
    Check(33, "Bare rim in winter", air.bare_rim),
)

#: what these checks state beyond a sign or number that can be run here, and why it is left out
NOT_RUN = (
    "Check 8, humidity need not fall with more air change: allows either sense, so nothing could fail",
    "Check 9, soil air that an extract fan draws: no pressures are computed, the share of it is an input",
    "Check 15, energy of whole houses in percent: it includes ducts and equipment, which are not computed",
    "Check 25, 1000 gallons in two years from a slab: the source gives no area, thickness or mix",
    "Check 33, with vents of 1/150 open all winter: the rim is not wettest then (8 K colder than the embedded year: "
    "43 % in January, 68 % in July), since cold outdoor air dries it; the block cores that fed the reported case "
    "with water are not drawn",
)
