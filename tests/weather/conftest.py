"""A small artificial year whose sun is astronomical, and the embedded default, shared by the weather tests."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pandas as pd
import pvlib
import pytest
from stemwall.weather import WeatherYear, read_weather
from stemwall.weather.solar import solar_position


@pytest.fixture(scope="session")
def default_year() -> WeatherYear:
    """The embedded year, read once."""
    return read_weather("default")


@pytest.fixture(scope="session")
def clear_year() -> WeatherYear:
    """Common year 2001 at 50° N, 10° E, UTC+1, with a clear sky and smooth temperature."""
    n = 8760
    hour = np.arange(n)
    temperature = 10 - 10 * np.cos(2 * np.pi * (hour + 0.5 - 24 * 20) / n) - 4 * np.cos(2 * np.pi * (hour - 3) / 24)
    year = WeatherYear(
        start=datetime(2001, 1, 1),
        temperature=temperature,
        relative_humidity=np.full(n, 0.75),
        wind_speed=2 + np.sin(hour) ** 2,
        wind_direction=hour * 7.0 % 360,
        pressure=np.full(n, 98_000.0),
        ghi=np.zeros(n),
        dni=np.zeros(n),
        dhi=np.zeros(n),
        sky_longwave=np.full(n, 300.0),
        cloud_cover=np.zeros(n),
        rain=np.where(hour % 31 == 0, 1.5, 0.0),
        snow_depth=np.where(hour < 200, 0.25, 0.0),
        latitude=50.0,
        longitude=10.0,
        elevation=200.0,
        utc_offset=1.0,
        station="nowhere",
        source="artificial",
        rain_origin="measured",
    )
    elevation, _ = solar_position(year)
    sky = pvlib.clearsky.haurwitz(pd.Series(90 - elevation))["ghi"].to_numpy()
    split = pvlib.irradiance.erbs(sky, 90 - elevation, pd.DatetimeIndex(year.times).day_of_year)
    dhi = np.nan_to_num(split["dhi"])
    sine = np.sin(np.radians(elevation))
    dni = np.where(sine > 0.02, (sky - dhi) / np.maximum(sine, 0.02), 0.0)
    return replace(year, ghi=np.round(sky, 3), dni=np.round(dni, 3), dhi=np.round(dhi, 3))
