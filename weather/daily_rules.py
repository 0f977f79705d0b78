"""What a day does between its measured extremes, means and sums: courses of temperature, humidity and sun."""

from __future__ import annotations

import numpy as np
import pandas as pd

from stemwall.weather.moistair import FloatArray, saturation_pressure_over_water
from stemwall.weather.unit_conversion import Site

WARMEST_HOUR = 14.0
"""Hour of the day of the maximum temperature, as in `temperature_course` [h]."""

JOULES_PER_HOUR = 3600.0

HALVINGS = 60
"""Bisections of an exponent or a pressure: to the last digit."""


def sun_profile(index: pd.DatetimeIndex, sine: FloatArray, site: Site) -> FloatArray:
    """Mean course of the global irradiance over each day, shape (d, 24), of any scale.

    r = (a + b cos w) cos-part of the sun outside the atmosphere, a = 0.409 + 0.5016 sin(w_s - 60°),
    b = 0.6609 - 0.4767 sin(w_s - 60°) [1]_.

    Parameters
    ----------
    index : DatetimeIndex
        Whole days of hours, local standard time.
    sine : ndarray
        Mean sine of the sun's elevation of each hour, shape (24 d,).
    site : Site
        The place.

    References
    ----------
    .. [1] Collares-Pereira, Rabl: The average distribution of solar radiation, Solar Energy 22 (1979) 155 (equation
       from memory, to be checked).
    """
    from pvlib import solarposition

    day = index.day_of_year.to_numpy(dtype=np.float64)
    tangent = -np.tan(np.radians(site.latitude)) * np.tan(solarposition.declination_spencer71(day))
    sunset = np.arccos(np.clip(tangent, -1.0, 1.0))
    hour = index.hour.to_numpy() + 0.5
    later = site.longitude / 15 - site.utc_offset + solarposition.equation_of_time_spencer71(day) / 60
    angle = np.radians(15 * (hour + later - 12))
    a = 0.409 + 0.5016 * np.sin(sunset - np.pi / 3)
    b = 0.6609 - 0.4767 * np.sin(sunset - np.pi / 3)
    return np.asarray(np.maximum(a + b * np.cos(angle), 0.0) * sine).reshape(-1, 24)


def sun_course(sums: FloatArray, profile: FloatArray) -> FloatArray:
    """Global irradiance of each hour [W/m²], shape (d, 24), with the daily sums [MJ/m²], shape (d,).

    A day without sun above the horizon gets none.
    """
    total = profile.sum(axis=1)
    share = profile / np.where(total > 0, total, 1.0)[:, None]
    return np.asarray(share * sums[:, None] * 1e6 / JOULES_PER_HOUR)


def cloud_cover(sums: FloatArray, sine: FloatArray) -> FloatArray:
    """Cloud cover of each day [tenths], shape (d,), from the daily sum of the global irradiance [MJ/m²].

    G/G_clear = 1 - 0.75 (N/8)^3.4 [1]_, with the clear sky of Haurwitz [2]_.

    References
    ----------
    .. [1] Kasten, Czeplak: Solar and terrestrial radiation dependent on the amount and type of cloud, Solar Energy 24
       (1980) 177 (equation from memory, to be checked).
    .. [2] Haurwitz: Insolation in relation to cloudiness and cloud density, Journal of Meteorology 2 (1945) 154, as
       pvlib has it.
    """
    import pvlib

    zenith = np.degrees(np.arccos(np.clip(sine, 0.0, 1.0)))
    clear = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy().reshape(-1, 24).sum(axis=1)
    clearness = np.clip(sums * 1e6 / JOULES_PER_HOUR / np.where(clear > 0, clear, np.inf), 0.0, 1.0)
    return np.asarray(10 * np.minimum((1 - clearness) / 0.75, 1.0) ** (1 / 3.4))


