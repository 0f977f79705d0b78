"""Laboratory: every material of the catalogue in air of given humidities, and dried from wet."""

from __future__ import annotations

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.laboratory.specimens import DEPTH, specimen
from stemwall.materials.catalogue import catalogue
from stemwall.materials.material import Material
from stemwall.materials.water import suction_from_humidity

#: thickness of the specimens [m], and temperature of the air [degC]
THICKNESS, TEMPERATURE = 0.005, 20.0
#: relative humidities of the steps of sorption, and of drying
STEPS, WET, DRY = (0.5, 0.8, 0.95), 0.98, 0.5


def tested() -> dict[str, Material]:
    """The materials that a laboratory can weigh: no soils, air layers, nor what vapour does not enter."""
    return {
        key: material
        for key, material in catalogue().materials.items()
        if material.hatch not in ("air", "soil", "sand", "gravel")
        and float(material.vapour_permeability(suction_from_humidity(0.5))) > 4e-14
    }


def weighed(material: Material) -> list[float]:
    """Water content [kg/m3] after each step of humidity, from the one before."""
    found, start = [], 0.3
    for humidity in STEPS:
        bench, time = specimen(material, THICKNESS, (humidity, humidity), start, TEMPERATURE)
        bench.run_to(time)
        found.append(bench.water() / (THICKNESS * DEPTH))
        start = humidity
    return found


def given_off(material: Material) -> float:
    """Water that passed the faces of a specimen on drying [kg/m3]."""
    bench, time = specimen(material, THICKNESS, (DRY, DRY), WET, TEMPERATURE)
    bench.run_to(time)
    return float(-bench.entered[:, 1:].sum()) / (THICKNESS * DEPTH)


def sorption_tests() -> list[Comparison]:
    """Sorption, EN ISO 12571: specimens of 5 mm in air of 50, 80 and 95 % after each other, at 20 °C."""
    materials = tested()
    stated = [float(w) for m in materials.values() for w in m.water_content(suction_from_humidity(list(STEPS)))]
    found = [one for material in materials.values() for one in weighed(material)]
    names = tuple(f"{key}, {step:.0%}" for key in materials for step in STEPS)
    return [
        compare(
            "Sorption of the catalogue", "what each entry states", "water content [kg/m³]", range(1, len(found) + 1),
            found, stated, 0.02, RELATIVE, axis="step", labels=names,
        )
    ]  # fmt: skip


def drying_tests() -> list[Comparison]:
    """Drying of specimens of 5 mm from 98 % in air of 50 %, at 20 °C: what passes the faces is the fall of sorption."""
    materials = tested()
    wet, dry = ([float(m.water_content(suction_from_humidity(at))) for m in materials.values()] for at in (WET, DRY))
    found = [given_off(material) for material in materials.values()]
    return [
        compare(
            "Drying of the catalogue", "what each entry states at 98 and 50 %", "water given off [kg/m³]",
            range(1, len(found) + 1), found, [a - b for a, b in zip(wet, dry, strict=True)], 0.02, RELATIVE,
            axis="material", labels=tuple(materials),
        )
    ]  # fmt: skip
