"""Air paths as stated: a line through the section, and what drives air along it."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign, sqrt

from stemwall.materials.water import GRAVITY, ZERO_CELSIUS
from stemwall.solver.model.arrays import Floats

Point = tuple[float, float]

#: density of air at 20 degC [kg/m3]; handbook value
AIR_DENSITY = 1.205


@dataclass(frozen=True)
class Draught:
    """A joint through which wind and buoyancy drive air, an orifice (handbook form, from memory, to be checked).

    V = C_d w sqrt(2 |dp| / rho) per metre, dp = C_p rho v^2 / 2 - rho g h (T_to - T_from) / T:
    wind presses from the source to the target, and where the target is the warmer space it
    draws air in at joints below the neutral level (h < 0) and drives it out above.

    Parameters
    ----------
    gap : float
        Equivalent width of the joint [m].
    height : float
        Height of the joint above the neutral level [m].
    wind : Floats
        Wind speed at the joint [m/s], (hours,).
    pressure : float
        Pressure coefficient of the wind between the two ends [-].
    discharge : float
        Discharge coefficient [-].
    """

    gap: float
    height: float
    wind: Floats
    pressure: float = 0.3
    discharge: float = 0.6

    def flow(self, hour: int, source: float, target: float) -> float:
        """Dry air [kg/(s m)] from source to target in an hour, at their temperatures [degC]."""
        stack = GRAVITY * self.height * (target - source) / (0.5 * (source + target) + ZERO_CELSIUS)
        drive = 0.5 * self.pressure * float(self.wind[hour]) ** 2 - stack
        return copysign(AIR_DENSITY * self.discharge * self.gap * sqrt(2.0 * abs(drive)), drive)


@dataclass(frozen=True)
class AirPath:
    """A line through the section along which air moves from ``source`` to ``target``.

    Parameters
    ----------
    name : str
        Unique; heads the balance lines of its ends.
    source, target : str
        Keys of climates or zones; the first and the last point lie on faces that look into them.
    points : sequence of (x, y)
        Corners of the line [m], each piece horizontal or vertical.
    flow : Floats or Draught
        Dry air [kg/(s m)], (hours,), negative from target to source; or what drives it.
    """

    name: str
    source: str
    target: str
    points: tuple[Point, ...]
    flow: Floats | Draught

    def at(self, hour: int, source: float, target: float) -> float:
        """Dry air [kg/(s m)] in an hour, at the temperatures of source and target [degC]."""
        if isinstance(self.flow, Draught):
            return self.flow.flow(hour, source, target)
        return float(self.flow[hour])