def temperature_course(
    low: FloatArray, high: FloatArray, mean: FloatArray, profile: FloatArray
) -> tuple[FloatArray, int]:
    """Air temperature of each hour [°C], shape (d, 24), with the measured minimum, maximum and mean of each day.

    Half a wave from the minimum at sunrise to the maximum at 14 h, and another one to the minimum at the next
    sunrise [1]_.  Each day is then stretched to its own extremes, and a power of its height between them brings its
    mean to the measured one.

    Parameters
    ----------
    low, high, mean : ndarray
        Of each day, shape (d,) [°C].
    profile : ndarray
        Irradiance of each hour, shape (d, 24); its first hour is that of sunrise.

    Returns
    -------
    temperature : ndarray
        Shape (d, 24) [°C].
    moved : int
        Days whose mean lies too near an extreme for that; they are moved as a whole.

    References
    ----------
    .. [1] Reicosky et al.: Accuracy of hourly air temperatures calculated from daily minima and maxima, Agricultural
       and Forest Meteorology 46 (1989) 193, method WAVE (from memory, to be checked).
    """
    hour = np.arange(24) + 0.5
    rise = np.where((profile > 0).any(axis=1), np.argmax(profile > 0, axis=1), 6.0)[:, None]
    before, after = np.roll(high, 1), np.roll(low, -1)
    before[0], after[-1] = high[0], low[-1]
    night = 24.0 - WARMEST_HOUR + rise
    early = _half_wave(before, low, (hour + 24.0 - WARMEST_HOUR) / night)
    day = _half_wave(low, high, (hour - rise) / (WARMEST_HOUR - rise))
    late = _half_wave(high, after, (hour - WARMEST_HOUR) / night)
    course = np.where(hour < rise, early, np.where(hour < WARMEST_HOUR, day, late))
    height = (np.clip(course, low[:, None], high[:, None]) - low[:, None]) / np.maximum(high - low, 1e-9)[:, None]
    lowest, highest = height.min(axis=1, keepdims=True), height.max(axis=1, keepdims=True)
    height = (height - lowest) / np.maximum(highest - lowest, 1e-9)
    wanted = (mean - low) / np.maximum(high - low, 1e-9)
    power_low, power_high = np.full(low.size, 1e-3), np.full(low.size, 1e3)
    for _ in range(HALVINGS):
        power = np.sqrt(power_low * power_high)
        above = (height ** power[:, None]).mean(axis=1) > wanted
        power_low, power_high = np.where(above, power, power_low), np.where(above, power_high, power)
    found = low[:, None] + (high - low)[:, None] * height ** power[:, None]
    left = mean - found.mean(axis=1)
    return np.asarray(found + left[:, None]), int(np.sum(np.abs(left) > 1e-6))


def _half_wave(first: FloatArray, last: FloatArray, share: FloatArray) -> FloatArray:
    """Half a cosine from a value of each day to another, shape (d, 24); the share of the way is cut at its ends."""
    way = (1 - np.cos(np.pi * np.clip(share, 0.0, 1.0))) / 2
    return np.asarray(first[:, None] + (last - first)[:, None] * way)


def humidity_course(temperature: FloatArray, low: FloatArray, mean: FloatArray) -> tuple[FloatArray, int]:
    """Relative humidity of each hour [-], shape (d, 24), by one vapour pressure for each day, at most saturated.

    Parameters
    ----------
    temperature : ndarray
        Shape (d, 24) [°C].
    low : ndarray
        Minimum of each day, shape (d,) [°C].
    mean : ndarray
        Mean relative humidity of each day, shape (d,), nan where not measured [-].

    Returns
    -------
    humidity : ndarray
        With these daily means; where they were not measured, that of air saturated at the minimum temperature.
    guessed : int
        Days whose humidity was not measured.
    """
    saturated = saturation_pressure_over_water(temperature)
    least, most = np.zeros(low.size), saturated.max(axis=1)
    for _ in range(HALVINGS):
        vapour = (least + most) / 2
        above = np.minimum(vapour[:, None] / saturated, 1.0).mean(axis=1) > mean
        least, most = np.where(above, least, vapour), np.where(above, vapour, most)
    unknown = np.isnan(mean)
    vapour = np.where(unknown, saturation_pressure_over_water(low), vapour)
    return np.asarray(np.minimum(vapour[:, None] / saturated, 1.0)), int(unknown.sum())
