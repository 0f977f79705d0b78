"""What a steady and yearly computation finds: couplings, linear transmittance, temperature factors, the year, frost.

Everything is per metre of the foundation's perimeter; the right side of the section is the middle of the building.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.steady.frost import DesignWinter
from stemwall.cases.steady.ground_standard import GroundFloor

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Year:
    """Heat that heated air gives to the foundation below the house wall, by month, and that of ISO 13370 [kWh/m].

    ``at_rest`` is the heat of the yearly means alone, with the standard's beside.
    """

    months: Floats
    standard: Floats
    at_rest: float
    standard_at_rest: float


@dataclass(frozen=True)
class FrostPlace:
    """A place under the footing in the design winter: its name, and its lowest temperature [degC]."""

    name: str
    lowest: float


@dataclass(frozen=True)
class Frost:
    """The design winter, how deep it freezes open ground [m], and the lowest temperatures under the footing."""

    winter: DesignWinter
    depth: float
    places: tuple[FrostPlace, ...]


@dataclass(frozen=True)
class Steady:
    """What `steady` finds.

    Parameters
    ----------
    heated, unheated : tuple of str
        Airs that are given, and those whose temperature follows.
    factor : dict
        Temperature of each unheated air with heated air at 1 and outdoors at 0 [-].
    coupling : float
        Thermal coupling coefficient of the drawn half between heated air and outdoors, L2D [W/(m K)].
    wall : float
        Transmittance of the house wall that is drawn [W/(m2 K)]; 0 without one.
    heights : tuple of float
        Heights of that wall by inner dimensions, above the floor, and by outer ones, above grade [m].
    widths : tuple of float
        Half widths of the floor, to the inner and to the outer face of the wall [m].
    floor : GroundFloor
        The floor in the terms of ISO 13370.
    below_grade : float or None
        Conductance of the wall below grade, without ground and surfaces [W/(m2 K)].
    surface : dict
        By heated or unheated air: lowest temperature factor of its surfaces, and where, (f, x, y, region).
    year : Year
        Heat of the year.
    frost : Frost
        Frost design.
    """

    heated: tuple[str, ...]
    unheated: tuple[str, ...]
    factor: dict[str, float]
    coupling: float
    wall: float
    heights: tuple[float, float]
    widths: tuple[float, float]
    floor: GroundFloor
    below_grade: float | None
    surface: dict[str, tuple[float, float, float, str]]
    year: Year
    frost: Frost

    @property
    def perimeter(self) -> float:
        """Perimeter heat loss factor: all heat below the house wall [W/(m K)]."""
        return self.coupling - self.wall * self.heights[0]

    @property
    def linear(self) -> tuple[float, float]:
        """Linear transmittance of wall and floor, with inner and with outer dimensions [W/(m K)], after ISO 10211.

        L2D less the wall by its height, and the floor by its half width and the transmittance of ISO 13370.
        """
        ground = self.floor.transmittance
        below = self.floor.wall_transmittance * self.floor.depth
        inner, outer = (
            self.coupling - self.wall * height - ground * width - below
            for height, width in zip(self.heights, self.widths, strict=True)
        )
        return inner, outer

    def __repr__(self) -> str:
        """Return one line with the main numbers."""
        inner, outer = self.linear
        return (
            f"<steady: L2D {self.coupling:.3f}, perimeter {self.perimeter:.3f}, linear {inner:.3f} (inner) "
            f"{outer:.3f} (outer) W/(m K)>"
        )
