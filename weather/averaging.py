"""Rows that are not hours: values of minutes, and of hours that begin off the hour, brought to hours on the hour.

A row stands for the time until the next one, at most the usual distance of rows; an hour is the mean of the rows in it,
weighted by the time that each lies in it, so sums of sun and rain stay.  An hour of which less than `LEAST` is known is
missing.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather import checks
from stemwall.weather.moistair import FloatArray
from stemwall.weather.unit_conversion import RawWeather

HOUR = np.timedelta64(3600, "s")

LEAST = 0.5
"""Share of an hour that must be known for its mean [-]; common practice, no source."""

SLACK = 1.01
"""Distance of rows up to which they are taken for hourly ones or closer [h]."""


def row_length(index: pd.DatetimeIndex) -> float:
    """Usual distance of rows [h], the median; nan if there are not two."""
    if len(index) < 2 or index.hasnans:
        return float("nan")
    return float(np.median(np.diff(index.to_numpy()) / HOUR))


def to_hours(raw: RawWeather) -> RawWeather:
    """Return a record by the hour, with a note; one that has hours already, or whose clock is wrong, as it is.

    Parameters
    ----------
    raw : RawWeather
        Its index is the begin of what each row stands for; impossible values of single rows become problems, since
        a mean would hide them.
    """
    index = raw.frame.index
    step = row_length(index)
    if not step <= SLACK or (np.diff(index.to_numpy()) <= np.timedelta64(0, "s")).any():
        return raw
    if abs(step - 1) < 1e-6 and np.mean(index == index.floor("h")) > 0.5:  # single ones off the hour are slips
        return raw
    begin = index.to_numpy().astype("datetime64[s]")
    length = np.full(begin.size, step)
    length[:-1] = np.minimum(np.diff(begin) / HOUR, step)
    hours, first, second, share = _overlaps(begin, length)
    columns = {name: _means(raw.frame[name].to_numpy(dtype=np.float64), name, raw, (first, second, share), hours.size)
               for name in raw.frame.columns}  # fmt: skip
    if "wind_direction" in columns:
        columns["wind_direction"] = _directions(raw.frame, (first, second, share), hours.size)
    rows = np.full(hours.size, -1, dtype=np.int64)
    for part in (second, first):
        rows[part[::-1]] = raw.rows[::-1]
    held = _covered((first, second, share), hours.size)
    frame = pd.DataFrame(columns, index=pd.DatetimeIndex(hours))[held]
    said = f"{begin.size} rows of {60 * step:.3g} min, the first at {begin[0].astype('datetime64[m]')}"
    note = f"{said}, brought to {len(frame)} hours by means"
    out = replace(raw, frame=frame, rows=rows[held], notes=[*raw.notes, note])
    out.problems = raw.problems + checks.range_problems(raw)
    return out


Overlap = tuple[NDArray[np.int64], NDArray[np.int64], FloatArray]


def _overlaps(
    begin: NDArray[np.datetime64], length: FloatArray
) -> tuple[NDArray[np.datetime64], NDArray[np.int64], NDArray[np.int64], FloatArray]:
    """Hours from the first to the last; for each row its hour, the next, and the time in both [h], shape (2, n)."""
    floor = begin.astype("datetime64[h]").astype("datetime64[s]")
    hours = np.arange(floor[0], floor[-1] + 2 * HOUR, HOUR)
    first = ((floor - floor[0]) / HOUR).astype(np.int64)
    into = (begin - floor) / HOUR
    inside = np.minimum(length, 1 - into)
    return hours, first, first + 1, np.stack([inside, np.maximum(length - inside, 0.0)])


def _sum(values: FloatArray, overlap: Overlap, hours: int) -> FloatArray:
    """Sum of rows over the hours in which they lie, times the time in each."""
    first, second, share = overlap
    total = np.bincount(first, values * share[0], minlength=hours)
    return np.asarray(total + np.bincount(second, values * share[1], minlength=hours))


def _covered(overlap: Overlap, hours: int) -> NDArray[np.bool_]:
    """Hours of which enough is covered by rows, so that a few minutes at either end are no hour."""
    return np.asarray(_sum(np.ones(overlap[0].size), overlap, hours) >= LEAST)


def _means(values: FloatArray, name: str, raw: RawWeather, overlap: Overlap, hours: int) -> FloatArray:
    """Hourly means of a column; of weather codes the highest, which tells of most water."""
    known = ~np.isnan(values)
    if name == "present_weather":
        highest = np.full(hours, -np.inf)
        np.maximum.at(highest, overlap[0][known], values[known])
        return np.asarray(np.where(np.isinf(highest), np.nan, highest))
    time = _sum(known.astype(np.float64), overlap, hours)
    total = _sum(np.where(known, values, 0.0), overlap, hours)
    return np.asarray(np.divide(total, time, out=np.full(hours, np.nan), where=time >= LEAST))


def _directions(frame: pd.DataFrame, overlap: Overlap, hours: int) -> FloatArray:
    """Hourly mean directions of the wind, each row counted by its speed where that is known."""
    angle = np.radians(frame["wind_direction"].to_numpy(dtype=np.float64))
    speed = frame["wind_speed"].to_numpy(dtype=np.float64) if "wind_speed" in frame else np.ones(angle.size)
    weight = np.where(np.isnan(speed), 0.0, speed) + 1e-6  # calm rows count, if there are no others
    known = ~np.isnan(angle)
    time = _sum(known.astype(np.float64), overlap, hours)
    east, north = (_sum(np.where(known, weight * part(angle), 0.0), overlap, hours) for part in (np.sin, np.cos))
    return np.asarray(np.where(time >= LEAST, np.degrees(np.arctan2(east, north)) % 360.0, np.nan))
