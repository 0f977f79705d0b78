"""Checks of a raw hourly table: the clock, impossible values, missing values; every finding with its place."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.calendar import whole_years
from stemwall.weather.columns import COLUMNS, REQUIRED
from stemwall.weather.errors import Problem
from stemwall.weather.unit_conversion import RawWeather

HOUR = pd.Timedelta(hours=1)


def runs(mask: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and one-past-last position of every unbroken run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def place(raw: RawWeather, first: int, end: int, column: str | None = None) -> str:
    """File, row or rows, time and column of a finding."""
    row = f"row {raw.rows[first]}" if end - first == 1 else f"rows {raw.rows[first]}-{raw.rows[end - 1]}"
    time = raw.frame.index[first]
    at = f"{raw.name}, {row}" + ("" if time is pd.NaT else f" ({time:%Y-%m-%d %H:%M})")
    return at if column is None else f"{at}, {column}"


def column_problems(raw: RawWeather) -> list[Problem]:
    """Required columns that are not there."""
    have = set(raw.frame.columns) | raw.refused
    if "dew_point" in have:
        have.add("relative_humidity")
    found = ", ".join(map(str, raw.frame.columns)) or "no column"
    return [Problem(raw.name, f"columns {found}", f"a column {name}") for name in REQUIRED if name not in have]


def site_problems(raw: RawWeather) -> list[Problem]:
    """Impossible coordinates."""
    limits = {"latitude": 90.0, "longitude": 180.0, "utc_offset": 14.0}
    said = {problem.place for problem in raw.problems}
    problems = [
        Problem(f"{raw.name}, {name}", f"{value:g}", f"a value from {-limit:g} to {limit:g}")
        for name, limit in limits.items()
        if abs(value := getattr(raw.site, name)) > limit
    ]
    problems += [
        Problem(at, "no number", "where the station stands")
        for name in (*limits, "elevation")
        if np.isnan(getattr(raw.site, name)) and (at := f"{raw.name}, {name}") not in said
    ]
    if raw.site.elevation < -430 or raw.site.elevation > 6000:
        problems.append(Problem(f"{raw.name}, elevation", f"{raw.site.elevation:g} m", "a value from -430 to 6000 m"))
    shift = raw.site.utc_offset - raw.site.longitude / 15
    if abs(shift) > 3 and not problems:
        found = f"utc_offset {raw.site.utc_offset:+g} h at longitude {raw.site.longitude:g}"
        problems.append(Problem(raw.name, found, f"about {raw.site.longitude / 15:+.0f} h, east positive for both"))
    return problems


def time_problems(raw: RawWeather, fill_gaps: int) -> list[Problem]:
    """Stamps off the hour, out of order, twice, and gaps longer than `fill_gaps` hours."""
    times = raw.frame.index
    if not len(times):
        return [Problem(raw.name, "no hourly rows", "hourly rows, or closer ones")]
    problems = []
    off = np.asarray(times != times.floor("h"))
    for first, end in runs(off):
        expected = "hourly values on the full hour, or rows an hour apart or closer, in order, whose means can be taken"
        problems.append(Problem(place(raw, first, end), "a time off the full hour", expected))
    step = np.diff(times) / HOUR
    for i in np.flatnonzero((step <= 0) & ~off[1:]).tolist():
        what = "the same hour again" if step[i] == 0 else f"a step back to {times[i + 1]:%Y-%m-%d %H:%M}"
        problems.append(Problem(place(raw, i + 1, i + 2), what, f"{times[i] + HOUR:%Y-%m-%d %H:%M}"))
    for i in np.flatnonzero(step > 1).tolist():
        gap = int(step[i]) - 1
        if gap > fill_gaps and not leap_day_gap(times[i] + HOUR, gap):
            limit = f"the next hour (gaps up to {fill_gaps} h are filled; see fill_gaps)"
            problems.append(Problem(place(raw, i, i + 1), f"a gap of {gap} h after it", limit))
    return problems


def length_problems(raw: RawWeather) -> list[Problem]:
    """A record that does not hold whole years, where these are needed."""
    first, last = raw.frame.index[0], raw.frame.index[-1]
    hours = int((last - first) / HOUR) + 1
    if whole_years(first.to_pydatetime(), hours) is not None:
        return []
    found = f"{hours} h, from {first:%Y-%m-%d %H:%M} through {last:%Y-%m-%d %H:%M}"
    return [Problem(raw.name, found, "whole years: 8760 h, 8784 h with a 29 February, or several years")]


def leap_day_gap(start: pd.Timestamp, hours: int) -> bool:
    """Whether a gap is exactly a 29 February that a file leaves out."""
    return bool(hours == 24 and start.month == 2 and start.day == 29 and start.hour == 0)


def range_problems(raw: RawWeather, leave_out: Collection[str] = ()) -> list[Problem]:
    """Values that cannot be weather at the ground, in all columns but those left out."""
    problems = []
    for name in raw.frame.columns:
        if name in leave_out:
            continue
        column, values = COLUMNS[name], raw.frame[name].to_numpy()
        wrong = (values < column.low) | (values > column.high)
        for first, end in runs(wrong):
            part = values[first:end]
            found = f"{part[0]:g}" if end - first == 1 else f"{part.min():g} to {part.max():g}"
            unit = "" if column.unit == "1" else f" {column.unit}"
            expected = f"{column.low:g} to {column.high:g}{unit}"
            problems.append(Problem(place(raw, first, end, name), f"{found}{unit}", expected))
    return problems


def missing_problems(raw: RawWeather, names: list[str], fill_gaps: int) -> list[Problem]:
    """Runs of missing values longer than `fill_gaps` hours in the named columns."""
    problems = []
    for name in names:
        missing = raw.frame[name].isna().to_numpy()
        for first, end in runs(missing):
            if end - first > fill_gaps:
                found = f"no value for {end - first} h"
                limit = f"a value (runs up to {fill_gaps} h are filled; see fill_gaps)"
                problems.append(Problem(place(raw, first, end, name), found, limit))
    return problems
