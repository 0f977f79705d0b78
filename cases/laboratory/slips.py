"""Slips that the numbers of a sheet betray only together: a unit mistaken for another, a per cent for a share.

Bands of common practice, no source; each message names the reading that would fit.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stemwall.cases.inputs.input_errors import Problem
from stemwall.cases.laboratory.liquid_fit import specimens
from stemwall.cases.laboratory.read_sheet import SheetFile
from stemwall.cases.laboratory.units import FACTORS
from stemwall.materials.check import FASTEST_FRONT
from stemwall.materials.material import Hatch

BTU_IN = FACTORS["W/(m K)"]["Btuin/hft2F"]
#: least and greatest dry conductivity [W/(m K)] over dry density [kg/m3]
CONDUCTIVITY = (
    (0.0, 0.018, 0.07), (60.0, 0.018, 0.07), (200.0, 0.03, 0.12), (500.0, 0.06, 0.27), (1000.0, 0.12, 0.7),
    (1500.0, 0.17, 1.3), (2000.0, 0.35, 2.6), (2700.0, 0.9, 4.5), (8000.0, 2.0, 400.0),
)  # fmt: skip
#: moisture content at about 80 % RH [kg/kg] by hatch
SORBED = {
    "wood": (0.06, 0.25), "board": (0.002, 0.25), "concrete": (0.005, 0.08), "masonry": (0.0005, 0.08),
    "insulation": (0.0005, 0.25), "flooring": (0.001, 0.25),
}  # fmt: skip
#: least share of its pores that a capillary material fills
LEAST_FILLED = 0.25
#: density from which a resistance factor below `LEAST_MU` is odd [kg/m3], [-]
DENSE, LEAST_MU = 1000.0, 4.0
#: coefficient over the saturation [m/s^0.5] that a front seldom exceeds: 20 mm in the first hour
QUICK_FRONT = 3.4e-4


def slips(
    file: SheetFile, density: float, saturation: float | None, porosity: float | None, hatch: Hatch | None
) -> Iterator[Problem]:
    """Yield what several numbers together make unlikely.

    Parameters
    ----------
    file : SheetFile
    density : float
        Dry density [kg/m3].
    saturation : float or None
        Water content at zero suction [kg/m3], if known.
    porosity : float or None
        [m3/m3], if tested.
    hatch : Hatch or None
        What kind of solid it is, if known.
    """
    if saturation is not None:
        yield from _uptake(file, saturation)
    yield from _conductivity(file, density)
    yield from _cups(file, density)
    yield from _moisture(file, density, porosity, hatch)


def _uptake(file: SheetFile, saturation: float) -> Iterator[Problem]:
    heights = [test.height for test in file.sheet.uptake if test.height]
    for number, test in enumerate(file.sheet.uptake):
        try:
            values = specimens([test])[1]
        except ValueError:  # said where it is fitted
            continue
        for value in values:
            front = value / saturation
            slow = front / 60.0
            if front > FASTEST_FRONT or (front > QUICK_FRONT * 3.0 and not heights and test.mass is None):
                found = f"{value:.3g} kg/(m2 s^0.5) beside {saturation:.3g} kg/m3 of pores"
                expected = f"a front slower than {front * 60e3:.0f} mm in the first hour"
                meant = f"did you mean {value:.3g} kg/(m2 h^0.5), a front of {slow * 60e3:.2g} mm?"
                yield file.problem(("uptake", number), found, f"{expected}; {meant}")
                break


def _conductivity(file: SheetFile, density: float) -> Iterator[Problem]:
    table = np.array(CONDUCTIVITY)
    low, high = (float(np.interp(density, table[:, 0], table[:, k])) for k in (1, 2))
    for number, test in enumerate(file.sheet.conductivity):
        for moisture, values in zip(test.moisture, test.value, strict=True):
            value = float(np.mean(values))
            if moisture.number > 0.0 or low <= value <= high:
                continue
            found = f"{value:.3g} W/(m K) dry at {density:.4g} kg/m3"
            expected = f"usually {low:.2g} to {high:.2g} W/(m K)"
            meant = value * BTU_IN
            hint = (
                f"; did you mean {value:.3g} Btu in/(h ft2 degF), {meant:.3g} W/(m K)?" if low <= meant <= high else ""
            )
            milli = value * 1e-3
            hint = f"; did you mean {value:.3g} mW/(m K)?" if not hint and low <= milli <= high else hint
            yield file.problem(("conductivity", number, "value"), found, expected + hint)


def _cups(file: SheetFile, density: float) -> Iterator[Problem]:
    for number, cup in enumerate(file.sheet.cup):
        if cup.mu and density > DENSE and min(cup.mu) < LEAST_MU:
            value = min(cup.mu)
            hint = f"; did you mean s_d = {value:.3g} m" + (
                f", mu of {value / cup.thickness:.3g}?" if cup.thickness else "?"
            )
            found = f"mu = {value:.3g} at {density:.4g} kg/m3"
            yield file.problem(("cup", number, "mu"), found, f"usually {LEAST_MU:g} or more{hint}")
        if cup.sd and cup.thickness and max(cup.sd) / cup.thickness > 2e4 and density < 2600.0:
            value = max(cup.sd)
            found = f"s_d = {value:.3g} m of {cup.thickness * 1e3:.3g} mm, mu of {value / cup.thickness:.3g}"
            yield file.problem(("cup", number, "sd"), found, f"less; did you mean mu = {value:.3g}?")


def _moisture(file: SheetFile, density: float, porosity: float | None, hatch: Hatch | None) -> Iterator[Problem]:
    band = SORBED.get(hatch or "")
    for number, test in enumerate(file.sheet.sorption):
        for humidity, values in zip(test.humidity, test.water, strict=True):
            if not 0.70 <= humidity <= 0.90 or band is None or any(one.basis != "kg/m3" for one in values):
                continue
            stated = float(np.mean([one.number for one in values]))
            low, high = band
            as_mass = stated / 100.0
            if not low <= stated / density <= high and low <= as_mass <= high:
                found = f"{stated:.3g} kg/m3 at {humidity:.0%} RH, {stated / density:.2%} of the mass"
                yield file.problem(
                    ("sorption", number, "water"), found, f"{low:.1%} to {high:.0%}; did you mean mass-%?"
                )
                break
    full = file.sheet.saturation
    if full is not None and all(one.basis == "kg/m3" for one in full.value) and hatch != "insulation":
        pores = porosity or max(1.0 - density / 2650.0, 0.02)
        stated = float(np.mean([one.number for one in full.value]))
        meant = stated / 100.0 * density
        if stated < LEAST_FILLED * pores * 1000.0 and LEAST_FILLED <= meant / (pores * 1000.0) <= 1.05:
            found = f"{stated:.3g} kg/m3 in pores of {pores:.0%}"
            expected = f"usually {LEAST_FILLED:.0%} of the pores or more"
            yield file.problem(("saturation",), found, f"{expected}; did you mean mass-%, {meant:.3g} kg/m3?")
