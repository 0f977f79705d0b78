"""Climates: what the air, the sun, the sky and the rain do to a face, hour by hour.

A climate is the other side of a face: one air state for all faces, and loads by
the direction in which the face looks.  Hour ``i`` of every array is the interval
[i, i+1) h after the start of the run; temperature and humidity are means that
the solver joins linearly between the ends of the hours, rain stays constant within
the hour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from stemwall.solver.model.arrays import Floats

Facing = Literal["up", "down", "left", "right"]
FACINGS: tuple[Facing, ...] = ("up", "down", "left", "right")
#: vapour film over convective film, Lewis relation [kg K/(J Pa)]; ISO 13788 practice of 7e-9 (rule of thumb)
LEWIS = 7e-9


@dataclass(frozen=True)
class Leaves:
    """Plants above a face; see `stemwall.solver.forcing.canopy`.

    Parameters
    ----------
    conductance : Floats
        Heat that evaporation takes per pascal between leaf and air, (hours,) [W/(m2 Pa)].
    shade : Floats
        Share of the sun that leaves, or snow on them, keep from the face, (hours,) [-].
    root_depth : float
        Depth from which roots draw water [m].
    """

    conductance: Floats
    shade: Floats
    root_depth: float


@dataclass(frozen=True)
class FacingLoads:
    """Loads on faces that look one way; every array has shape (hours,).

    Parameters
    ----------
    convective : Floats
        Convective film coefficient [W/(m2 K)]; the vapour film follows by the Lewis relation.
    radiative : Floats
        Linear radiative film coefficient to the air temperature [W/(m2 K)];
        zero where ``longwave`` says what the surroundings send.
    longwave : Floats
        Longwave radiation that arrives at the face [W/m2]; ignored where zero.
    solar : Floats
        Solar radiation that arrives at the face [W/m2].
    rain : Floats
        Liquid water that arrives at the face [kg/(m2 s)].
    resistance : Floats or None
        Thermal resistance of a cover on the face, such as snow [m2 K/W].
    vapour_resistance : Floats or None
        Resistance of that cover to vapour [m2 s Pa/kg], infinite where none passes; None: none passes any cover.
    hidden : Floats or None
        Share of the face that the cover hides from the sun [-]; None: nothing.
    hidden_absorptance : float
        Share of the sun that is absorbed there, in place of the face's own absorptance [-].
    leaves : Leaves or None
        Plants, whose leaves are the top of the cover.
    """

    convective: Floats
    radiative: Floats
    longwave: Floats
    solar: Floats
    rain: Floats
    resistance: Floats | None = None
    vapour_resistance: Floats | None = None
    hidden: Floats | None = None
    hidden_absorptance: float = 0.0
    leaves: Leaves | None = None

    def during(self, hours: slice) -> FacingLoads:
        """Return the loads of some of the hours."""
        changed: dict[str, Any] = _sliced(self, hours)
        if self.leaves is not None:
            changed["leaves"] = replace(self.leaves, **_sliced(self.leaves, hours))
        return replace(self, **changed)

    def absorbed(self, own: float) -> Floats:
        """Return the share of the sun that a face of some absorptance and what hides it take in [-], (hours,)."""
        if self.hidden is None:
            return np.full(self.solar.size, own)
        return np.asarray(own + self.hidden * (self.hidden_absorptance - own))


def _sliced(loads: FacingLoads | Leaves, hours: slice) -> dict[str, Any]:
    """The arrays of loads in some of the hours, by name."""
    return {name: value[hours] for name, value in vars(loads).items() if isinstance(value, np.ndarray)}


@dataclass(frozen=True)
class Climate:
    """Air state and loads by facing; see the module text for the meaning of hour ``i``.

    Parameters
    ----------
    key : str
        Name used by openings and edges of the section.
    temperature : Floats
        Air temperature [degC], shape (hours,).
    relative_humidity : Floats
        Air relative humidity [-], shape (hours,).
    facings : Mapping[Facing, FacingLoads]
        Loads for the four facings.
    note : str
        Where it came from, for the report.
    """

    key: str
    temperature: Floats
    relative_humidity: Floats
    facings: Mapping[Facing, FacingLoads]
    note: str = ""

    @property
    def hours(self) -> int:
        """Number of hours it covers."""
        return int(self.temperature.size)


def indoor(
    key: str,
    temperature: Floats,
    relative_humidity: Floats,
    *,
    convective_up: float = 5.0,
    convective_side: float = 2.5,
    convective_down: float = 0.7,
    radiative: float = 5.13,
    note: str = "",
) -> Climate:
    """A space at given temperature and humidity; films of ISO 6946:2007 Annex A.

    ``convective_up`` holds for faces that look up, heat flowing up (5.0), side
    2.5, down 0.7 W/(m2 K); the radiative coefficient is 0.9 x 5.7 W/(m2 K) at
    20 degC (ISO 6946:2007 Table A.1; from memory, to be checked).
    """
    zeros = np.zeros(temperature.size)

    def loads(convective: float) -> FacingLoads:
        return FacingLoads(zeros + convective, zeros + radiative, zeros, zeros, zeros)

    facings: dict[Facing, FacingLoads] = {
        "up": loads(convective_up),
        "down": loads(convective_down),
        "left": loads(convective_side),
        "right": loads(convective_side),
    }
    return Climate(key, temperature, relative_humidity, facings, note)
