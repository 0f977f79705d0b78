"""Whether the sun of a record keeps the time of its place: by the hour of the day, by the season, at night."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.doubts import Doubt
from stemwall.weather.moistair import FloatArray
from stemwall.weather.unit_conversion import RawWeather, Site

CLEAR = 0.9
"""Quantile, over the days of a month, that stands for its clear days at each hour [-]."""

LEAST_SUN = 0.02
"""Months whose mean sine of the sun's elevation, night included, is below this are not judged [-]: polar night."""

LEAST_SWING = 0.25
"""Nor those whose day differs from their night by less, as first Fourier coefficient over sum [-]: polar day."""

LARGEST_SHIFT, LARGEST_LABEL = 0.7, 0.35
"""Shift from which on a record is refused, and from which on it is said [h].  The slips are whole hours (time zone,
daylight saving, begin or end of the hour) and half hours (a time in the middle of the hour).  The months of the two
measured years that come with pvlib lie within 0.3 h of the sun, their median months within 0.02 h."""

LARGEST_IN_A_MONTH = 2.0
"""Shift of a single month from which on a record is refused [h]: six times the largest of the same years."""

LARGEST_SEASON = 75.0
"""Shift of the year's course of irradiance from which on a record is refused [d].  Rainy seasons move it by up to a
month and a half (common practice, no source), the wrong hemisphere by half a year."""

LEAST_SEASON = 0.15
"""The season is judged where the sun's yearly swing, as first Fourier coefficient over sum, is larger [-]: beyond some
30° of latitude."""

LARGEST_NIGHT = 0.01
"""Share of a record's solar energy in hours without sun from which on that is said [-]; 0 in the same years.  An hour
counts as one without sun where it stays below -1°."""

CLEARNESS = (0.2, 0.85)
"""Share of the irradiance outside the atmosphere that reaches the ground over a year [-]: 0.36 in the cloudiest and
0.52 in the other of the same years; 0.75 is the mean of clear sky (Angstrom's sum a + b as in FAO Irrigation and
Drainage Paper 56, from memory, to be checked)."""

CLEARNESS_OF_MONTHS = (0.08, 0.9)
"""The same of a record shorter than a year [-]: the darkest month of the same years has 0.27; a plain choice."""

IRRADIANCE_UNITS = {"kW/m^2": 1000.0, "MJ/(m^2 h)": 1000 / 3.6, "BTU/(ft^2 h)": 3.1546, "kJ/(m^2 h)": 1 / 3.6}
"""Factors to W/m^2 of units that irradiance is often given in."""

DAYLIGHT_SAVING = {True: range(4, 11), False: (10, 11, 12, 1, 2, 3)}
"""Whole months of daylight-saving time, by whether the place is north of the equator."""


@dataclass(frozen=True, eq=False)
class Sun:
    """The sun over a record, shape (n,) each.

    Parameters
    ----------
    sine : ndarray
        Mean of the sine of its elevation over each hour, the night counted as zero [-].
    dark : ndarray of bool
        Hours in which it stays below the horizon.
    """

    sine: FloatArray
    dark: NDArray[np.bool_]

    @classmethod
    def of(cls, index: pd.DatetimeIndex, site: Site) -> Sun:
        """Sun of hours that begin at these local standard times, by Spencer (1971), to some 0.3°."""
        edges = [_elevation(index, site, hours) for hours in (0.0, 0.5, 1.0)]
        begin, middle, end = (np.maximum(np.sin(elevation), 0.0) for elevation in edges)
        return cls((begin + 4 * middle + end) / 6, np.max(edges, axis=0) < np.radians(-1.0))


def _elevation(index: pd.DatetimeIndex, site: Site, later: float) -> FloatArray:
    """Elevation of the sun so many hours after these times [rad], shape (n,)."""
    from pvlib import solarposition

    hour = index.hour.to_numpy() + index.minute.to_numpy() / 60 + later
    day = index.day_of_year.to_numpy() + (hour - site.utc_offset) / 24
    minutes = solarposition.equation_of_time_spencer71(day)
    turned = np.radians(15 * (hour - 12 - site.utc_offset) + site.longitude + minutes / 4)
    declination = solarposition.declination_spencer71(day)
    zenith = solarposition.solar_zenith_analytical(np.radians(site.latitude), turned, declination)
    return np.asarray(np.pi / 2 - zenith)


