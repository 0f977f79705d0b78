"""Measured days made hourly: weather from daily means, extremes and sums, and the soil series measured beside it.

Daily values are kept exactly: minimum, maximum and mean of the temperature, mean relative humidity, sums of sun and
rain.  What a day does between them is made by rules, each with its source:

- temperature: half waves between sunrise and 14 h (`daily_rules.temperature_course`);
- humidity: one vapour pressure for each day, that which has the measured mean of the relative humidity; where that was
  not measured, the saturation pressure at the minimum temperature, FAO Irrigation and Drainage Paper 56 (1998), eq. 48
  (from memory, to be checked);
- sun: the daily sum along the mean course of Collares-Pereira and Rabl, Solar Energy 22 (1979) 155 (from memory, to be
  checked), its direct part as for any file without one (`build`);
- rain: the same in all hours of a day, common practice, no source;
- cloud, for the longwave radiation of `sky`: from the day's sum and that of a clear sky, Kasten and Czeplak, Solar
  Energy 24 (1980) 177 (from memory, to be checked), one value for each day;
- wind: a stated constant, since it was not measured.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather import daily_rules as rules
from stemwall.weather.build import build_year
from stemwall.weather.checks import length_problems
from stemwall.weather.clock import Sun
from stemwall.weather.doubts import WARNING
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import text_of
from stemwall.weather.moistair import FloatArray
from stemwall.weather.table import comments, site_from
from stemwall.weather.unit_conversion import RawWeather, Site, digest
from stemwall.weather.year import WeatherYear

STATIONS = ("crossville_tn", "durham_nc", "ithaca_ny", "lafayette_la", "northwest_nd", "sandstone_mn")
"""Stations of the US Climate Reference Network whose days of 2020 are kept with this package."""

WIND_SPEED = 2.7
"""At 10 m [m/s]: 2 m/s at 2 m, the mean of some 2000 stations, FAO Irrigation and Drainage Paper 56 (1998), brought to
10 m by its eq. 47 (from memory, to be checked)."""

WIND_DIRECTION = 270.0
"""[deg]; a plain choice."""

DEPTHS = (0.05, 0.1, 0.2, 0.5, 1.0)
"""Depths of the soil series [m]."""

NEEDED = ("air_max_degC", "air_min_degC", "air_mean_degC", "precipitation_mm", "global_solar_MJ_m2", "rh_mean_percent")
"""Columns that the weather is made from; only those of the humidity may be empty."""

LIMITS = {
    "air_max_degC": (-70.0, 60.0), "air_min_degC": (-70.0, 60.0), "air_mean_degC": (-70.0, 60.0),
    "precipitation_mm": (0.0, 1900.0), "global_solar_MJ_m2": (0.0, 45.0), "rh_mean_percent": (0.0, 105.0),
}  # fmt: skip
"""What a day can have: temperatures as in `columns`, the largest rain of a day on record is 1825 mm (from memory, to be
checked), the sun outside the atmosphere reaches 45 MJ/m² in a day at the pole."""

MOST_MISSING = 0.1
"""Share of missing days from which on a record is refused [-]; common practice, no source."""

EXAMPLE = "2020-01-01,11.6,0.2,5.6,0,10.15,... below the line date,air_max_degC,air_min_degC,air_mean_degC,..."


@dataclass(frozen=True, eq=False)
class MeasuredDays:
    """Daily measurements of one place, and hourly weather made from them.

    Parameters
    ----------
    year : WeatherYear
        Hourly, d days, n = 24 d hours; see the module for what is measured about it.
    dates : ndarray of datetime64[D]
        Local standard days, shape (d,).
    columns : mapping
        All measured columns by their names in the file, shape (d,) each, nan where missing.
    """

    year: WeatherYear
    dates: NDArray[np.datetime64]
    columns: Mapping[str, FloatArray]

    def soil_temperature(self, depth: float) -> FloatArray:
        """Daily mean soil temperature at one of `DEPTHS` [m], shape (d,), nan where missing [°C]."""
        return self.columns[f"soil_{depth * 100:.0f}cm_degC"]

    def soil_moisture(self, depth: float) -> FloatArray:
        """Daily mean water content at one of `DEPTHS` [m], shape (d,), nan where missing [m³/m³]."""
        return self.columns[f"soil_moisture_{depth * 100:.0f}cm_m3_m3"]

    @property
    def surface(self) -> FloatArray:
        """Daily mean radiation temperature of the ground's surface, shape (d,), nan where missing [°C]."""
        return self.columns["surface_infrared_mean_degC"]


