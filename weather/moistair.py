"""Moist air: saturation pressure, dew point, vapour pressure, vapour film coefficient.

Temperatures are in °C, pressures in Pa, relative humidity is a fraction (0..1). Every function takes scalars
or arrays and returns the broadcast shape.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

KELVIN = 273.15
"""Offset from °C to K."""
VAPOUR_GAS_CONSTANT = 461.5
"""R_v [J/(kg K)], ISO 13788 (from memory, to be checked)."""
AIR_GAS_CONSTANT = 287.05
"""R_a of dry air [J/(kg K)], ISO 2533 (from memory, to be checked)."""
AIR_HEAT_CAPACITY = 1005.0
"""c_p of dry air [J/(kg K)], handbook value at 20 °C (from memory, to be checked)."""
AIR_DENSITY = 1.205
"""rho_a [kg/m³], dry air at 20 °C and 101 325 Pa (handbook value, from memory, to be checked)."""
LEWIS_NUMBER = 0.87
"""Le = thermal diffusivity / vapour diffusivity of air near 20 °C [-] (handbook value, from memory, to be
checked)."""


def saturation_pressure(temperature: ArrayLike) -> FloatArray:
    """Saturation vapour pressure, over water from 0 °C up and over ice below [Pa].

    Parameters
    ----------
    temperature : array_like
        Air or surface temperature [°C].

    Notes
    -----
    p_sat = 610.5 exp(17.269 t / (237.3 + t)) for t >= 0, and 610.5 exp(21.875 t / (265.5 + t)) for t < 0
    [1]_.

    References
    ----------
    .. [1] ISO 13788:2012, Annex E (equation from memory, to be checked).

    Examples
    --------
    >>> round(float(saturation_pressure(20.0)), 3)
    2336.951
    """
    t = np.asarray(temperature, dtype=np.float64)
    return np.asarray(610.5 * np.exp(np.where(t >= 0, 17.269, 21.875) * t / (np.where(t >= 0, 237.3, 265.5) + t)))


def dew_point(vapour_pressure: ArrayLike) -> FloatArray:
    """Temperature at which a vapour pressure is the saturation pressure; frost point below 0 °C [°C].

    The exact inverse of `saturation_pressure`.

    Parameters
    ----------
    vapour_pressure : array_like
        Partial pressure of water vapour [Pa], greater than zero.

    Raises
    ------
    ValueError
        If a vapour pressure is not positive.

    Examples
    --------
    >>> round(float(dew_point(0.5 * saturation_pressure(20.0))), 5)
    9.26903
    """
    pressure = np.asarray(vapour_pressure, dtype=np.float64)
    if not np.all(pressure > 0):
        raise ValueError(f"vapour pressure {np.min(pressure)} Pa: the dew point needs a pressure above 0 Pa")
    x = np.log(pressure / 610.5)
    return np.asarray(np.where(x >= 0, 237.3, 265.5) * x / (np.where(x >= 0, 17.269, 21.875) - x))


def vapour_pressure(temperature: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Partial pressure of water vapour [Pa] from temperature [°C] and relative humidity [-]."""
    return np.asarray(np.asarray(relative_humidity, dtype=np.float64) * saturation_pressure(temperature))


def relative_humidity(temperature: ArrayLike, pressure: ArrayLike) -> FloatArray:
    """Relative humidity [-] from temperature [°C] and vapour pressure [Pa]."""
    return np.asarray(np.asarray(pressure, dtype=np.float64) / saturation_pressure(temperature))


def saturation_pressure_over_water(temperature: ArrayLike) -> FloatArray:
    """Saturation vapour pressure over (supercooled) water at any temperature [Pa].

    Weather stations report relative humidity and dew point over water, below 0 °C too (WMO-No. 8, part I,
    chapter 4, from memory, to be checked). Same equation as `saturation_pressure` above 0 °C.
    """
    t = np.asarray(temperature, dtype=np.float64)
    return np.asarray(610.5 * np.exp(17.269 * t / (237.3 + t)))


def dew_point_over_water(vapour_pressure: ArrayLike) -> FloatArray:
    """Dew point as stations report it, over water at any temperature [°C], from the vapour pressure [Pa]."""
    x = np.log(np.asarray(vapour_pressure, dtype=np.float64) / 610.5)
    return np.asarray(237.3 * x / (17.269 - x))


def air_density(temperature: ArrayLike, pressure: ArrayLike = 101_325.0) -> FloatArray:
    """Density of dry air by the ideal-gas law [kg/m³], temperature [°C], pressure [Pa]."""
    kelvin = np.asarray(temperature, dtype=np.float64) + KELVIN
    return np.asarray(np.asarray(pressure, dtype=np.float64) / (AIR_GAS_CONSTANT * kelvin))


def vapour_film_coefficient(
    convection: ArrayLike,
    temperature: ArrayLike = 20.0,
    *,
    density: float = AIR_DENSITY,
    lewis: float = LEWIS_NUMBER,
) -> FloatArray:
    """Vapour transfer coefficient of an air film from its heat transfer coefficient [kg/(m² s Pa), i.e. s/m].

    Parameters
    ----------
    convection : array_like
        Convective heat transfer coefficient h_c, without the radiative part [W/(m² K)].
    temperature : array_like
        Film temperature [°C].
    density : float
        Air density [kg/m³].
    lewis : float
        Lewis number [-]. The default, 0.87, suits forced and natural convection; 1 leaves the 2/3 power out.

    Notes
    -----
    beta_p = h_c / (rho_a c_p R_v T Le^(2/3)), the analogy of Lewis with the exponent of Chilton and Colburn
    [1]_.

    References
    ----------
    .. [1] Chilton, Colburn: Mass transfer coefficients, Ind. Eng. Chem. 26 (1934) 1183 (from memory, to be
    checked).

    Examples
    --------
    >>> f"{float(vapour_film_coefficient(8.0)):.5e}"
    '5.35791e-08'
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + KELVIN
    volumetric = density * AIR_HEAT_CAPACITY * lewis ** (2 / 3)
    return np.asarray(np.asarray(convection, dtype=np.float64) / (volumetric * VAPOUR_GAS_CONSTANT * kelvin))
