"""Repeating whole years of hourly weather over the calendar of a run."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from numpy.typing import NDArray

LEAP_YEAR_HOURS = 8784


def hours_of_leap_year(times: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Hour within a leap year, 0..8783, of each time; in a common year 1 March still is hour 1440."""
    day = times.astype("datetime64[D]")
    year = times.astype("datetime64[Y]")
    ordinal = (day - year.astype("datetime64[D]")).astype(np.int64)
    number = year.astype(np.int64) + 1970
    leap = (number % 4 == 0) & ((number % 100 != 0) | (number % 400 == 0))
    ordinal += (ordinal >= 59) & ~leap
    hour = (times - day).astype("timedelta64[h]").astype(np.int64)
    return np.asarray(24 * ordinal + hour)


def hourly_times(start: datetime, hours: int) -> NDArray[np.datetime64]:
    """Start of each hour, shape (hours,)."""
    return np.datetime64(start, "s") + np.arange(hours) * np.timedelta64(3600, "s")


def whole_years(start: datetime, hours: int) -> int | None:
    """Number of whole calendar years in `hours` from `start`, None if they do not end on an anniversary."""
    years = max(round(hours / 8766), 1)
    first = np.datetime64(start, "s")
    month = first.astype("datetime64[M]")
    end = (month + np.timedelta64(12 * years, "M")).astype("datetime64[s]") + (first - month.astype("datetime64[s]"))
    return years if end - first == hours * np.timedelta64(3600, "s") else None


def _anniversaries(times: NDArray[np.datetime64], key: NDArray[np.int64], first: int) -> NDArray[np.int64]:
    """Year count that steps at the weather's own first hour of the year (`first`) instead of 1 January."""
    return np.asarray(times.astype("datetime64[Y]").astype(np.int64) - (key < first))


def tile_index(weather_start: datetime, weather_hours: int, run_start: datetime, run_hours: int) -> NDArray[np.int64]:
    """Weather hour for each hour of a run, by month, day and hour of the calendar.

    Parameters
    ----------
    weather_start, run_start : datetime
        First hours.
    weather_hours, run_hours : int
        Lengths [h]; the weather must hold whole years of the calendar.

    Returns
    -------
    ndarray of int, shape (run_hours,)
        Indices into the weather.
    """
    years = whole_years(weather_start, weather_hours)
    if years is None:
        raise ValueError(f"weather of {weather_hours} h from {weather_start}: expected whole years to repeat")
    if run_start != run_start.replace(minute=0, second=0, microsecond=0):
        raise ValueError(f"run starts at {run_start}: expected a full hour")
    weather, run = hourly_times(weather_start, weather_hours), hourly_times(run_start, run_hours)
    weather_key, run_key = hours_of_leap_year(weather), hours_of_leap_year(run)
    first = int(weather_key[0])
    slot = _slots(weather, weather_key, first, years)
    count = _anniversaries(run, run_key, first)
    return np.asarray(slot[(count - count[:1]) % years, run_key])


def _slots(weather: NDArray[np.datetime64], key: NDArray[np.int64], first: int, years: int) -> NDArray[np.int64]:
    """Weather hour by year of the weather and hour of the leap year, shape (years, 8784)."""
    slot = np.full((years, LEAP_YEAR_HOURS), -1, dtype=np.int64)
    count = _anniversaries(weather, key, first)
    slot[count - count[:1], key] = np.arange(weather.size)
    leap_day = slice(59 * 24, 60 * 24)
    day_before = slot[:, 58 * 24 : 59 * 24]
    slot[:, leap_day] = np.where(slot[:, leap_day] < 0, day_before, slot[:, leap_day])
    return slot
