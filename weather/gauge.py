"""Rain gauges: amounts reported over several hours brought to single hours, and the hours without a report."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.doubts import WARNING, Doubt
from stemwall.weather.moistair import FloatArray
from stemwall.weather.rain_codes import hourly_rates
from stemwall.weather.unit_conversion import RawWeather

LONGEST = 24
"""Longest time that one amount is read as, in hours; the codes of the files go no further, 99 means unknown."""

MOST_MISSING = 0.1
"""Share of hours without a report from which on the rain of a record is refused [-]; common practice for yearly sums
of climate records, no source."""

LOUD_MISSING = 0.01
"""Share of them from which on that is a warning [-]; below, a note."""

GAP_RULES = ("dry", "codes", "month")
"""What hours without a report count as: dry; wet as the present-weather codes say, see `synthetic`; or as wet as the
reported hours of their month, which are multiplied by hours over reported hours."""

LEAST_REPORTED = 0.5
"""Share of a month's hours that must be reported for it to speak of the others [-]; common practice, no source."""

MISFIT = 0.5
"""Difference between an amount over several hours and those reported within it that rounding explains [mm]."""


@dataclass(frozen=True, eq=False)
class Gauged:
    """What the reports of a gauge say of each hour.

    Parameters
    ----------
    rain : ndarray
        Shape (n,), nan where nothing is known [mm].
    spread : int
        Hours that got their share of an amount over several hours.
    unknown : int
        Amounts above zero whose time is not known; they are left out.
    misfits : int
        Amounts that do not fit those reported within their time; the shorter ones stand.
    """

    rain: FloatArray
    spread: int
    unknown: int
    misfits: int


def by_the_hour(depth: FloatArray, hours: FloatArray, months: NDArray[np.int64]) -> Gauged:
    """Bring the reports of a gauge to single hours.

    Parameters
    ----------
    depth : ndarray
        Amount reported at the end of each hour, shape (n,), nan where there is no report [mm].
    hours : ndarray
        Time over which it fell, shape (n,) [h]; nan or beyond `LONGEST` where not known.
    months : ndarray of int
        Something that changes where rows that follow each other do not follow in time, shape (n,): the months of a
        typical year come from different years.

    Notes
    -----
    Short reports go first.  Of a longer one what the shorter ones within its time have not told is spread evenly over
    the hours that they left open.  A time that begins before its month counts for the part within it.  An amount of
    zero over an unknown time makes its own hour dry, another one is left out.
    """
    given = ~np.isnan(depth)
    known = given & (hours >= 1) & (hours <= LONGEST)
    rain = np.where(known & (hours == 1), depth, np.nan)
    rain[given & ~known & (depth == 0)] = 0.0
    open_before = int(np.isnan(rain).sum())
    misfits = 0
    seam = np.concatenate(([0], np.flatnonzero(np.diff(months) != 0) + 1))
    several = np.flatnonzero(known & (hours > 1))
    for at in several[np.argsort(hours[several], kind="stable")].tolist():
        length = int(hours[at])
        first = max(at + 1 - length, int(seam[np.searchsorted(seam, at, side="right") - 1]))
        inside = rain[first : at + 1]
        left = depth[at] * (inside.size / length) - np.nansum(inside)
        empty = np.isnan(inside)
        misfits += bool(left < -MISFIT or (left > MISFIT and not empty.any()))
        if empty.any():
            inside[empty] = max(left, 0.0) / np.count_nonzero(empty)
    spread = open_before - int(np.isnan(rain).sum())
    return Gauged(rain, spread, int(np.sum(given & ~known & (depth > 0))), misfits)


def read_gauge(raw: RawWeather, hours: FloatArray) -> None:
    """Replace the rain column of a record, amounts with their hours, by rain of single hours, with notes.

    A column of hours that holds nothing but zeros, or unknown times, is one that nobody filled: its amounts are taken
    as those of single hours.
    """
    if "rain" not in raw.frame:
        return
    depth = raw.frame["rain"].to_numpy(dtype=np.float64)
    stated = (hours >= 1) & (hours <= LONGEST)
    if not np.any(stated & ~np.isnan(depth)):
        return
    source = np.zeros(depth.size, dtype=np.int64) if raw.seams is None else raw.seams
    gauged = by_the_hour(depth, hours, source)
    raw.frame["rain"] = gauged.rain
    if gauged.spread:
        raw.notes.append(f"rain: amounts over several hours are spread evenly over the {gauged.spread} h left open")
    if gauged.unknown:
        raw.notes.append(f"rain: {gauged.unknown} amounts over unknown times are left out")
    if gauged.misfits:
        text = f"{gauged.misfits} amounts over several hours do not fit the shorter ones within them"
        raw.notes.append(f"{WARNING}rain: {text}; expected such that agree")


def missing_share(raw: RawWeather) -> float:
    """Share of the hours of a record for which no rain is known, 0 if it has no rain at all [-]."""
    if "rain" not in raw.frame or raw.frame["rain"].isna().all():
        return 0.0
    return float(raw.frame["rain"].isna().mean())


def rain_doubts(raw: RawWeather) -> list[Doubt]:
    """Doubt about rain with too many hours unobserved."""
    share = missing_share(raw)
    if share <= MOST_MISSING:
        return []
    codes = "present_weather" in raw.frame and (raw.frame["present_weather"] > 0).any()
    made = 'rain = "synthetic" (from the weather codes of the file), ' if codes else ""
    found = f"no report in {share:.0%} of the hours, which would count as dry"
    way = f'at most {MOST_MISSING:.0%}: another file, {made}or rain = "none"'
    return [Doubt("rain", f"{raw.name}, rain", found, way)]


def fill_rain(raw: RawWeather, rule: str = "dry") -> None:
    """Close the hours without a report by one of `GAP_RULES`, and say so in the notes and the origin of the rain.

    Where a rule cannot speak (no codes in the file, a month with too few reports) the hours count as dry.
    """
    share = missing_share(raw)
    if not share:
        return
    missing = raw.frame["rain"].isna().to_numpy()
    hours = int(missing.sum())
    filled, told = raw.frame["rain"].to_numpy(dtype=np.float64, copy=True), "count as dry"
    if rule == "codes" and "present_weather" in raw.frame:
        codes = raw.frame["present_weather"].fillna(-1).to_numpy().astype(np.int64)
        filled[missing] = hourly_rates(codes[missing], seed=1)
        told = "filled from the weather codes, seed 1"
    elif rule == "month":
        filled, dry = _by_month(raw, filled)
        some = f", {dry} h in months with fewer than {LEAST_REPORTED:.0%} reports as dry" if dry else ""
        told = f"made up for by the reported hours of their months{some}"
    raw.frame["rain"] = np.where(np.isnan(filled), 0.0, filled)
    said = f"rain: {hours} missing hours ({share:.1%}) {told}"
    raw.notes.append(f"{WARNING}{said}; expected a report of each hour" if share > LOUD_MISSING else said)
    raw.rain_origin += f", {share:.1%} of hours missing" + ("" if told == "count as dry" else f" and {told}")


def _by_month(raw: RawWeather, rain: FloatArray) -> tuple[FloatArray, int]:
    """Rain whose reported hours stand for their month too, and hours in months that have too few reports."""
    month = raw.frame.index.to_period("M")
    dry = 0
    for one in month.unique():
        here = np.asarray(month == one)
        known = here & ~np.isnan(rain)
        if known.sum() >= LEAST_REPORTED * here.sum():
            rain[known] *= here.sum() / known.sum()
        else:
            dry += int(here.sum() - known.sum())
    return rain, dry
