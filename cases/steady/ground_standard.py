"""Floors on and over the ground by ISO 13370: stationary transmittance, and the yearly wave.

Per metre of a building of endless length, whose characteristic dimension is its width.  All formulas, and the lags in
months, are from memory, to be checked against ISO 13370:2007 (clause 9, annex A).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, pi, sqrt
from typing import Literal

R_INSIDE, R_OUTSIDE = 0.17, 0.04
Kind = Literal["slab on ground", "suspended floor", "basement"]


@dataclass(frozen=True)
class GroundFloor:
    """A floor in the terms of the standard.

    Parameters
    ----------
    kind : str
        "slab on ground", "suspended floor" or "basement".
    width : float
        Inner width of the building, its characteristic dimension [m].
    wall : float
        Thickness of the wall [m].
    conductivity, capacity : float
        Of the ground [W/(m K)], [J/(m3 K)].
    floor : float
        Resistance of the floor on the ground, without surfaces [m2 K/W].
    depth : float
        Of a basement floor, or of the ground below a suspended floor, below grade [m].
    basement_wall : float
        Resistance of the wall below grade, without surfaces [m2 K/W].
    suspended : float
        Resistance of the suspended floor, without surfaces [m2 K/W].
    ventilation : float
        Heat that air of the space below it carries off per floor area, and the walls above grade let through
        [W/(m2 K)].
    """

    kind: Kind
    width: float
    wall: float
    conductivity: float
    capacity: float
    floor: float
    depth: float = 0.0
    basement_wall: float = 0.0
    suspended: float = 0.0
    ventilation: float = 0.0

    @property
    def thickness(self) -> float:
        """Thickness of ground with the resistance of the floor, d_t [m]."""
        return self.wall + self.conductivity * (R_INSIDE + self.floor + R_OUTSIDE)

    @property
    def wall_thickness(self) -> float:
        """The same of the wall below grade, d_w [m]; its surface inside has 0.13 m2K/W."""
        return self.conductivity * (0.13 + self.basement_wall + R_OUTSIDE)

    @property
    def depth_of_year(self) -> float:
        """Depth to which the yearly wave goes, delta [m]."""
        return sqrt(365.0 * 86400.0 * self.conductivity / (pi * self.capacity))

    @property
    def transmittance(self) -> float:
        """Of the floor [W/(m2 K)]: of a basement that of the floor alone."""
        if self.kind != "suspended floor":
            return self._on_ground(self.thickness + (0.5 * self.depth if self.kind == "basement" else 0.0))
        below = (
            2.0 * self.conductivity / (pi * self.width + self.thickness) * log(pi * self.width / self.thickness + 1.0)
        )
        return 1.0 / (1.0 / self._floor + 1.0 / (below + self.ventilation))

    @property
    def wall_transmittance(self) -> float:
        """Of the wall of a basement below grade [W/(m2 K)]; 0 without one."""
        if self.kind != "basement" or self.depth <= 0.0:
            return 0.0
        z, dw = self.depth, self.wall_thickness
        dt = min(self.thickness, dw)
        return 2.0 * self.conductivity / (pi * z) * (1.0 + 0.5 * dt / (dt + z)) * log(z / dw + 1.0)

    @property
    def stationary(self) -> float:
        """Heat of half the building per metre of perimeter and kelvin [W/(m K)]."""
        wall = self.depth * self.wall_transmittance if self.kind == "basement" else 0.0
        return 0.5 * self.width * self.transmittance + wall

    @property
    def periodic(self) -> tuple[float, float]:
        """The same of the yearly wave indoors and outdoors, H_pi and H_pe [W/(m K)]."""
        half, lam, delta = 0.5 * self.width, self.conductivity, self.depth_of_year
        dt, dw, z = self.thickness, self.wall_thickness, self.depth
        if self.kind == "suspended floor":
            ground, uf, ux = lam / delta, self._floor, self.ventilation
            outer = uf * (0.37 * lam * log(delta / dt + 1.0) + ux * half) / (ground + ux + uf)
            return half / (1.0 / uf + 1.0 / (ground + ux)), outer
        inner = half * lam / dt * sqrt(2.0 / ((1.0 + delta / dt) ** 2 + 1.0))
        if self.kind == "slab on ground":
            return inner, 0.37 * lam * log(delta / dt + 1.0)
        inner += z * lam / dw * sqrt(2.0 / ((1.0 + delta / dw) ** 2 + 1.0))
        fallen = exp(-z / delta)
        return inner, 0.37 * lam * (fallen * log(delta / dt + 1.0) + 2.0 * (1.0 - fallen) * log(delta / dw + 1.0))

    @property
    def lags(self) -> tuple[float, float]:
        """Months by which heat leads the indoor wave, and lags the outdoor one."""
        return (0.0, 0.0) if self.kind == "suspended floor" else (0.0, 1.0)

    @property
    def _floor(self) -> float:
        """Transmittance of the suspended floor between house and space below [W/(m2 K)]."""
        return 1.0 / (2.0 * R_INSIDE + self.suspended)

    def _on_ground(self, thickness: float) -> float:
        if thickness < self.width:
            return 2.0 * self.conductivity / (pi * self.width + thickness) * log(pi * self.width / thickness + 1.0)
        return self.conductivity / (0.457 * self.width + thickness)
