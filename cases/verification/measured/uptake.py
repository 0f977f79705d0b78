"""Measured: the uptake test of every absorbing material of the catalogue, run as it is done."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import HOUR, growing_lines
from stemwall.cases.verification.rig import Bench, Load, bar, held_suction, held_temperature
from stemwall.materials.catalogue import material_from_mapping
from stemwall.materials.entries import entries
from stemwall.materials.material import Material
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.uptake import TEST_HUMIDITY, TEST_TEMPERATURE
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

THIN = 1e-3
#: contact of water with the face [s/m]: grows from the first to the second within a quarter of an hour, since dry
#: material that is drowned at once takes steps of no length
FIRST_CONTACT, CONTACT, WETTED = 1e-6, 1e-4, 900.0
#: depth of the half space as a multiple of what water fills in 8 h: vapour runs ahead
REACH = 40.0
#: conductivity that takes the heat of sorption away [W/(m K)]
ISOTHERMAL = 1e3


def marched_coefficient(key: str, stated: float) -> float:
    """Slope of uptake of a catalogue material, by the law of short wetting; see `marched_uptake`."""
    return marched_uptake(material_from_mapping(key, {"base": key, "liquid": {"service": "short-term"}}), stated)


def marched_uptake(
    material: Material, stated: float, humidity: float = TEST_HUMIDITY, temperature: float = TEST_TEMPERATURE
) -> float:
    """Slope of uptake over sqrt(t) [kg/(m2 s^0.5)] between 2 and 8 h, from a humidity [-] at a temperature [degC].

    The specimen is isothermal; the heat of sorption, where it stays, takes up to 5 % off light boards. The first
    cell is a hundred-and-fiftieth of the depth that water fills in 8 h at a ``stated`` slope.
    """
    material = replace(material, conductivity=LinearConductivity(ISOTHERMAL))
    suction = float(suction_from_humidity(humidity, temperature))

    def load(t: float, surface: Surface) -> Load:
        contact = FIRST_CONTACT * (CONTACT / FIRST_CONTACT) ** min(t / WETTED, 1.0)
        return {**held_temperature(temperature), **held_suction(0.0, contact)}

    empty = material.storage.saturation - float(material.water_content(suction))
    filled = stated * np.sqrt(8.0 * HOUR) / empty
    bench = Bench(
        bar([("half space", REACH * filled)], right=False, depth=THIN), {"half space": material},
        growing_lines(REACH * filled, filled / 150.0, 1.05), [0.0, THIN], load, temperature, suction,
        Accuracy(temperature=0.05, humidity=5e-3, saturation=5e-3, longest_step=900.0, resolved=0.05),
    )  # fmt: skip
    taken = []
    for hours in (2.0, 8.0):
        bench.run_to(hours * HOUR)
        taken.append(float(bench.entered[0, 1:].sum()) / THIN)
    return (taken[1] - taken[0]) / float(np.sqrt(8.0 * HOUR) - np.sqrt(2.0 * HOUR))


def uptake_tests() -> list[Comparison]:
    """Water absorption coefficient, EN ISO 15148: half spaces from 50 % RH at 23 degC whose face touches water.

    Vapour flows too. Slope over sqrt(t) between 2 and 8 h, of the law of short wetting where a material has two.
    """
    stated = {
        key: float(entry["liquid"]["coefficient"])
        for key, entry in entries().items()
        if "coefficient" in entry.get("liquid", {})
    }
    found = [marched_coefficient(key, value) for key, value in stated.items()]
    return [
        compare(
            "Uptake tests of the catalogue", "what each entry states", "coefficient [kg/(m² s^0.5)]",
            np.arange(1.0, len(stated) + 1.0), found, list(stated.values()), 0.05, RELATIVE, axis="material",
            labels=tuple(stated),
        )
    ]  # fmt: skip
