"""Construction moisture: what the parts of a section hold when the run begins.

Three of the presets are a start and a number of years that pass before the record:
"fresh" is a building just built, "one year" the same after a year in the weather of
the case, "settled" whatever years of repetition lead to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

import numpy as np

from stemwall.materials.material import Material
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.model.section import Region, Section

StartMoisture = Literal["stated", "fresh", "one year", "settled"]

#: relative humidity in the pores of concrete when the forms come off, by catalogue id [-]: what
#: self-desiccation leaves of the mixing water, less of it the lower the ratio of water to cement
#: (common practice, no source)
FRESH_CONCRETE: Mapping[str, float] = {
    "concrete_wc040": 0.95,
    "concrete_wc050": 0.97,
    "concrete_rc1": 0.97,
    "concrete_footing": 0.98,
    "concrete_wc070": 0.98,
    "cmu_grouted": 0.97,
    "mortar_cement": 0.98,
}
#: wood as it is delivered dried, kg water per kg dry wood; the grade mark of kiln-dried
#: lumber allows 15 % (from memory, to be checked)
DELIVERED_WOOD = 0.15


def fresh(section: Section, materials: Mapping[str, Material], stated: frozenset[str]) -> Section:
    """Return the section as just built: wet concrete, wood at delivery moisture.

    Parameters
    ----------
    section : Section
        As drawn.
    materials : mapping of str to Material
        By the keys of the section.
    stated : frozenset of str
        Names of the regions whose start humidity somebody stated; they keep it.
    """
    items = tuple(
        _fresh_region(item, materials[item.material]) if isinstance(item, Region) and item.name not in stated else item
        for item in section.items
    )
    return replace(section, items=items)


def _fresh_region(region: Region, material: Material) -> Region:
    humidity = fresh_humidity(material)
    return region if humidity is None else replace(region, initial_rh=humidity)


def fresh_humidity(material: Material) -> float | None:
    """Return the relative humidity [-] of a material as delivered or cast; None if the case's own rule holds."""
    if material.hatch == "wood":
        return humidity_at(material, DELIVERED_WOOD * material.density)
    return FRESH_CONCRETE.get(material.id)


def humidity_at(material: Material, water: float) -> float:
    """Return the relative humidity [-] at which a material holds so much water [kg/m3], 1 % to 99 %."""
    from scipy.optimize import brentq

    def excess(humidity: float) -> float:
        return float(material.water_content(suction_from_humidity(np.array([humidity])))[0]) - water

    low, high = 0.01, 0.99
    if excess(low) >= 0.0:
        return low
    if excess(high) <= 0.0:
        return high
    return float(brentq(excess, low, high, xtol=1e-6))
