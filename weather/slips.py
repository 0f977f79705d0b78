"""Columns in another unit than they are said to be in, by what stands in no weather of the place.

The latitudes of `WARMEST` and `COLDEST` are joined by straight lines.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from stemwall.weather.columns import COLUMNS
from stemwall.weather.doubts import Doubt
from stemwall.weather.moistair import FloatArray
from stemwall.weather.unit_conversion import RawWeather, Site

WARMEST = ((0.0, 25.0, 37.0, 47.0, 61.0, 72.0, 90.0), (36.0, 36.0, 29.0, 18.0, 12.0, 7.0, 0.0))
"""Highest yearly mean temperature by distance from the equator [deg], [°C]: some 3 K above the warmest places there
(Dallol 34.5 at 14°, Death Valley 25 at 36°, Bordeaux 14 at 45°, Bergen 8 at 60°; from memory, to be checked)."""

COLDEST = ((0.0, 30.0, 45.0, 55.0, 65.0, 90.0), (18.0, 5.0, -6.0, -12.0, -22.0, -45.0))
"""Lowest one, brought to sea level by 6.5 K/km: some 3 K below the coldest places there (Mohe -4 at 53°, Oymyakon -16
at 63°, Vostok -33 at 78°; from memory, to be checked)."""

LAPSE = 0.0065
"""Fall of temperature with height in the standard atmosphere, ISO 2533 [K/m]."""

PRESSURE_BAND = 0.1
"""Largest distance of the mean pressure from that of the standard atmosphere at the station's height [-]; ten per cent
are 850 m."""

WIND, WINDIEST = (0.4, 8.0), 12.0
"""Yearly mean wind at 10 m beyond which it is said, and beyond which a record is refused [m/s]: sheltered stations
reach 1, windy coasts 8, the windiest 10 (from memory, to be checked)."""

HUMIDITY = (0.05, 0.3)
"""The mean of a year and the largest hour are above this [-]: the driest deserts have 0.2 on average, and dew (from
memory, to be checked)."""

RAIN = (2.0, 13_000.0)
"""Yearly rain [mm]; the wettest place on record has 11,900 (World Meteorological Organization, world weather extremes
archive; from memory, to be checked)."""

SEASON, MONTHS = 30.0, 12
"""How far the mean of some months may lie beyond that of any year [K], half the yearly swing of the most continental
places (from memory, to be checked); and how much more rain they may have, all of a year in one month [-]."""

OTHER_UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "temperature": {"K": (1.0, -273.15), "degF": (1 / 1.8, -32 / 1.8), "degC, converted from degF": (1.8, 32.0)},
    "relative_humidity": {"a fraction from 0 to 1, not %": (100.0, 0.0), "%": (0.01, 0.0)},
    "pressure": {"hPa": (100.0, 0.0), "kPa": (1000.0, 0.0), "inHg": (3386.39, 0.0), "mmHg": (133.322, 0.0)},
    "wind_speed": {"km/h": (1 / 3.6, 0.0), "kt": (0.514444, 0.0), "mph": (0.44704, 0.0)},
    "rain": {"inch/h": (25.4, 0.0), "m/h": (1000.0, 0.0), "a running total": (0.0, 1e-9)},
}
"""Units that a quantity is often given in: factor and offset to the unit of `columns.COLUMNS`."""

TRIMMED = 0.005
"""Share of the readings at either end that is left aside: single errors have messages of their own [-]."""

DEW_ABOVE = 0.5
"""Dew point above the air temperature that rounding of both, and sensors in fog, explain [K]."""

DEW_SHARE = 0.01
"""Share of hours in which it may be more [-]; common practice, no source."""


def unit_doubts(raw: RawWeather) -> list[Doubt]:
    """Doubts about the units of the columns, each with the unit that the values look like."""
    doubts = []
    for name, explained in PLAUSIBLE.items():
        if name not in raw.frame:
            continue
        values = raw.frame[name].to_numpy(dtype=np.float64)
        values = values[np.isfinite(values)]
        column = COLUMNS[name]
        values = np.clip(values, column.low, column.high) if name == "rain" else _middle(values)
        if not values.any():
            continue
        expected = explained(values, raw)
        if expected is None:
            continue
        fits = [
            unit
            for unit, (factor, offset) in OTHER_UNITS[name].items()
            if factor and explained(values * factor + offset, raw) is None
        ]
        if name == "rain" and np.mean(np.diff(values) >= 0) > 0.99:
            fits = ["a running total"]
        slip = f"; the values look like {' or '.join(fits)}" if fits else ""
        unit = "" if column.unit == "1" else f" {column.unit}"
        found = f"values from {values.min():.4g} to {values.max():.4g}{unit}, mean {values.mean():.4g}{slip}"
        possible = bool(values.min() >= column.low and values.max() <= column.high)
        grave = not possible or name in REFUSED or (name == "wind_speed" and values.mean() > WINDIEST)
        doubts.append(Doubt("units", f"{raw.name}, {name}", found, expected, grave, explains=bool(fits)))
    return doubts


def _middle(values: FloatArray) -> FloatArray:
    """Values without the ends of their distribution, where single errors stand."""
    if not values.size:
        return values
    low, high = np.quantile(values, [TRIMMED, 1 - TRIMMED])
    return np.asarray(values[(values >= low) & (values <= high)])


def _temperature(values: FloatArray, raw: RawWeather) -> str | None:
    warm, cold = bounds_of_mean(raw.site)
    if _is_part(raw):
        warm, cold = warm + SEASON, cold - SEASON
    column = COLUMNS["temperature"]
    mean = float(values.mean())
    if cold <= mean <= warm and values.min() >= column.low and values.max() <= column.high:
        return None
    place = f"at latitude {raw.site.latitude:g}°, {raw.site.elevation:g} m"
    return f"a yearly mean of {cold:.0f} to {warm:.0f} degC {place}, hours of {column.low:g} to {column.high:g}"


def bounds_of_mean(site: Site) -> tuple[float, float]:
    """Highest and lowest yearly mean temperature that a place can have [°C]."""
    distance = abs(site.latitude)
    cold = np.interp(distance, *COLDEST) - LAPSE * max(site.elevation, 0.0)
    return float(np.interp(distance, *WARMEST)), float(cold)


def _is_part(raw: RawWeather) -> bool:
    """Whether a record is shorter than a year: its mean is one of some seasons."""
    return len(raw.frame) < 8760


def _humidity(values: FloatArray, raw: RawWeather) -> str | None:
    mean, largest = HUMIDITY
    if values.mean() >= mean and largest <= values.max() <= COLUMNS["relative_humidity"].high:
        return None
    return f"0 to {COLUMNS['relative_humidity'].high:g}, its mean above {mean:g} and its largest above {largest:g}"


def _pressure(values: FloatArray, raw: RawWeather) -> str | None:
    import pvlib

    standard = float(pvlib.atmosphere.alt2pres(raw.site.elevation))
    if abs(values.mean() / standard - 1) <= PRESSURE_BAND:
        return None
    return f"a mean within {PRESSURE_BAND:.0%} of {standard:.0f} Pa, the standard one at {raw.site.elevation:g} m"


def _wind(values: FloatArray, raw: RawWeather) -> str | None:
    low, high = WIND
    return None if low <= values.mean() <= high else f"a yearly mean of {low:g} to {high:g} m/s"


def _rain(values: FloatArray, raw: RawWeather) -> str | None:
    low, high = (0.0, MONTHS * RAIN[1]) if _is_part(raw) else RAIN
    total = float(values.mean()) * 8760
    return None if low <= total <= high else f"{low:g} to {high:g} mm a year, not {total:.3g}"


PLAUSIBLE: dict[str, Callable[[FloatArray, RawWeather], str | None]] = {
    "temperature": _temperature,
    "relative_humidity": _humidity,
    "pressure": _pressure,
    "wind_speed": _wind,
    "rain": _rain,
}
"""What would be expected instead of these values; None if they can be."""

REFUSED = ("temperature", "relative_humidity", "rain")
"""Columns that refuse a record even if each of their hours is possible; the others are said then."""


def dew_doubts(raw: RawWeather) -> list[Doubt]:
    """Doubt about a dew point above the air temperature."""
    if not {"dew_point", "temperature"} <= set(raw.frame.columns):
        return []
    above = (raw.frame["dew_point"] - raw.frame["temperature"]).to_numpy(dtype=np.float64)
    share = float(np.mean(above > DEW_ABOVE))
    if share <= DEW_SHARE:
        return []
    found = f"a dew point above the air temperature in {share:.0%} of the hours, by up to {np.nanmax(above):.1f} K"
    expected = f"more than {DEW_ABOVE:g} K in at most {DEW_SHARE:.0%} of the hours; units or columns mixed up?"
    return [Doubt("units", f"{raw.name}, dew_point", found, expected)]
