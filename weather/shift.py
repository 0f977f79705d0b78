"""Warmer, colder, wetter and drier versions of a year."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stemwall.weather.moistair import FloatArray
from stemwall.weather.year import WeatherYear

ZERO_CELSIUS = 273.15


def shifted(year: WeatherYear, *, warmer: float = 0.0, rain: float = 1.0) -> WeatherYear:
    """Copy of a year, warmer all the time and with more rain in the hours that have it.

    Parameters
    ----------
    year : WeatherYear
        Any.
    warmer : float
        Added to the air temperature [K]; negative for colder.
    rain : float
        Factor on the rain [-].

    Notes
    -----
    The relative humidity stays, so the air holds some 7 % more vapour for each kelvin; the sky keeps its emissivity, so
    its longwave irradiance goes with the fourth power of the temperature.  Sun, wind and the hours of rain stay.
    Snow depths of a file no longer fit and are left out.
    """
    if warmer == 0 and rain == 1:
        return year
    said = []
    arrays: dict[str, FloatArray | None] = {}
    if warmer:
        kelvin = year.temperature + ZERO_CELSIUS
        arrays |= {
            "temperature": year.temperature + warmer,
            "sky_longwave": np.asarray(year.sky_longwave * ((kelvin + warmer) / kelvin) ** 4),
            "snow_depth": None,
        }
        said.append(f"air {abs(warmer):g} K {'warmer' if warmer > 0 else 'colder'} at the same relative humidity")
    origin = year.rain_origin
    if rain != 1 and year.rain is not None:
        arrays["rain"] = year.rain * rain
        origin = f"{origin}, times {rain:g}"
        said.append(f"rain times {rain:g}")
    notes = (*year.notes, f"shifted: {', '.join(said)}") if said else year.notes
    return replace(year, rain_origin=origin, notes=notes, **arrays)  # type: ignore[arg-type]
