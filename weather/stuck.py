"""Sensors that stand still, and columns that hold nothing but zeros."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.clock import Sun
from stemwall.weather.doubts import WARNING, Doubt
from stemwall.weather.moistair import FloatArray
from stemwall.weather.unit_conversion import RawWeather


@dataclass(frozen=True)
class Bound:
    """How long a reading may stay the same.

    Parameters
    ----------
    hours : int
        Longest run of one value [h].
    resting : int
        Longest run of the value at which it rests, see `RESTS` [h]; 0 if any length is weather.
    grave : bool
        Whether many stuck hours refuse a record.
    """

    hours: int
    resting: int
    grave: bool


BOUNDS: dict[str, Bound] = {
    "temperature": Bound(36, 36, grave=True),
    "relative_humidity": Bound(36, 240, grave=True),
    "wind_speed": Bound(24, 168, grave=True),
    "wind_direction": Bound(72, 168, grave=False),
    "pressure": Bound(72, 72, grave=False),
    "ghi": Bound(6, 72, grave=True),
    "sky_longwave": Bound(48, 48, grave=False),
    "cloud_cover": Bound(720, 720, grave=False),
    "rain": Bound(48, 0, grave=False),
    "snow_depth": Bound(1440, 0, grave=False),
}
"""The longest runs in the two measured years that come with pvlib: temperature 24 h (to whole degrees), humidity
19 h below and 41 h at saturation, wind 10 h and 21 h of calm, its direction 18 h, pressure 17 h, irradiance 2 h, cloud
97 h.  The bounds are some two times as long, those of calm and saturation five times, for polar winters and fog; that
of irradiance is in hours of daylight."""

RESTS = {
    "relative_humidity": 0.995,
    **dict.fromkeys(("ghi", "wind_speed", "wind_direction", "rain", "snow_depth"), 0.0),
}
"""Value at which a quantity rests by nature: the humidity from here on up, the others from here on down."""

MOST_STUCK = 0.05
"""Share of stuck hours from which on a record is refused [-]: 18 days a year; common practice, no source."""

LIT = 0.05
"""Sine of the sun's elevation from which on an hour counts as daylight for the irradiance [-]."""

NEVER_ZERO = ("temperature", "relative_humidity", "wind_speed", "ghi")
"""Columns that refuse a record if they hold zeros only."""

CANNOT = {
    "cloud_cover": "the sky is taken as unknown",
    "dni": "direct and diffuse irradiance are derived from the global one",
    "dhi": "direct and diffuse irradiance are derived from the global one",
    "snow_depth": "snow is taken as not observed",
    "rain": "rain is taken as not observed",
}
"""Columns that are dropped if they hold zeros only, and what that leads to."""


def drop_zero_columns(raw: RawWeather) -> list[Doubt]:
    """Drop columns that hold zeros only, with a note, and return the doubts about those that cannot be spared."""
    zero = [name for name in raw.frame if raw.frame[name].notna().any() and not raw.frame[name].fillna(0.0).any()]
    if "ghi" in zero:  # then it is dark all year, and so are its parts
        zero = [name for name in zero if name not in ("dni", "dhi")]
    dropped = [name for name in CANNOT if name in zero]
    raw.frame = raw.frame.drop(columns=dropped)
    for name in dropped:
        loud = "" if name == "snow_depth" else WARNING
        said = f"{name.replace('_', ' ')}: the column holds zeros only, {CANNOT[name]}"
        raw.notes.append(f"{loud}{said}; expected readings")
    doubts = [
        Doubt("zeros", f"{raw.name}, {name}", "zeros only: not observed?", "a column with readings")
        for name in NEVER_ZERO
        if name in zero
    ]
    if "wind_direction" in zero and "wind_speed" not in zero:
        found = "zeros only: all driving rain comes from the north; not observed?"
        place = f"{raw.name}, wind_direction"
        doubts.append(Doubt("zeros", place, found, "directions from 0 to 360 deg", grave=False))
    return doubts


def stuck_doubts(raw: RawWeather, sun: Sun) -> list[Doubt]:
    """Doubts about columns whose value stays the same for longer than `BOUNDS` allow."""
    doubts = []
    for name, bound in BOUNDS.items():
        if name not in raw.frame or name in raw.stated:
            continue
        values = raw.frame[name].to_numpy(dtype=np.float64)
        rows = np.arange(values.size)
        if name == "ghi":
            rows = np.flatnonzero(sun.sine > LIT)
        if values.any():
            doubts += _stuck(raw, name, bound, values[rows], rows)
    return doubts


def _stuck(raw: RawWeather, name: str, bound: Bound, values: FloatArray, rows: NDArray[np.int64]) -> list[Doubt]:
    """Doubt about one column, whose readings of these rows follow each other."""
    first, length = same_value_runs(values)
    value = values[first]
    rest = RESTS.get(name, np.nan)
    resting = value >= rest if name == "relative_humidity" else value <= rest
    most = np.where(resting, bound.resting or values.size, bound.hours)
    long = length > most
    if not long.any() or (name == "pressure" and first.size == 1):  # that of the station's height, as often given
        return []
    worst = int(np.argmax(np.where(long, length, 0)))
    begin: pd.Timestamp = raw.frame.index[rows[first[worst]]]
    hours = int(length[long].sum())
    where = " of daylight" if name == "ghi" else ""
    found = (
        f"one value for up to {length[worst]} h{where} ({value[worst]:.4g} from {begin:%Y-%m-%d %H:%M}), "
        f"{hours} h in {int(long.sum())} such runs; a stuck sensor, or filled gaps?"
    )
    expected = f"at most {most[worst]} h{where} of this value"
    grave = bound.grave and hours > MOST_STUCK * values.size
    return [Doubt("stuck", f"{raw.name}, {name}", found, expected, grave)]


def same_value_runs(values: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First position and length of each run of one value, missing values apart, shape (m,) each."""
    first = np.flatnonzero(np.concatenate(([True], values[1:] != values[:-1])))
    return first, np.diff(np.append(first, values.size))