def clock_doubts(raw: RawWeather, sun: Sun) -> list[Doubt]:
    """Doubts about the times of the irradiance and its unit; the record must be hour by hour."""
    if "ghi" not in raw.frame or not (raw.frame["ghi"] > 0).any():
        return []
    index, ghi = raw.frame.index, raw.frame["ghi"].to_numpy(dtype=np.float64)
    unit = _unit(raw, sun, ghi)
    shifts = monthly_shifts(index, ghi, sun.sine)
    hour = _hour(raw, shifts)
    season = [] if hour or len(index) < 8760 else _season(raw, sun, ghi)
    return unit + hour + season + ([] if hour or season else _night(raw, sun, ghi))


def monthly_shifts(index: pd.DatetimeIndex, ghi: FloatArray, sine: FloatArray) -> FloatArray:
    """How much later than the sun the irradiance of each month comes, shape (12,) [h]; nan where none can be told.

    The first harmonic of the day's course on clear days is compared with that of the sun; clouds that come in the
    afternoon hardly move it.
    """
    by_hour = pd.DataFrame({"ghi": ghi, "sine": sine}).groupby([index.month, index.hour])
    clear = by_hour["ghi"].quantile(CLEAR).unstack().reindex(index=range(1, 13), columns=range(24)).to_numpy()
    above = by_hour["sine"].mean().unstack().reindex(index=range(1, 13), columns=range(24)).to_numpy()
    turn = np.exp(2j * np.pi * (np.arange(24) + 0.5) / 24)
    seen, true = clear @ turn, above @ turn
    judged = (above.mean(axis=1) > LEAST_SUN) & (np.abs(true) > LEAST_SWING * above.sum(axis=1))
    judged &= np.abs(seen) > 0.1 * LEAST_SWING * clear.sum(axis=1)
    shift = np.angle(seen * np.conj(true)) * 12 / np.pi
    return np.asarray(np.where(judged, shift, np.nan))


def _hour(raw: RawWeather, shifts: FloatArray) -> list[Doubt]:
    """Doubt about the hour of the day."""
    if np.isnan(shifts).all():
        return []
    saving = np.isin(np.arange(1, 13), list(DAYLIGHT_SAVING[raw.site.latitude >= 0]))
    around = float(np.angle(np.nanmean(np.exp(1j * np.pi / 12 * shifts)))) * 12 / np.pi
    summer, winter = (float(_turned(around + _median(_turned(shifts[part] - around)))) for part in (saving, ~saving))
    wild = np.abs(shifts) >= LARGEST_IN_A_MONTH
    far = max(abs(summer), abs(winter))
    if far < LARGEST_LABEL and not wild.any():
        return []
    if far < LARGEST_LABEL:
        listed = ", ".join(f"month {m + 1}: {shifts[m]:+.1f} h" for m in np.flatnonzero(wild))
        found = f"irradiance that does not follow the sun in some months ({listed})"
    else:
        steady = abs(float(_turned(summer - winter))) < LARGEST_LABEL
        by_season = _late(summer) if steady else f"{_late(summer)} in summer, {_late(winter)} in winter"
        found = f"irradiance {by_season}; {_likely(summer, winter, raw.site)}"
    expected = (
        f"the sun of {raw.site.latitude:g}° N, {raw.site.longitude:g}° E by local standard time, "
        f"UTC {raw.site.utc_offset:+g} h, within {LARGEST_LABEL:g} h"
    )
    grave = far >= LARGEST_SHIFT or bool(wild.any())
    return [Doubt("clock", f"{raw.name}, ghi", found, expected, grave)]


def _late(shift: float) -> str:
    if abs(shift) > 12 - LARGEST_LABEL:
        return f"{abs(shift):.1f} h from the sun"
    return f"{abs(shift):.1f} h {'later' if shift > 0 else 'earlier'} than the sun"


