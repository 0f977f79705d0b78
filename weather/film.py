"""Surface films: convective heat transfer outdoors and indoors, and the linearised radiative part."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import KELVIN, FloatArray
from stemwall.weather.sky import STEFAN_BOLTZMANN

HeatFlow = Literal["up", "horizontal", "down"]

INDOOR_CONVECTION: dict[HeatFlow, float] = {"up": 5.0, "horizontal": 2.5, "down": 0.7}
"""Indoor convective coefficient by direction of heat flow [W/(m² K)], ISO 6946:2017, Annex C (from memory, to
be checked)."""


def outdoor_convection(wind_speed: ArrayLike) -> FloatArray:
    """Convective heat transfer coefficient of an outer surface [W/(m² K)] from the wind speed beside it [m/s].

    h_c = 4 + 4 v [1]_. The speed beside a wall is lower than at a weather station; the reported speed of a
    station gives an upper bound.

    References
    ----------
    .. [1] ISO 6946:2017, Annex C (equation from memory, to be checked).
    """
    speed = np.asarray(wind_speed, dtype=np.float64)
    if not np.all(speed >= 0):
        raise ValueError(f"wind speed {np.min(speed)} m/s: expected 0 or more")
    return np.asarray(4.0 + 4.0 * speed)


def indoor_convection(heat_flow: HeatFlow = "horizontal") -> float:
    """Convective heat transfer coefficient of an inner surface [W/(m² K)] for a direction of heat flow."""
    if heat_flow not in INDOOR_CONVECTION:
        raise ValueError(f"heat flow {heat_flow!r}: expected one of {', '.join(INDOOR_CONVECTION)}")
    return INDOOR_CONVECTION[heat_flow]


def radiative_coefficient(temperature: ArrayLike, emissivity: float = 0.9) -> FloatArray:
    """Linearised radiative coefficient h_r = 4 eps sigma T_m³ [W/(m² K)] at a mean temperature [°C].

    The default emissivity of 0.9 is that of common building surfaces, ISO 6946:2017 (from memory, to be
    checked).
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + KELVIN
    return np.asarray(4 * emissivity * STEFAN_BOLTZMANN * kelvin**3)


def indoor_film(temperature: ArrayLike, heat_flow: HeatFlow = "horizontal", emissivity: float = 0.9) -> FloatArray:
    """Combined indoor surface coefficient, convection plus radiation [W/(m² K)]; 1/R_si of ISO 6946 at 20 °C."""
    return np.asarray(indoor_convection(heat_flow) + radiative_coefficient(temperature, emissivity))
