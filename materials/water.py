"""Water: constants, saturation, suction and humidity, viscosity, vapour in still air.

SI units throughout; temperatures of arguments in degrees Celsius.

References
----------
.. [1] EN ISO 13788:2012, Annex E: saturation vapour pressure.
.. [2] DIN 52615:1987: vapour permeability of still air.
.. [3] Vogel form of the viscosity of liquid water,
   2.414e-5 * 10**(247.8 / (T - 140)) Pa s, T in kelvin (recalled; tested against IAPWS).
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

WATER_DENSITY: Final = 1000.0
"""Density of liquid water [kg/m3]."""
GAS_CONSTANT: Final = 461.5
"""Specific gas constant of water vapour [J/(kg K)]."""
EVAPORATION_HEAT: Final = 2.5e6
"""Enthalpy of evaporation at 0 degC [J/kg]."""
WATER_HEAT: Final = 4180.0
"""Specific heat of liquid water [J/(kg K)]."""
WATER_CONDUCTIVITY: Final = 0.60
"""Thermal conductivity of liquid water at 10 degC [W/(m K)]."""
AIR_CONDUCTIVITY: Final = 0.025
"""Thermal conductivity of still air at 10 degC [W/(m K)]."""
GRAVITY: Final = 9.81
"""Acceleration of free fall [m/s2]."""
ZERO_CELSIUS: Final = 273.15
"""0 degC [K]."""
REFERENCE_TEMPERATURE: Final = 20.0
"""Temperature at which material functions are stated [degC]."""
ATMOSPHERE: Final = 101325.0
"""Standard atmospheric pressure [Pa]."""
DRY_SUCTION: Final = 1.0e9
"""Suction taken as bone dry [Pa]; relative humidity 0.06 % at 20 degC."""


def saturation_pressure(temperature: ArrayLike) -> FloatArray:
    """Saturation vapour pressure over water (T >= 0 degC) or ice (T < 0 degC) [1]_.

    Parameters
    ----------
    temperature : array_like
        [degC].

    Returns
    -------
    ndarray
        [Pa], same shape.
    """
    t = np.asarray(temperature, dtype=np.float64)
    exponent = np.where(t < 0.0, 21.875 * t / (265.5 + t), 17.269 * t / (237.3 + t))
    return np.asarray(610.5 * np.exp(exponent))


def suction_from_humidity(humidity: ArrayLike, temperature: float = REFERENCE_TEMPERATURE) -> FloatArray:
    """Kelvin relation: suction in equilibrium with a relative humidity.

    Parameters
    ----------
    humidity : array_like
        Relative humidity [-]; 0 gives `DRY_SUCTION`.
    temperature : float
        [degC].

    Returns
    -------
    ndarray
        Suction [Pa].
    """
    phi = np.maximum(np.asarray(humidity, dtype=np.float64), 1e-300)
    p_c = -WATER_DENSITY * GAS_CONSTANT * (temperature + ZERO_CELSIUS) * np.log(phi)
    return np.asarray(np.minimum(p_c, DRY_SUCTION))


def humidity_from_suction(suction: ArrayLike, temperature: float = REFERENCE_TEMPERATURE) -> FloatArray:
    """Kelvin relation: relative humidity [-] in equilibrium with a suction [Pa].

    A negative suction (water under pressure) gives a value slightly above one.
    """
    p_c = np.asarray(suction, dtype=np.float64)
    return np.asarray(np.exp(-p_c / (WATER_DENSITY * GAS_CONSTANT * (temperature + ZERO_CELSIUS))))


def viscosity(temperature: ArrayLike) -> FloatArray:
    """Dynamic viscosity of liquid water [Pa s] at a temperature [degC] [3]_.

    Within 2.5 % of the IAPWS value from 0 to 90 degC; held at its 0 degC value below.
    """
    kelvin = np.maximum(np.asarray(temperature, dtype=np.float64), 0.0) + ZERO_CELSIUS
    return np.asarray(2.414e-5 * 10.0 ** (247.8 / (kelvin - 140.0)))


def fluidity_ratio(temperature: ArrayLike) -> FloatArray:
    """Factor on liquid conductivity, viscosity(20 degC) / viscosity(T) [-]."""
    return np.asarray(viscosity(REFERENCE_TEMPERATURE) / viscosity(temperature))


def still_air_permeability(temperature: ArrayLike, pressure: float = ATMOSPHERE) -> FloatArray:
    """Vapour permeability of still air, 2.0e-7 T^0.81 / P [2]_.

    All resistance factors of the catalogue refer to it. It is 1.4 % above the form with exponent
    1.81 and constant 0.083 m2/h, and 1.7 % below the rounded 2.0e-10 of EN ISO 13788.

    Parameters
    ----------
    temperature : array_like
        [degC].
    pressure : float
        Air pressure [Pa].

    Returns
    -------
    ndarray
        [kg/(m s Pa)].
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + ZERO_CELSIUS
    return np.asarray(2.0e-7 * kelvin**VAPOUR_EXPONENT / pressure)


VAPOUR_EXPONENT: Final = 0.81
"""Power of absolute temperature in the vapour permeability of air and, by default, of materials."""
AIR_PERMEABILITY: Final = float(still_air_permeability(REFERENCE_TEMPERATURE))
"""Vapour permeability of still air at 20 degC [kg/(m s Pa)]."""
