"""An artificial year with an astronomical sun, the embedded default, and writers of file formats."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
import pytest

from stemwall.weather.read import read_weather
from stemwall.weather.solar import solar_position
from stemwall.weather.unit_conversion import RawWeather, Site
from stemwall.weather.year import WeatherYear


@pytest.fixture(scope="session")
def default_year() -> WeatherYear:
    """The embedded year, read once."""
    return read_weather("default")


@pytest.fixture(scope="session")
def clear_year() -> WeatherYear:
    """Common year 2001 at 50° N, 10° E, UTC+1, with a clear sky and smooth temperature."""
    return artificial_year(50.0, 10.0, 1.0)


@pytest.fixture(scope="session")
def polar_year() -> WeatherYear:
    """A year at 78° N with polar night and polar day."""
    return artificial_year(78.2, 15.5, 1.0, mean=-5.0, swing=9.0)


@pytest.fixture(scope="session")
def tropical_year() -> WeatherYear:
    """A year at the equator, in a time zone an hour ahead of its sun."""
    return artificial_year(1.3, 103.8, 8.0, mean=27.0, swing=1.0)


def artificial_year(
    latitude: float, longitude: float, utc_offset: float, mean: float = 10.0, swing: float = 10.0
) -> WeatherYear:
    """Common year 2001 with a clear sky and smooth temperature of this mean and yearly swing [°C, K]."""
    n = 8760
    hour = np.arange(n)
    season = -swing * np.cos(2 * np.pi * (hour + 0.5 - 24 * 20) / n)
    temperature = mean + season - 4 * np.cos(2 * np.pi * (hour - 3) / 24)
    year = WeatherYear(
        start=datetime(2001, 1, 1),
        temperature=temperature,
        relative_humidity=0.75 + 0.01 * np.sin(hour),
        wind_speed=2 + np.sin(hour) ** 2,
        wind_direction=(hour * 7 % 360).astype(np.float64),
        pressure=np.full(n, 98_000.0),
        ghi=np.zeros(n),
        dni=np.zeros(n),
        dhi=np.zeros(n),
        sky_longwave=300.0 + np.round(10 * np.sin(hour)),
        cloud_cover=np.where(hour % 50 == 0, 1.0, 0.0),
        rain=np.where(hour % 31 == 0, 1.5, 0.0),
        snow_depth=np.where(hour < 200, 0.25, 0.0),
        latitude=latitude,
        longitude=longitude,
        elevation=200.0,
        utc_offset=utc_offset,
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
    rounded: dict[str, Any] = {"ghi": np.round(sky, 3), "dni": np.round(dni, 3), "dhi": np.round(dhi, 3)}
    return replace(year, **rounded)


TMY3_HEADING = (
    "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),TotCld (tenths),Dry-bulb (C),"
    "RHum (%),Pressure (mbar),Wdir (degrees),Wspd (m/s),Lprecip depth (mm)"
)

Changes = dict[tuple[int, int], float | str]
"""Cells of a file to set, by hour and field, both counted from 0."""

Writer = Callable[..., Path]


def hour_ends(year: WeatherYear) -> list[tuple[pd.Timestamp, int]]:
    """Date and hour of the day, 1..24, that close each hour."""
    return [(stamp.normalize(), stamp.hour + 1) for stamp in pd.DatetimeIndex(year.times)]


def changed(row: list[float | str], hour: int, changes: Changes | None) -> str:
    """Row of a file as text, some cells replaced."""
    for (at, field), value in (changes or {}).items():
        if at == hour:
            row[field] = value
    return ",".join(map(str, row))


@pytest.fixture(scope="session")
def write_tmy3() -> Writer:
    """Writer of TMY3 files; `years` gives the source year of each month."""

    def write(
        year: WeatherYear, path: Path, years: dict[int, int] | None = None, changes: Changes | None = None
    ) -> Path:
        assert year.cloud_cover is not None
        place = [year.utc_offset, year.latitude, year.longitude, year.elevation]
        lines = [",".join(["1", "NOWHERE", "ZZ", *map(str, place)]), TMY3_HEADING]
        rain = np.full(year.hours, -9900.0) if year.rain is None else year.rain
        columns = [
            year.ghi,
            year.dni,
            year.dhi,
            year.cloud_cover,
            year.temperature,
            year.relative_humidity * 100,
        ]
        columns += [year.pressure / 100, year.wind_direction, year.wind_speed, rain]
        for i, (day, hour) in enumerate(hour_ends(year)):
            date = day.replace(year=(years or {}).get(day.month, day.year))
            row: list[float | str] = [
                f"{date:%m/%d/%Y}",
                f"{hour:02d}:00",
                *(float(values[i]) for values in columns),
            ]
            lines.append(changed(row, i, changes))
        path.write_text("\n".join(lines) + "\n")
        return path

    return write


@pytest.fixture(scope="session")
def write_epw() -> Writer:
    """Writer of EPW weather files."""

    def write(year: WeatherYear, path: Path, changes: Changes | None = None) -> Path:
        assert year.snow_depth is not None
        assert year.rain is not None
        assert year.cloud_cover is not None
        place = [year.latitude, year.longitude, year.utc_offset, year.elevation]
        lines = [",".join(["LOCATION", "Nowhere", "-", "ZZZ", "artificial", "000000", *map(str, place)])]
        lines += [f"HEADER {i}" for i in range(7)]
        for i, (day, hour) in enumerate(hour_ends(year)):
            row: list[float | str] = [0.0] * 35
            row[:6] = [day.year, day.month, day.day, hour, 60, "x"]
            row[6:10] = [year.temperature[i], 99.9, year.relative_humidity[i] * 100, year.pressure[i]]
            row[12:16] = [year.sky_longwave[i], year.ghi[i], year.dni[i], year.dhi[i]]
            row[20:24] = [year.wind_direction[i], year.wind_speed[i], year.cloud_cover[i], 0.0]
            row[30] = year.snow_depth[i] * 100
            row[33] = year.rain[i]
            lines.append(changed(row, i, changes))
        path.write_text("\n".join(lines) + "\n")
        return path

    return write


@pytest.fixture(scope="session")
def raw_of() -> Callable[[WeatherYear], RawWeather]:
    """Maker of the raw table that a reader would have made of a year."""

    def make(year: WeatherYear) -> RawWeather:
        frame = pd.DataFrame(
            {name: values.astype(np.float64) for name, values in year.arrays().items()},
            index=pd.DatetimeIndex(year.times),
        )
        site = Site(year.station, year.latitude, year.longitude, year.elevation, year.utc_offset)
        return RawWeather("a.csv", site, frame, np.arange(year.hours) + 2, "artificial")

    return make
