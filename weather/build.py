"""From a raw hourly table to a checked `WeatherYear`: gaps filled if asked, what is missing derived, all noted."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
import pandas as pd
import pvlib

from stemwall.weather import checks
from stemwall.weather.averaging import to_hours
from stemwall.weather.clock import Sun, clock_doubts
from stemwall.weather.columns import REQUIRED
from stemwall.weather.doubts import WARNING, settle
from stemwall.weather.errors import WeatherError
from stemwall.weather.gauge import MOST_MISSING, fill_rain, rain_doubts
from stemwall.weather.moistair import FloatArray, dew_point_over_water, saturation_pressure_over_water
from stemwall.weather.sky import sky_longwave
from stemwall.weather.slips import dew_doubts, unit_doubts
from stemwall.weather.stuck import CANNOT, drop_zero_columns, stuck_doubts
from stemwall.weather.unit_conversion import RawWeather
from stemwall.weather.year import HOURLY, OPTIONAL, WeatherYear

DEFAULT_CLOUD_COVER = 5.0
"""Cloud cover where none is known [tenths]: half the sky, near the mean of temperate land stations."""

ABSENT = {
    "rain": f'{WARNING}rain: none in the file, so none falls; expected readings, or rain = "synthetic" or "none"',
    "snow_depth": "no snow depth in the file",
}
"""Notes on columns without a value."""

COMPLETE_IF_GIVEN = ("pressure", "dni", "dhi")
"""Columns that may be absent, but not for some of the hours."""


def build_year(
    raw: RawWeather, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Check a raw table, complete it and freeze it.

    Parameters
    ----------
    raw : RawWeather
        What a reader made of a file.
    fill_gaps : int
        Longest run of missing hours that may be filled: states and irradiance by straight lines, the wind
        direction by the last value [h].
    accept : collection of str
        Kinds of slips, see `doubts.SLIPS`, that are only said in the notes although they would refuse the record.
    rain_gaps : str
        What hours without a report of rain count as, one of `gauge.GAP_RULES`.

    Raises
    ------
    WeatherError
        With every problem found.
    """
    raw = to_hours(replace(raw, frame=raw.frame.copy(), notes=list(raw.notes)))
    doubts = raw.doubts + (drop_zero_columns(raw) + dew_doubts(raw))
    _humidity(raw)
    misplaced = checks.site_problems(raw)
    placed = raw.site.known and not misplaced
    doubts += unit_doubts(raw) if placed else []
    clock = [] if raw.frame.index.hasnans else checks.time_problems(raw, fill_gaps)
    if not clock and not raw.frame.index.hasnans and placed:
        sun = Sun.of(raw.frame.index, raw.site)
        clocks, stuck = clock_doubts(raw, sun), stuck_doubts(raw, sun)
        shifted = any(doubt.kind == "clock" and doubt.grave for doubt in clocks)  # it is then dark in daylight, too
        doubts += clocks + [doubt for doubt in stuck if not (shifted and doubt.column == "ghi")] + rain_doubts(raw)
    slips, said = settle(doubts, accept)
    named = {doubt.column for doubt in doubts if doubt.explains and doubt.grave and doubt.kind not in accept}
    named |= {"dni", "dhi"} if "ghi" in named else set()
    problems = raw.problems + misplaced + checks.column_problems(raw) + slips
    problems += checks.range_problems(raw, leave_out=named)
    if not clock and not problems:
        _fill_clock(raw)
    needed = [name for name in (*REQUIRED, *COMPLETE_IF_GIVEN) if _needed(raw, name)]
    problems += clock + checks.missing_problems(raw, needed, fill_gaps)
    if problems:
        raise WeatherError(problems)
    raw.notes += said
    _fill_values(raw, needed)
    return _complete(raw, rain_gaps)


def _needed(raw: RawWeather, column: str) -> bool:
    """Whether a column that is there must be complete: it is required, or has a value somewhere."""
    return column in raw.frame and (column in REQUIRED or bool(raw.frame[column].notna().any()))