def daily_mean(hourly: FloatArray) -> FloatArray:
    """Mean of each day of an hourly series that begins at midnight, shape (n,) to (n/24,)."""
    return np.asarray(hourly.reshape(-1, 24).mean(axis=1))


def read_days(
    path_or_station: str | Path, *, wind_speed: float = WIND_SPEED, wind_direction: float = WIND_DIRECTION
) -> MeasuredDays:
    """Read daily measurements and make them hourly.

    Parameters
    ----------
    path_or_station : path or str
        One of `STATIONS`, or a CSV file like theirs: comment lines ``# latitude: 36``, longitude, elevation and
        utc_offset, then a column date and the columns of `NEEDED`; whole calendar years, one row a day.
    wind_speed, wind_direction : float
        Held all the time [m/s], [deg].

    Raises
    ------
    WeatherError
        With every problem found.
    """
    kept = str(path_or_station) in STATIONS
    path = Path(__file__).parent / f"uscrn_2020_{path_or_station}.csv" if kept else Path(path_or_station)
    lines = text_of(path, EXAMPLE).splitlines()
    facts, problems = comments(lines), list[Problem]()
    site = site_from(facts, path.name, problems)
    dates, columns = _table(lines, path.name, problems)
    if problems:
        raise WeatherError(problems)
    notes = [f"hourly values are made from daily ones, wind {wind_speed:g} m/s all the time"]
    filled = _filled(columns, path.name, notes)
    raw = RawWeather(
        name=path.name,
        site=site,
        frame=_hourly(dates, filled, site, notes).assign(wind_speed=wind_speed, wind_direction=wind_direction),
        rows=np.repeat(np.arange(dates.size, dtype=np.int64), 24) + 1 + len(lines) - dates.size,
        source="daily measurements made hourly",
        provenance=facts.get("provenance", ""),
        rain_origin="daily sums, measured, evenly over the day",
        sha256=digest(path),
        notes=notes,
        stated={"wind_speed", "wind_direction", "cloud_cover"},
    )
    if problems := length_problems(raw):
        raise WeatherError(problems)
    return MeasuredDays(build_year(raw), dates, columns)


def _table(
    lines: list[str], name: str, problems: list[Problem]
) -> tuple[NDArray[np.datetime64], dict[str, FloatArray]]:
    """Days and columns of a file; what is wrong becomes problems."""
    first = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    header, *rows = [[cell.strip() for cell in row] for row in csv.reader(lines[first:])] or [[]]
    absent = [column for column in ("date", *NEEDED) if column not in header]
    if absent or not rows:
        found = f"columns {', '.join(header) or 'none'}, {len(rows)} days"
        problems.append(Problem(name, found, f"columns {', '.join(absent) or 'as they are'}, days like: {EXAMPLE}"))
        return np.empty(0, dtype="datetime64[D]"), {}
    for number, row in enumerate(rows, first + 2):
        if len(row) != len(header):
            problems.append(Problem(f"{name}, row {number}", f"{len(row)} cells", f"{len(header)} cells"))
    cells = {column: [row[i] if i < len(row) else "" for row in rows] for i, column in enumerate(header)}
    columns = {
        column: _numbers(texts, f"{name}, column {column}", first + 2, LIMITS.get(column), problems)
        for column, texts in cells.items()
        if column != "date"
    }
    return _days(cells["date"], name, first + 2, problems), columns


