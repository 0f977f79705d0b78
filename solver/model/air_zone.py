"""Air zones as stated: what moves the air of a space, and what conditions it.

Vented, sealed, decoupled and conditioned are settings of one thing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from stemwall.materials.water import GRAVITY, ZERO_CELSIUS
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.climate import Facing

#: name and source of air drawn through the ground, and of the surface of standing water
THROUGH_GROUND, POOL = ("make-up through the ground", "ground"), ("surface of standing water", "water")


@dataclass(frozen=True)
class Stream:
    """Air of a climate that enters the zone and displaces as much of the zone's own.

    ``flow`` (hours,) in m3/s per metre of section; ``source`` is the key of a climate.
    """

    name: str
    source: str
    flow: Floats


@dataclass(frozen=True)
class Vents:
    """Openings to the outdoors, driven by wind and by the difference of temperature.

    V = C_d A sqrt((C_p |v|)^2 / 2 + g h |dT| / T), A half the free area per metre since air
    must enter and leave (orifice flow of a pair of openings; handbook form, from memory, to be checked).

    Parameters
    ----------
    area : float
        Free area per metre of section, all openings together [m2/m].
    source : str
        Climate outside.
    height : float
        Height between the middles of low and high openings [m].
    wind : Floats
        Wind speed at the openings [m/s], (hours,).
    discharge, wind_factor : float
        Discharge coefficient and root of the pressure difference coefficient [-].
    """

    area: float
    source: str
    height: float
    wind: Floats
    discharge: float = 0.6
    wind_factor: float = 0.4

    def flow(self, hour: int, inside: float, outside: float) -> float:
        """Air flow [m3/(s m)] in an hour at temperatures inside and outside [degC]."""
        wind = (self.wind_factor * float(self.wind[hour])) ** 2 / 2.0
        stack = GRAVITY * self.height * abs(inside - outside) / (0.5 * (inside + outside) + ZERO_CELSIUS)
        return self.discharge * 0.5 * self.area * sqrt(wind + stack)


@dataclass(frozen=True)
class Control:
    """A heater or a dehumidifier with a set point, a proportional band and a capacity.

    A heater adds up to ``capacity`` [W/m] below ``set_point`` [degC]; a dehumidifier takes out up to
    ``capacity`` [kg/(s m)] above ``set_point`` relative humidity [-] and returns the heat of condensation
    and ``heat_per_kg`` [J/kg] of electricity.  Full output is reached at ``band`` from the set point.
    """

    kind: str
    set_point: float
    capacity: float
    band: float
    heat_per_kg: float = 0.0


@dataclass(frozen=True)
class Zone:
    """A space with its own balance.

    Parameters
    ----------
    key : str
        Climate key of the openings that form it.
    temperature, humidity : float
        Start state [degC], [-].
    streams, vents, controls
        What moves its air and conditions it.
    heat_gain, moisture_gain : Floats or None
        Given gains [W/m], [kg/(s m)], (hours,).
    ground_air : Floats or None
        Air drawn in through the ground [m3/(s m)], (hours,); it comes saturated at the temperature of
        the lowest faces that look up, with water that is not taken from the soil drawn.
    pool : float
        Width of the water's surface while the space is flooded [m].
    convective_up, convective_side, convective_down, radiative : float
        Films of faces looking up, sideways, down, and linear radiation [W/(m2 K)]; ISO 6946:2007
        Annex A (from memory, to be checked).
    """

    key: str
    temperature: float = 15.0
    humidity: float = 0.7
    streams: tuple[Stream, ...] = ()
    vents: Vents | None = None
    controls: tuple[Control, ...] = ()
    heat_gain: Floats | None = None
    moisture_gain: Floats | None = None
    ground_air: Floats | None = None
    pool: float = 0.0
    convective_up: float = 5.0
    convective_side: float = 2.5
    convective_down: float = 0.7
    radiative: float = 5.13

    def convective(self, facing: Facing) -> float:
        """Convective film [W/(m2 K)] of faces that look one way."""
        return {"up": self.convective_up, "down": self.convective_down}.get(facing, self.convective_side)

    @property
    def inlets(self) -> tuple[tuple[str, str], ...]:
        """Name and source climate of everything that brings air, heat or vapour in, in the order of their surfaces."""
        named = [(stream.name, stream.source) for stream in self.streams]
        if self.vents is not None:
            named.append(("vents", self.vents.source))
        if self.ground_air is not None:
            named.append(THROUGH_GROUND)
        if self.pool > 0.0:
            named.append(POOL)
        return tuple(named)