def _turned(hours: FloatArray | float) -> FloatArray:
    """A difference of times of the day, between -12 and 12 h."""
    return np.asarray((np.asarray(hours) + 12.0) % 24.0 - 12.0)


def _median(values: FloatArray) -> float:
    known = values[~np.isnan(values)]
    return float(np.median(known)) if known.size else 0.0


def _likely(summer: float, winter: float, site: Site) -> str:
    """The slip that such a shift looks like."""
    near = LARGEST_LABEL
    change = abs(float(_turned(summer - winter)))
    if change >= near:
        return "daylight-saving time?" if abs(change - 1) < near else "times changed within the record?"
    shift = summer
    if abs(shift) < LARGEST_SHIFT:
        return "times in the middle of the hour?"
    if abs(abs(shift) - 12) < near:
        return "the hours of a 12 h clock?"
    if abs(shift + site.utc_offset) < near and abs(site.utc_offset) > 1:
        return "times in UTC?"
    if abs(shift - 1) < near:
        return "times at the end of the hour read as its begin, or daylight-saving time all year?"
    if abs(shift + 1) < near:
        return "times at the begin of the hour read as its end?"
    return "another time zone, or longitude or utc_offset wrong?"


def _season(raw: RawWeather, sun: Sun, ghi: FloatArray) -> list[Doubt]:
    """Doubt about the time of the year, and so about the hemisphere."""
    index = raw.frame.index
    turn = np.exp(2j * np.pi * (index.day_of_year.to_numpy() - 0.5) / 365.25)
    known = ~np.isnan(ghi)
    true = np.sum(sun.sine * turn)
    if abs(true) < LEAST_SEASON * sun.sine.sum():
        return []
    shift = float(np.angle(np.sum(ghi[known] * turn[known]) * np.conj(true))) * 365.25 / (2 * np.pi)
    if abs(shift) < LARGEST_SEASON:
        return []
    found = f"irradiance that is strongest {abs(shift):.0f} days {'after' if shift > 0 else 'before'} the highest sun"
    slip = "the sign of the latitude, or the months?"
    expected = f"the seasons of latitude {raw.site.latitude:g}°, within {LARGEST_SEASON:.0f} days"
    return [Doubt("clock", f"{raw.name}, ghi", f"{found}; {slip}", expected)]


def _night(raw: RawWeather, sun: Sun, ghi: FloatArray) -> list[Doubt]:
    """Doubt about irradiance while the sun is below the horizon."""
    share = float(np.nansum(ghi[sun.dark]) / np.nansum(ghi))
    if share < LARGEST_NIGHT:
        return []
    found = f"{share:.1%} of the solar energy in hours without sun; some of the times, or the zero of the instrument?"
    return [Doubt("clock", f"{raw.name}, ghi", found, f"less than {LARGEST_NIGHT:.0%}", grave=False)]


def _unit(raw: RawWeather, sun: Sun, ghi: FloatArray) -> list[Doubt]:
    """Doubt about the unit of the irradiance, by what the atmosphere lets through."""
    import pvlib

    outside = pvlib.irradiance.get_extra_radiation(raw.frame.index.day_of_year.to_numpy()) * sun.sine
    known = ~np.isnan(ghi)
    if not outside[known].sum():
        return []
    clearness = float(ghi[known].sum() / outside[known].sum())
    low, high = CLEARNESS if len(raw.frame) >= 8760 else CLEARNESS_OF_MONTHS
    if low <= clearness <= high:
        return []
    fits = [unit for unit, factor in IRRADIANCE_UNITS.items() if low <= clearness * factor <= high]
    slip = f"; the values look like {' or '.join(fits)}" if fits else ""
    found = f"a yearly mean of {np.nanmean(ghi):.3g} W/m^2, {clearness:.2g} of that outside the atmosphere{slip}"
    expected = f"{low:g} to {high:g} of that outside the atmosphere"
    return [Doubt("units", f"{raw.name}, ghi", found, expected, explains=bool(fits))]