def _numbers(
    texts: list[str], place: str, first: int, limits: tuple[float, float] | None, problems: list[Problem]
) -> FloatArray:
    low, high = limits or (-np.inf, np.inf)
    values = np.full(len(texts), np.nan)
    for i, text in enumerate(texts):
        try:
            values[i] = float(text) if text else np.nan
        except ValueError:
            problems.append(Problem(f"{place}, row {first + i}", repr(text), "a number, or nothing where missing"))
        if values[i] < low or values[i] > high:
            problems.append(Problem(f"{place}, row {first + i}", text, f"{low:g} to {high:g}"))
    return values


def _days(texts: list[str], name: str, first: int, problems: list[Problem]) -> NDArray[np.datetime64]:
    """Days that follow each other; the first that does not is a problem."""
    try:
        days = np.array(texts, dtype="datetime64[D]")
    except ValueError as error:
        problems.append(Problem(f"{name}, column date", str(error), "days like 2020-01-31"))
        return np.empty(0, dtype="datetime64[D]")
    odd = np.flatnonzero(np.diff(days).astype(np.int64) != 1)
    if odd.size:
        expected = f"{days[odd[0]] + 1}: every day once, in order"
        problems.append(Problem(f"{name}, row {first + 1 + odd[0]}", str(days[odd[0] + 1]), expected))
    return days


def _filled(columns: dict[str, FloatArray], name: str, notes: list[str]) -> dict[str, FloatArray]:
    """Columns of the weather without gaps: straight lines between days, no rain; the humidity keeps its gaps."""
    filled, problems = {}, []
    for column in NEEDED:
        values = columns[column]
        missing = np.isnan(values)
        filled[column] = values
        if not missing.any() or column == "rh_mean_percent":
            continue
        if missing.mean() > MOST_MISSING:
            expected = f"at most {MOST_MISSING:.0%}"
            problems.append(Problem(f"{name}, column {column}", f"{missing.mean():.0%} of the days missing", expected))
            continue
        rain = column == "precipitation_mm"
        days = np.arange(values.size)
        line = np.interp(days, days[~missing], values[~missing])
        filled[column] = np.where(missing, 0.0 if rain else line, values)
        how = "count as dry" if rain else "filled by straight lines"
        loud = WARNING if rain and missing.mean() > 0.01 else ""
        wanted = "; expected a sum of each day" if loud else ""
        notes.append(f"{loud}{'rain: ' if rain else ''}{column}: {int(missing.sum())} missing days {how}{wanted}")
    if problems:
        raise WeatherError(problems)
    return filled


def _hourly(dates: NDArray[np.datetime64], days: dict[str, FloatArray], site: Site, notes: list[str]) -> pd.DataFrame:
    """Hourly columns of the weather but for the wind."""
    index = pd.date_range(dates[0], periods=24 * dates.size, freq="h")
    sun = Sun.of(index, site)
    profile = rules.sun_profile(index, sun.sine, site)
    temperature, bent = rules.temperature_course(
        days["air_min_degC"], days["air_max_degC"], days["air_mean_degC"], profile
    )
    humidity, guessed = rules.humidity_course(temperature, days["air_min_degC"], days["rh_mean_percent"] / 100)
    ghi = rules.sun_course(days["global_solar_MJ_m2"], profile)
    if bent:
        notes.append(f"temperature of {bent} days moved as a whole to its mean: it lies too near an extreme")
    if guessed:
        notes.append(f"humidity of {guessed} days not measured: saturated at the minimum temperature")
    return pd.DataFrame(
        {
            "temperature": temperature.ravel(),
            "relative_humidity": humidity.ravel(),
            "ghi": ghi.ravel(),
            "rain": np.repeat(days["precipitation_mm"] / 24, 24),
            "cloud_cover": np.repeat(rules.cloud_cover(days["global_solar_MJ_m2"], sun.sine), 24),
        },
        index=index,
    )
