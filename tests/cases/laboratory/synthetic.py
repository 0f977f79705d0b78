"""Sheets written from known material functions, with scatter between specimens."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.laboratory.read_sheet import SheetFile, parse_sheet
from stemwall.materials.catalogue import catalogue
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.vapour import power_mean
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

Floats = NDArray[np.float64]
HUMIDITY = np.array([0.12, 0.33, 0.53, 0.75, 0.85, 0.93, 0.97])
PLATES = np.array([1e4, 3e4, 1e5, 3e5, 1.5e6])
CUPS = ((0.0, 0.50), (0.50, 0.93))
MOISTURES = np.array([0.0, 60.0, 150.0])
SOIL_SUCTIONS = np.array([1e3, 3e3, 1e4, 3.3e4, 1e5, 5e5, 1.5e6])


@dataclass(frozen=True)
class Truth:
    """Functions of a made-up solid: storage of a catalogue material, the rest drawn at random."""

    key: str
    base: float
    rise: float
    power: float
    absorption: float
    dry: float
    per_water: float
    noise: float = 0.05

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> Truth:
        """A solid whose functions lie in usual ranges."""
        base = AIR_PERMEABILITY / rng.uniform(8.0, 30.0)
        return cls(
            str(rng.choice(["brick_1700", "aac_500", "osb_en"])), base, base * rng.uniform(0.5, 3.0),
            rng.uniform(2.5, 5.5), rng.uniform(0.02, 0.3), rng.uniform(0.2, 0.9), rng.uniform(1e-3, 4e-3),
        )  # fmt: skip

    def content(self, suction: Floats) -> Floats:
        """Water content [kg/m3]."""
        return np.asarray(catalogue().material(self.key).storage.curve.content(suction))

    def permeability(self, humidity: Floats) -> Floats:
        """Permeability, liquid included [kg/(m s Pa)]."""
        return np.asarray(self.base + self.rise * humidity**self.power)

    def conductivity(self, water: Floats) -> Floats:
        """Conductivity [W/(m K)]."""
        return self.dry + self.per_water * water

    def sheet(self, rng: np.random.Generator, specimens: int = 3, draws: int = 400) -> str:
        """Text of a sheet with scattered specimens."""

        def scattered(values: Floats) -> list[list[float]]:
            factors = 1.0 + self.noise * rng.standard_normal((np.size(values), specimens))
            return [[float(f"{one:.6g}") for one in row] for row in (np.atleast_1d(values)[:, None] * factors)]

        material = catalogue().material(self.key)
        sorbed = scattered(self.content(suction_from_humidity(HUMIDITY, 23.0)))
        cups = []
        for low, high in CUPS:
            mean = self.base + self.rise * power_mean(self.power, low, high)
            factors = [AIR_PERMEABILITY / one for one in scattered(np.array([mean]))[0]]
            cups.append(f"[[cup]]\nfrom = {low}\nto = {high}\nmu = {factors}")
        return "\n".join(
            [
                f'[sheet]\nid = "made_up"\nname = "Made up"\ndraws = {draws}\nhatch = "{material.hatch}"',
                f"[density]\nvalue = {material.density}",
                f"[saturation]\nvalue = {scattered(np.array([material.storage.saturation]))[0]}",
                f"[[sorption]]\nhumidity = {HUMIDITY.tolist()}\nwater = {sorbed}",
                f"[[retention]]\nsuction = {PLATES.tolist()}\nwater = {scattered(self.content(PLATES))}",
                *cups,
                f"[[uptake]]\ncoefficient = {scattered(np.array([self.absorption]))[0]}",
                f"[[conductivity]]\nmoisture = {MOISTURES.tolist()}",
                f"value = {scattered(self.conductivity(MOISTURES))}",
            ]
        )


def read(text: str) -> SheetFile:
    """A sheet of a text."""
    return parse_sheet(text, Path("made_up_sheet.toml"))


def soil(rng: np.random.Generator) -> tuple[VanGenuchten, str]:
    """A made-up soil and its sheet."""
    theta_s = float(rng.uniform(0.36, 0.48))
    curve = VanGenuchten.soil(
        float(rng.uniform(0.03, 0.09)), theta_s, float(rng.uniform(0.8, 5.0)), float(rng.uniform(1.33, 1.9))
    )

    def scattered(suction: Floats) -> list[list[float]]:
        errors = 10.0 * rng.standard_normal((suction.size, 3))
        return [[float(f"{max(one, 0.0):.6g}") for one in row] for row in curve.content(suction)[:, None] + errors]

    text = "\n".join(
        [
            '[sheet]\nid = "made_up"\nname = "Made up"\nkind = "soil"\nlike = "soil_loam"\ndraws = 200',
            "[density]\nvalue = 1350",
            f"[saturation]\nvalue = {scattered(np.zeros(1))[0]}",
            f"[[retention]]\nsuction = {SOIL_SUCTIONS.tolist()}\nwater = {scattered(SOIL_SUCTIONS)}",
        ]
    )
    return curve, text