def _fill_clock(raw: RawWeather) -> None:
    """Give every hour a row; a 29 February that the file leaves out repeats the 28th."""
    index = raw.frame.index
    full = pd.date_range(index[0], index[-1], freq="h")
    if len(full) == len(index):
        return
    added = full.difference(index)
    raw.rows = np.asarray(pd.Series(raw.rows, index=index).reindex(full).ffill().to_numpy(), dtype=np.int64)
    raw.frame = raw.frame.reindex(full)
    leap = [day for day in added.normalize().unique() if (day.month, day.day) == (2, 29)]
    for day in leap:
        hours = full[(full >= day) & (full < day + pd.Timedelta(days=1))]
        if hours.isin(added).all():
            raw.frame.loc[hours] = raw.frame.loc[hours - pd.Timedelta(days=1)].to_numpy()
            raw.notes.append(f"29 February {day.year} is not in the file: the 28th is repeated")
            added = added.difference(hours)
    if len(added):
        raw.notes.append(f"{len(added)} h without a row filled in, the first at {added[0]:%Y-%m-%d %H:%M}")


def _fill_values(raw: RawWeather, needed: list[str]) -> None:
    """Fill the short runs of missing values that the checks let pass."""
    for name in needed:
        missing = int(raw.frame[name].isna().sum())
        if not missing:
            continue
        held = raw.frame[name].ffill().bfill()
        line = raw.frame[name].interpolate(limit_direction="both")
        raw.frame[name] = held if name == "wind_direction" else line
        how = "the last value" if name == "wind_direction" else "straight lines"
        raw.notes.append(f"{name}: {missing} missing hours filled by {how}")


def _complete(raw: RawWeather, rain_gaps: str) -> WeatherYear:
    """Derive what is missing and make the year."""
    _saturation(raw)
    _pressure(raw)
    _radiation(raw)
    _longwave(raw)
    _precipitation(raw, rain_gaps)
    values = {name: raw.frame[name].to_numpy(dtype=np.float64) for name in HOURLY}
    extra = {name: raw.frame[name].to_numpy(dtype=np.float64) for name in OPTIONAL if name in raw.frame}
    if "present_weather" in extra:
        codes = extra.pop("present_weather")
        extra["present_weather"] = np.where(np.isnan(codes), -1, codes).astype(np.int64)
    return WeatherYear(
        start=raw.frame.index[0].to_pydatetime(),
        **values,
        **extra,
        **vars(raw.site),
        source=raw.source,
        provenance=raw.provenance,
        rain_origin=raw.rain_origin if "rain" in extra else "none",
        typical=raw.typical,
        notes=tuple(dict.fromkeys(raw.notes)),
        sha256=raw.sha256,
    )


def _column(raw: RawWeather, name: str) -> FloatArray:
    """Values of a column, all nan if it is not there."""
    if name in raw.frame:
        return np.asarray(raw.frame[name].to_numpy(dtype=np.float64))
    return np.full(len(raw.frame), np.nan)


def _humidity(raw: RawWeather) -> None:
    """Relative humidity from dew point and temperature for the hours that lack it."""
    humidity = _column(raw, "relative_humidity")
    dew, temperature = _column(raw, "dew_point"), _column(raw, "temperature")
    derived = np.isnan(humidity) & ~np.isnan(dew) & ~np.isnan(temperature)
    if derived.any():
        ratio = saturation_pressure_over_water(dew) / saturation_pressure_over_water(temperature)
        raw.frame["relative_humidity"] = np.where(derived, ratio, humidity)
        raw.notes.append(f"relative humidity of {int(derived.sum())} h derived from the dew point over water")


def _saturation(raw: RawWeather) -> None:
    """Set a relative humidity just above saturation, as sensors report it, to saturation."""
    above = int((raw.frame["relative_humidity"] > 1).sum())
    if above:
        raw.notes.append(f"relative humidity above 100 % in {above} h, set to 100 %")
        raw.frame["relative_humidity"] = raw.frame["relative_humidity"].clip(upper=1.0)


