"""Specimens of the catalogue between two airs, marched until nothing changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.material import Material
from stemwall.materials.thermal import LinearConductivity
from stemwall.materials.water import saturation_pressure, suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.settings import Accuracy

#: cells through a specimen, and its depth [m]
CELLS, DEPTH = 20, 1e-3
#: resistance of the films, as a share of that of the specimen
FILMS = 1e-4
#: conductivity and film that keep a specimen at the temperature of the air [W/(m K)], [W/(m2 K)]
ISOTHERMAL, HEAT_FILM = 1e3, 1e5
#: time that a specimen is given, in times that its own permeability and storage take
PATIENCE = 8.0
#: share of that time in which the airs come to their humidities: fibres that hold no water take no sudden change
GRADUAL = 0.2


def specimen(
    material: Material, thickness: float, ends: tuple[float, float], start: float, temperature: float
) -> tuple[Bench, float]:
    """A specimen between two relative humidities [-], and the time [s] in which it settles.

    Parameters
    ----------
    material : Material
        What it is made of.
    thickness : float
        [m].
    ends : (float, float)
        Relative humidities on the left and on the right; equal ones for sorption and drying.
    start : float
        Relative humidity that it starts from.
    temperature : float
        [degC].
    """
    isothermal = replace(material, conductivity=LinearConductivity(ISOTHERMAL))
    suction = float(suction_from_humidity(start, temperature))
    delta = float(material.vapour_permeability(suction_from_humidity(0.5)))
    film = delta / thickness / FILMS

    span = sorted((*ends, start))
    held = np.abs(np.subtract(*material.water_content(suction_from_humidity(np.array([span[-1], span[0]])))))
    pressure = max(span[-1] - span[0], 0.05) * float(saturation_pressure(temperature))
    time = PATIENCE * max(float(held), 0.01) * thickness**2 / (delta * pressure)

    def load(t: float, surface: Surface) -> Load:
        end = ends[0 if surface.climate == "left" else 1]
        reached = min(t / (GRADUAL * time), 1.0)
        return air(temperature, start + reached * (end - start), HEAT_FILM, film)

    bench = Bench(
        bar([("specimen", thickness)], depth=DEPTH), {"specimen": isothermal},
        np.linspace(0.0, thickness, CELLS + 1), [0.0, DEPTH], load, temperature, suction,
        Accuracy(temperature=0.05, humidity=1e-3, saturation=1e-3, longest_step=1e12),
    )  # fmt: skip
    return bench, time
