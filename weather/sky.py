"""Longwave radiation of the sky: emissivity, cloud correction, sky temperature, load on an inclined surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import KELVIN, FloatArray

STEFAN_BOLTZMANN = 5.670374419e-8
"""sigma [W/(m² K⁴)], CODATA 2018."""


def clear_sky_emissivity(dew_point: ArrayLike) -> FloatArray:
    """Emissivity of the cloudless sky [-] from the dew point [°C].

    eps_0 = 0.711 + 0.56 (t_dp/100) + 0.73 (t_dp/100)² [1]_.

    References
    ----------
    .. [1] Berdahl, Martin: Emissivity of clear skies, Solar Energy 32 (1984) 663 (equation from memory, to be
    checked).

    Examples
    --------
    >>> round(float(clear_sky_emissivity(12.0039)), 5)
    0.78874
    """
    x = np.asarray(dew_point, dtype=np.float64) / 100
    return np.asarray(0.711 + 0.56 * x + 0.73 * x**2)


def cloudy_sky_emissivity(clear: ArrayLike, cloud_cover: ArrayLike) -> FloatArray:
    """Emissivity of the clouded sky [-] from that of the clear sky [-] and the cloud cover N [tenths], at most 1.

    eps = eps_0 (1 + 0.0224 N - 0.0035 N² + 0.00028 N³) [1]_.

    References
    ----------
    .. [1] Walton: Thermal Analysis Research Program, NBSIR 83-2655 (1983) (equation from memory, to be
    checked).
    """
    n = np.asarray(cloud_cover, dtype=np.float64)
    factor = 1 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3
    return np.asarray(np.minimum(np.asarray(clear, dtype=np.float64) * factor, 1.0))


def sky_temperature(air_temperature: ArrayLike, emissivity: ArrayLike) -> FloatArray:
    """Temperature of the black body that radiates like the sky [°C]: T_sky = eps^(1/4) T_air, in kelvin."""
    kelvin = np.asarray(air_temperature, dtype=np.float64) + KELVIN
    return np.asarray(np.asarray(emissivity, dtype=np.float64) ** 0.25 * kelvin - KELVIN)


def swinbank_sky_temperature(air_temperature: ArrayLike) -> FloatArray:
    """Clear-sky temperature from the air temperature alone [°C]: 0.0552 T_air^1.5, in kelvin.

    A cross-check where no humidity is known: Swinbank, Long-wave radiation from clear skies, Q. J. R.
    Meteorol. Soc. 89 (1963) 339 (equation from memory, to be checked).
    """
    kelvin = np.asarray(air_temperature, dtype=np.float64) + KELVIN
    return np.asarray(0.0552 * kelvin**1.5 - KELVIN)


def black_body(temperature: ArrayLike) -> FloatArray:
    """Radiant exitance of a black surface [W/m²] at a temperature [°C]."""
    return np.asarray(STEFAN_BOLTZMANN * (np.asarray(temperature, dtype=np.float64) + KELVIN) ** 4)


def sky_longwave(air_temperature: ArrayLike, dew_point: ArrayLike, cloud_cover: ArrayLike) -> FloatArray:
    """Longwave irradiance from the sky on a horizontal plane [W/m²].

    Parameters
    ----------
    air_temperature, dew_point : array_like
        [°C].
    cloud_cover : array_like
        [tenths].
    """
    emissivity = cloudy_sky_emissivity(clear_sky_emissivity(dew_point), cloud_cover)
    return np.asarray(emissivity * black_body(air_temperature))


def sky_view_factor(tilt: float, obstruction: float = 0.0, behind: float = 0.0) -> float:
    """Share of a surface's half-space filled by the sky [-].

    Parameters
    ----------
    tilt : float
        Slope of the surface: 0 faces up, 90 a wall, 180 faces down [deg].
    obstruction : float
        Elevation of a long obstruction in front, parallel to the surface, seen from it [deg].
    behind : float
        Elevation of a long obstruction on the other side [deg]; the house, for level ground beside it.

    Notes
    -----
    F = (cos b + cos f) / 2 with f = tilt + obstruction and b = behind - tilt, not below zero: exact for an
    endless strip between endless obstructions.
    """
    front, back = min(tilt + obstruction, 180.0), max(behind - tilt, 0.0)
    return float(max(np.cos(np.radians(back)) + np.cos(np.radians(front)), 0.0) / 2)


def incoming_longwave(
    longwave: ArrayLike,
    ground_temperature: ArrayLike,
    tilt: float,
    obstruction: float = 0.0,
    behind: float = 0.0,
) -> FloatArray:
    """Longwave irradiance on an inclined surface, from the sky and from black surroundings [W/m²].

    Parameters
    ----------
    longwave : array_like
        Longwave irradiance from the sky on a horizontal plane [W/m²].
    ground_temperature : array_like
        Temperature of ground and obstructions [°C]; the air temperature where nothing better is known.
    tilt, obstruction, behind : float
        As in `sky_view_factor` [deg].
    """
    sky = sky_view_factor(tilt, obstruction, behind)
    return np.asarray(sky * np.asarray(longwave, dtype=np.float64) + (1 - sky) * black_body(ground_temperature))
