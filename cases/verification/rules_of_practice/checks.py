"""Common practice: the check cases of the trade, each a signed assertion."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.rules_of_practice import air, drying, ground, psychrometry, rim, slab, wall, water


class Check(NamedTuple):
    """A check: title, what runs it, and whether that takes more than some ten seconds."""

    title: str
    run: Callable[[], list[Comparison]]
    slow: bool = True

    @property
    def id(self) -> str:
        """Stable key: the name of the function that runs it, its words joined by hyphens."""
        return self.run.__name__.replace("_", "-")


CHECKS = (
    Check("Capillary break under the sill", water.capillary_break),
    Check("Membrane on the footing", water.footing_break),
    Check("Batt or foam inside the stem wall", wall.batt_or_foam),
    Check("Foam behind a batt at the rim", rim.behind_a_batt, slow=False),
    Check("Cover on the earth", ground.ground_cover),
    Check("Partial cover", ground.partial_cover),
    Check("Covered earth, bare wall", ground.walls_go_on),
    Check("More air change over bare earth", ground.air_change),
    Check("Supply, natural and extract ventilation", air.fans),
    Check("Vented crawlspace, hot and humid", air.hot_and_humid),
    Check("Insulated floor over a vented crawlspace", air.insulated_floor),
    Check("Foam below the subfloor", air.foam_below_the_floor),
    Check("Sealing a vented crawlspace", air.sealing),
    Check("Sub-arctic crawlspace, mould index", air.sub_arctic),
    Check("Foam under the crawlspace slab by climate", slab.ground_insulation_by_climate),
    Check("Foam inside or outside, heat", wall.placement_and_heat),
    Check("Foam inside or outside, warmth of the wall", wall.placement_and_warmth),
    Check("Half and full height of basement insulation", wall.half_and_full_height),
    Check("Foam under a slab in a humid summer", slab.humid_summer),
    Check("Bare thickened edge of a slab on foam", slab.bare_edge, slow=False),
    Check("Slab on the ground in a hot climate", slab.hot_climate),
    Check("Fill under a heated slab", drying.fill_under_a_heated_slab, slow=False),
    Check("Slab without a sheet, warmer and colder than the ground", drying.drying_downward, slow=False),
    Check("Sand above the sheet", drying.sand_over_the_sheet, slow=False),
    Check("Construction water of a slab", drying.construction_water, slow=False),
    Check("Strip of the wall above grade", wall.strip_above_grade),
    Check("Frost at a shallow footing", slab.frost_at_the_footing),
    Check("Moist soil or a mere conductor", ground.moist_soil),
    Check("Foot of a wall on its footing", wall.junction),
    Check("Flood, then drying", water.flood, slow=False),
    Check("Psychrometry of cooled air", psychrometry.cooled_air, slow=False),
    Check("Thicker foam and the room side", wall.thicker_foam),
    Check("Bare rim in winter", air.bare_rim),
)

#: what these checks state beyond a sign or number that can be run here, and why it is left out
NOT_RUN = (
    "More air change over bare earth, humidity need not fall: allows either sense, so nothing could fail",
    "Supply, natural and extract ventilation, soil air a fan draws: no pressures are computed, its share is an input",
    "Foam under the crawlspace slab by climate, energy of whole houses in percent: it includes ducts and equipment, "
    "which are not computed",
    "Construction water of a slab, 1000 gallons in two years: the source gives no area, thickness or mix",
    "Bare rim in winter, with vents of 1/150 open all winter: the rim is not wettest then (8 K colder than the "
    "embedded year: 43 % in January, 68 % in July), since cold outdoor air dries it; the block cores that fed the "
    "reported case with water are not drawn",
)
