"""Plausibility of a material: errors reject it, warnings ask, notes inform."""

from collections.abc import Iterator
from typing import Literal

import numpy as np

from stemwall.materials.liquid import Absorption, Mualem, cup_share
from stemwall.materials.material import Material
from stemwall.materials.problems import Finding
from stemwall.materials.retention import NEAR_LINEAR_N, OpenPores, VanGenuchten
from stemwall.materials.vapour import CUP_TEMPERATURE, WET_CUP
from stemwall.materials.water import (
    AIR_PERMEABILITY,
    GRAVITY,
    WATER_DENSITY,
    FloatArray,
    suction_from_humidity,
)

_SUCTIONS = np.concatenate([-np.geomspace(2.5e5, 1.0, 20), [0.0], np.geomspace(1.0, 9.9e8, 400)])
_SKELETON = {
    "concrete": (2000.0, 3000.0),
    "masonry": (2000.0, 3000.0),
    "soil": (2000.0, 3000.0),
    "gravel": (2000.0, 3000.0),
    "sand": (2000.0, 3000.0),
    "wood": (1400.0, 1600.0),
    "board": (1200.0, 2600.0),
}
"""Density of the solid matrix by hatch [kg/m3]."""
_HEAT = {
    "concrete": (700.0, 1100.0),
    "masonry": (700.0, 1100.0),
    "soil": (700.0, 1100.0),
    "gravel": (700.0, 1100.0),
    "sand": (700.0, 1100.0),
    "wood": (1100.0, 1900.0),
    "board": (800.0, 1900.0),
    "insulation": (700.0, 2300.0),
}
"""Specific heat of the dry material by hatch [J/(kg K)]."""
FASTEST_FRONT = 2.5e-3
"""A water absorption coefficient over the saturation [m/s^0.5] that no building material reaches: calcium silicate has
1.3e-3, brick 0.2e-3 to 1e-3 (common practice, no source)."""


def check(material: Material) -> list[Finding]:
    """Findings on one material, the gravest first."""
    rules = (_storage, _matrix, _vapour, _conductivity, _heat, _retention, _liquid, _sources)
    findings = [finding for rule in rules for finding in rule(material)]
    return sorted(findings, key=lambda finding: "EWI".index(finding.severity))


def _outside(
    severity: Literal["E", "W", "I"], rule: str, place: str, value: float, low: float, high: float, unit: str
) -> Iterator[Finding]:
    if not low <= value <= high:
        yield Finding(severity, rule, place, f"{value:.4g} {unit}", f"{low:g} to {high:g} {unit}")


def _storage(material: Material) -> Iterator[Finding]:
    water: FloatArray = material.water_content(_SUCTIONS)
    if not np.all(np.diff(water) < 0.0):
        at = float(_SUCTIONS[int(np.argmax(np.diff(water)))])
        yield Finding("E", "monotone storage", "storage", f"not rising at suction {at:.3g} Pa", "w rising with wetness")
    if not np.all(water > 0.0):
        yield Finding("E", "positive storage", "storage", f"{water.min():.3g} kg/m3", "w > 0 down to dryness")
    limit = WATER_DENSITY * (material.porosity_or_saturation * 1.005)
    if material.storage.saturation > limit + 1e-9:
        found = f"{material.storage.saturation:.4g} kg/m3 at saturation"
        yield Finding("E", "water fits the pores", "storage", found, f"at most porosity x 1000 = {limit:.4g} kg/m3")
    w50, w80 = material.water_content(suction_from_humidity(np.array([0.5, 0.8])))
    yield from _outside("W", "hygroscopic capacity", "storage", w80 / material.density, 0.0, 0.25, "kg/kg at 80 % RH")
    if w80 > 1.0 and not isinstance(material.storage.curve, OpenPores):
        yield from _outside("W", "shape of the isotherm", "storage", w50 / w80, 0.3, 0.8, "w50/w80")


def _matrix(material: Material) -> Iterator[Finding]:
    if material.porosity is None or material.hatch not in _SKELETON or material.porosity >= 1.0:
        return
    density = material.density / (1.0 - material.porosity)
    yield from _outside("W", "density of the matrix", "density", density, *_SKELETON[material.hatch], "kg/m3")