def _pressure(raw: RawWeather) -> None:
    """Standard-atmosphere pressure of the elevation where the file has none."""
    if np.isnan(_column(raw, "pressure")).all():
        raw.frame["pressure"] = float(pvlib.atmosphere.alt2pres(raw.site.elevation))
        raw.notes.append("pressure not given: that of the standard atmosphere at the station's elevation")


def _radiation(raw: RawWeather) -> None:
    """Split the global irradiance into direct and diffuse where the file does not."""
    if not (np.isnan(_column(raw, "dni")).all() or np.isnan(_column(raw, "dhi")).all()):
        return
    middle = raw.frame.index + pd.Timedelta(minutes=30) - pd.Timedelta(hours=raw.site.utc_offset)
    position = pvlib.solarposition.get_solarposition(
        middle.tz_localize("UTC"), raw.site.latitude, raw.site.longitude, raw.site.elevation
    )
    ghi = _column(raw, "ghi")
    split = pvlib.irradiance.erbs(ghi, position["zenith"].to_numpy(), raw.frame.index.day_of_year)
    raw.frame["dni"], raw.frame["dhi"] = split["dni"], split["dhi"]
    raw.notes.append(
        "direct and diffuse irradiance derived from the global one, Erbs et al., Solar Energy 28 (1982) 293"
    )


def _longwave(raw: RawWeather) -> None:
    """Sky longwave from dew point and cloud cover for the hours that have none."""
    given = _column(raw, "sky_longwave")
    absent = np.isnan(given)
    cloud = _column(raw, "cloud_cover")
    if absent.any():
        temperature = _column(raw, "temperature")
        humidity = np.maximum(_column(raw, "relative_humidity"), 1e-3)
        dew = dew_point_over_water(humidity * saturation_pressure_over_water(temperature))
        guess = np.isnan(cloud) & absent
        computed = sky_longwave(temperature, dew, np.where(np.isnan(cloud), DEFAULT_CLOUD_COVER, cloud))
        raw.frame["sky_longwave"] = np.where(absent, computed, given)
        raw.notes.append(f"sky longwave of {int(absent.sum())} h computed from dew point and cloud cover")
        if guess.any():
            used = f"{DEFAULT_CLOUD_COVER:g} tenths used for the sky"
            raw.notes.append(f"cloud cover unknown in {int(guess.sum())} h, {used}")
    if np.isnan(cloud).all():
        raw.frame = raw.frame.drop(columns="cloud_cover", errors="ignore")
    elif np.isnan(cloud).any():
        raw.frame["cloud_cover"] = np.where(np.isnan(cloud), DEFAULT_CLOUD_COVER, cloud)


def _precipitation(raw: RawWeather, rain_gaps: str) -> None:
    """Drop empty rain, snow and code columns; close the holes of the others, and say how."""
    fill_rain(raw, rain_gaps)
    snow = np.isnan(_column(raw, "snow_depth"))
    if 0 < snow.mean() <= MOST_MISSING:
        raw.frame["snow_depth"] = raw.frame["snow_depth"].interpolate(limit_direction="both")
        raw.notes.append(f"snow depth: {int(snow.sum())} missing hours filled by straight lines")
    elif 0 < snow.mean() < 1:
        raw.frame = raw.frame.drop(columns="snow_depth")
        said = f"snow depth: missing in {snow.mean():.0%} of the hours, taken as not observed"
        raw.notes.append(f"{WARNING}{said}; expected at most {MOST_MISSING:.0%}")
    for name in ("rain", "snow_depth"):
        if np.isnan(_column(raw, name)).all():
            raw.frame = raw.frame.drop(columns=name, errors="ignore")
            raw.notes += [] if any(CANNOT[name] in note for note in raw.notes) else [ABSENT[name]]
    if np.isnan(_column(raw, "present_weather")).all():
        raw.frame = raw.frame.drop(columns="present_weather", errors="ignore")
