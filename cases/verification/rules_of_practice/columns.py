"""Columns of common practice: layers one above the other between wet ground and a room, for years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.rig import Bench, Load, air, bar, held_suction, held_temperature
from stemwall.materials.catalogue import catalogue
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.section import Membrane
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]

DAY = 86400.0
YEAR = 365 * DAY
WIDTH = 0.1
#: films of a floor [W/(m2 K)], [s/m]: ISO 6946 (from memory, to be checked) and the analogy of Lewis
FILM, VAPOUR_FILM = 6.0, 2e-8
#: suction of moist soil [Pa]: about a metre above a water table
MOIST_SOIL = 1e4


@dataclass(frozen=True)
class Layer:
    """A layer: material, thickness [m], cells, and relative humidity [-] or suction [Pa] at the start."""

    material: str
    thickness: float
    count: int
    humidity: float = 0.8
    suction: float | None = None

    @property
    def start(self) -> float:
        """Suction at the start [Pa]."""
        return suction_of(self.humidity) if self.suction is None else self.suction


def soil(thickness: float = 0.6, count: int = 8, material: str = "soil_loam") -> Layer:
    """Return moist soil."""
    return Layer(material, thickness, count, suction=MOIST_SOIL)


def suction_of(humidity: float) -> float:
    """Return the suction [Pa] at a relative humidity [-], 20 degC."""
    return float(suction_from_humidity(np.array([humidity]), 20.0)[0])


def room(temperature: float, humidity: float) -> Load:
    """Return the load of a room's air on a floor."""
    return air(temperature, humidity, FILM, VAPOUR_FILM)


class Column(Bench):
    """A column that stands on moist ground of a given temperature under the air of a room.

    Parameters
    ----------
    layers : sequence of Layer
        From below.
    above : mapping
        Load at the top, such as `room`.
    ground : float
        Temperature held at the base [degC].
    sheets : mapping of int to str
        Membranes of the catalogue, by the number of the layer that they lie on top of.
    """

    def __init__(
        self, layers: Sequence[Layer], above: Load, ground: float, sheets: Mapping[int, str] | None = None
    ) -> None:
        self.tops = np.cumsum([layer.thickness for layer in layers])
        lines = np.concatenate([[0.0], *(
            top - layer.thickness + layer.thickness * np.arange(1, layer.count + 1) / layer.count
            for top, layer in zip(self.tops, layers, strict=True)
        )])  # fmt: skip
        membranes = tuple(_sheet(key, float(self.tops[number])) for number, key in (sheets or {}).items())
        section = bar([(layer.material, layer.thickness) for layer in layers], upright=True, depth=WIDTH)
        base = {**held_temperature(ground), **held_suction(MOIST_SOIL)}

        def load(t: float, surface: Surface) -> Load:
            return above if surface.climate == "right" else base

        def start(x: Floats, y: Floats) -> Floats:
            own = np.minimum(np.searchsorted(self.tops, y + 1e-9), len(layers) - 1)
            return np.array([layers[k].start for k in own])

        warm = 0.5 * (ground + above["air_temperature"])
        materials = {layer.material: catalogue().material(layer.material) for layer in layers}
        super().__init__(
            replace(section, membranes=membranes), materials, [0.0, WIDTH], lines, load, warm, start,
            Accuracy(longest_step=DAY),
        )  # fmt: skip

    def after(self, years: float) -> Column:
        """Integrate to so many years [a]."""
        self.run_to(years * YEAR)
        return self

    def humidity_in(self, layer: int) -> float:
        """Return the relative humidity [-] in the middle of a layer, counted from 0 below."""
        low = 0.0 if layer == 0 else float(self.tops[layer - 1])
        return float(self.humidity[self.node_at(0.0, 0.5 * (low + float(self.tops[layer])))])

    def water_in(self, layer: int) -> float:
        """Return the water in a layer [kg/m2]."""
        return self.water(layer) / WIDTH

    @property
    def given(self) -> float:
        """Return the vapour given to the air above so far [kg/m2]."""
        [top] = [k for k, surface in enumerate(self.network.surfaces) if surface.climate == "right"]
        return -float(self.entered[top, 1]) / WIDTH


def _sheet(key: str, y: float) -> Membrane:
    product = catalogue().membrane(key)
    return Membrane(key, 0.0, y, WIDTH, y, product.sd_dry, product.sd_wet, product.liquid, product.thermal_resistance)