def _vapour(material: Material) -> Iterator[Finding]:
    delta = material.vapour_permeability(_SUCTIONS)
    top = float(delta.max())
    if material.hatch != "air" and top > AIR_PERMEABILITY * 1.0001:
        yield Finding("E", "not above still air", "vapour", f"{top:.3g} kg/(m s Pa)", f"at most {AIR_PERMEABILITY:.4g}")
    if float(delta.min()) < 0.0:
        yield Finding("E", "positive permeability", "vapour", f"{delta.min():.3g}", "at least 0")
    if material.porosity is not None and material.hatch != "air" and top > AIR_PERMEABILITY * material.porosity:
        found = f"mu down to {AIR_PERMEABILITY / top:.3g}"
        yield Finding("W", "mu against porosity", "vapour", found, f"at least 1/porosity = {1 / material.porosity:.3g}")


def _conductivity(material: Material) -> Iterator[Finding]:
    water = np.linspace(0.0, material.storage.saturation, 50)
    value = material.thermal_conductivity(water)
    yield from _outside("E", "conductivity", "conductivity", float(value[0]), 0.005, 400.0, "W/(m K)")
    if np.any(np.diff(value) < -1e-12):
        yield Finding("E", "wetter conducts better", "conductivity", "falling with water", "lambda not falling")
    if material.hatch in {"concrete", "masonry", "soil", "sand", "gravel"}:
        yield from _outside("W", "wet conductivity", "conductivity", float(value[-1]), 0.0, 3.5, "W/(m K)")
    if material.hatch != "air":
        yield from _outside("W", "below still air", "conductivity", float(value[0]), 0.024, 400.0, "W/(m K)")


def _heat(material: Material) -> Iterator[Finding]:
    if material.hatch in _HEAT:
        low, high = _HEAT[material.hatch]
        yield from _outside("W", "specific heat", "specific_heat", material.specific_heat, low, high, "J/(kg K)")


def _retention(material: Material) -> Iterator[Finding]:
    curve = material.storage.curve
    if not isinstance(curve, VanGenuchten) or material.group == "reference":
        return
    for mode in curve.modes:
        per_metre = mode.alpha * WATER_DENSITY * GRAVITY
        if material.hatch in {"sand", "gravel"} and per_metre < 0.2:
            yield Finding("E", "unit of alpha", "storage.alpha", f"{per_metre:.3g} 1/m", "1/m, not 1/cm")
        if mode.m is None and mode.n <= NEAR_LINEAR_N and curve.air_entry == 0.0:
            yield Finding("W", "n close to one", "storage.n", f"{mode.n:g}", "an air-entry head of about 0.02 m")


def _liquid(material: Material) -> Iterator[Finding]:
    if isinstance(material.liquid, Mualem):
        yield from _outside("W", "saturated flow", "liquid", material.liquid.saturated, 1e-11, 1e-1, "m/s")
    k = material.liquid_conductivity(_SUCTIONS)
    if np.any(np.diff(k) > 1e-6 * k[:-1]) or np.any(k < 0.0):
        yield Finding("W", "drier conducts less", "liquid", "K rising with suction", "K falling with suction")
    if not isinstance(material.liquid, Absorption):
        return
    share = cup_share(material.liquid, material.storage, *WET_CUP, CUP_TEMPERATURE)
    dry, wet = material.vapour_permeability(suction_from_humidity(np.array([0.25, 0.93])))
    total = (share + wet) / dry
    yield Finding(
        "I",
        "liquid in the wet cup",
        "liquid",
        f"{share / AIR_PERMEABILITY:.3g} of still air",
        f"counted once: wet to dry ratio {total:.3g}",
    )


def uptake(coefficient: float, saturation: float) -> Iterator[Finding]:
    """Findings on an absorption coefficient [kg/(m2 s^0.5)] of pores that hold so much water [kg/m3].

    A sharp front of full pores advances by A / w_sat sqrt(t); what is entered per h^0.5 runs 60 times too fast.
    """
    limit = FASTEST_FRONT * saturation
    if coefficient > limit:
        expected = f"at most {limit:.3g}, a front of {FASTEST_FRONT * 60 * 1000:.0f} mm in an hour"
        meant = f"did you mean {coefficient / 60:.3g}, which is {coefficient:.3g} kg/(m2 h^0.5)?"
        found = f"{coefficient:.3g} kg/(m2 s^0.5) at {saturation:.3g} kg/m3 of pores"
        yield Finding("W", "fastest front", "liquid.coefficient", found, f"{expected}; {meant}")


def _sources(material: Material) -> Iterator[Finding]:
    names = {"density", "specific_heat", "storage", "vapour", "conductivity"} | set(material.provenance)
    for name in sorted(names):
        origin = material.provenance.get(name)
        if origin is None or origin.confidence == "unsourced":
            yield Finding("I", "unsourced", name, "no source", "source and confidence")
