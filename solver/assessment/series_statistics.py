"""Exposure: what a place has been through, hour by hour, and plain statistics of it.

Series are arrays of shape (time,) or (time, place) at a constant step;
temperature in degC, relative humidity as a fraction.  Conditions ("above the
limit") are boolean arrays of the same shape, so a count of hours is a sum.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stemwall.solver.model.arrays import Floats

BoolArray = NDArray[np.bool_]
TimeArray = NDArray[np.datetime64]

HOUR = np.timedelta64(60, "m")
#: Relative humidity may pass 1 by this much (round-off of a solver) before it is taken for a percentage.
HUMIDITY_SLACK = 1e-3
#: Above this [degC] a temperature is taken for kelvin.
HOTTEST = 150.0


class Spell(NamedTuple):
    """A run of consecutive samples: index of the first one, and how many."""

    start: int
    length: int


class Extreme(NamedTuple):
    """A value and the time stamp at which the series takes it first."""

    value: float
    time: np.datetime64


def checked(temperature: ArrayLike, relative_humidity: ArrayLike) -> tuple[Floats, Floats]:
    """Return both series as float arrays of one shape, the humidity cut at 1.

    Parameters
    ----------
    temperature : array_like, shape (time,) or (time, place)
        Temperature [degC].
    relative_humidity : array_like, shape broadcastable to that of `temperature`
        Relative humidity [-].

    Raises
    ------
    ValueError
        If a value is not finite, the humidity is outside 0 to 1 or the
        temperature looks like kelvin.
    """
    warm = np.asarray(temperature, dtype=np.float64)
    humid = np.asarray(relative_humidity, dtype=np.float64)
    warm, humid = np.broadcast_arrays(warm, humid)
    if not (np.isfinite(warm).all() and np.isfinite(humid).all()):
        raise ValueError("temperature and relative humidity must be finite; fill the gaps first")
    if humid.size and (humid.min() < 0.0 or humid.max() > 1.0 + HUMIDITY_SLACK):
        raise ValueError(f"relative humidity must be a fraction from 0 to 1, got {humid.min():g} to {humid.max():g}")
    if warm.size and warm.max() > HOTTEST:
        raise ValueError(f"temperature must be in degC, got up to {warm.max():g} (kelvin?)")
    return np.array(warm), np.minimum(humid, 1.0)


def as_places(series: Floats) -> Floats:
    """Contiguous copy of shape (time, place), one column if the series has no place axis."""
    if series.ndim not in (1, 2):
        raise ValueError(f"a series has shape (time,) or (time, place), got {series.shape}")
    return np.ascontiguousarray(series.reshape(len(series), -1))


def step_hours(time: TimeArray) -> float:
    """Step of a regular time axis [h].

    Raises
    ------
    ValueError
        If there are fewer than two time stamps or the steps differ.
    """
    steps = np.diff(time.astype("datetime64[m]"))
    if not steps.size or (steps <= np.timedelta64(0, "m")).any() or (steps != steps[0]).any():
        raise ValueError("an assessment needs at least two time stamps at one constant, positive step")
    return float(steps[0] / HOUR)


def running_mean(series: Floats, window: int) -> Floats:
    """Mean of the latest `window` samples along time; nan until that many exist.

    Parameters
    ----------
    series : ndarray, shape (time,) or (time, place)
    window : int
        Number of samples, at least 1.
    """
    if window < 1:
        raise ValueError(f"window must be at least one sample, got {window}")
    mean = np.full_like(series, np.nan)
    if window <= len(series):
        offset = series.mean(axis=0)  # sums of deviations stay small over long runs
        total = np.cumsum(series - offset, axis=0)
        total[window:] = total[window:] - total[:-window]
        # a limit may be met exactly, and sums leave noise in the last digits that differs with the version of numpy
        mean[window - 1 :] = np.round(total[window - 1 :] / window + offset, 12)
    return mean


def monthly_mean(time: TimeArray, series: Floats) -> Floats:
    """Mean of each complete calendar month, at the month's last sample; nan elsewhere.

    Parameters
    ----------
    time : ndarray of datetime64, shape (time,)
    series : ndarray, shape (time,)
    """
    months, month = np.unique(time.astype("datetime64[M]"), return_inverse=True)
    count = np.bincount(month)
    length = ((months + 1).astype("datetime64[m]") - months.astype("datetime64[m]")) / HOUR
    complete = (count + 1) * step_hours(time) >= length  # stamps at the end of a step leave one out
    mean = np.full(series.shape, np.nan)
    last = np.cumsum(count) - 1
    mean[last[complete]] = (np.bincount(month, weights=series) / count)[complete]
    return mean


def hours(condition: BoolArray, step: float = 1.0) -> Any:
    """Hours in which a condition holds; a float, or an array over places of shape (place,)."""
    return condition.sum(axis=0) * step


def longest_spell(condition: BoolArray) -> Spell:
    """Longest run of consecutive samples in which a condition of shape (time,) holds.

    The earliest of equally long runs is returned; length 0 if it never holds.
    """
    edges = np.diff(np.concatenate(([0], condition.astype(np.int8), [0])))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if not starts.size:
        return Spell(0, 0)
    longest = int(np.argmax(ends - starts))
    return Spell(int(starts[longest]), int(ends[longest] - starts[longest]))


def minimum(time: TimeArray, series: Floats) -> Extreme:
    """Smallest value of a series of shape (time,) and when it occurs first; nan is passed over."""
    at = int(np.nanargmin(series))
    return Extreme(float(series[at]), time[at])


def maximum(time: TimeArray, series: Floats) -> Extreme:
    """Largest value of a series of shape (time,) and when it occurs first; nan is passed over."""
    at = int(np.nanargmax(series))
    return Extreme(float(series[at]), time[at])
