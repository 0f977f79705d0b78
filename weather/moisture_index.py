"""Years of a record ranked by two published moisture indices, to choose a design year.

References
----------
.. [1] Scheffer: A climate index for estimating potential for decay in wood structures above ground, Forest Products
   Journal 21 (1971) no. 10, 25 (equation from memory, to be checked).
.. [2] Cornick, Dalgliesh, Said, Djebbar, Tariku, Kumaran: Report from task 4 of MEWS project: environmental conditions
   final report, National Research Council of Canada, research report 113 (2002) (equation from memory, to be checked).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stemwall.weather.moistair import FloatArray, saturation_pressure_over_water
from stemwall.weather.records import is_whole, one_year
from stemwall.weather.year import WeatherYear

WET_DAY = 0.254
"""Rain from which on a day counts as one with rain in Scheffer's index [mm]: a hundredth of an inch."""

VAPOUR_RATIO = 0.62198
"""Molar mass of water over that of dry air [-]."""

DESIGN_RANK = 0.1
"""Share of the years that are wetter than the design year or as wet [-]: one in ten, common practice, no source."""


@dataclass(frozen=True)
class YearIndex:
    """Moisture indices of one calendar year.

    Parameters
    ----------
    year : int
    decay : float
        Scheffer's index [-]: below 35 little, above 65 severe decay.
    rain : float
        Wetting index: rain of the year [mm].
    drying : float
        Drying index: sum of saturation less actual humidity ratio over the hours of the year [kg h/kg].
    moisture : float
        Moisture index: root of the squared wetting index and of the squared rest of the drying index to one, both
        brought to 0..1 over the years that are compared [-]; nan of a single year.
    """

    year: int
    decay: float
    rain: float
    drying: float
    moisture: float


def decay_index(year: WeatherYear) -> float:
    """Scheffer's index of a year [1]_: sum over months of (T - 2)(D - 3)/16.7, terms below zero left out.

    T is the monthly mean temperature [°C], D the number of days with 0.01 in of rain or more.
    """
    if year.rain is None:
        return float("nan")
    day = year.times.astype("datetime64[D]")
    days, which = np.unique(day, return_inverse=True)
    wet = np.bincount(which, year.rain) >= WET_DAY
    month = days.astype("datetime64[M]").astype(np.int64) % 12 + 1
    count = np.bincount(month, wet, minlength=13)[1:]
    warm = year.monthly_means()["temperature"]
    return float(np.nansum(np.maximum(warm - 2.0, 0.0) * np.maximum(count - 3.0, 0.0)) / 16.7)


def drying_index(year: WeatherYear) -> float:
    """Sum of saturation less actual humidity ratio over the hours [2]_ [kg h/kg]."""
    full = _ratio(saturation_pressure_over_water(year.temperature), year.pressure)
    return float(np.sum(full - _ratio(year.vapour_pressure, year.pressure)))


def _ratio(vapour: FloatArray, pressure: FloatArray) -> FloatArray:
    return np.asarray(VAPOUR_RATIO * vapour / (pressure - vapour))


def ranked(record: WeatherYear) -> list[YearIndex]:
    """Whole calendar years of a record, the wettest by the moisture index first; a single one without that index."""
    numbers = np.unique(record.times.astype("datetime64[Y]").astype(np.int64) + 1970, return_counts=True)
    years = [one_year(record, int(n)) for n, hours in zip(*numbers, strict=True) if hours >= 8760]
    years = [year for year in years if is_whole(year)]
    rain = np.array([np.nan if year.rain is None else year.rain.sum() for year in years])
    drying = np.array([drying_index(year) for year in years])
    moisture = np.hypot(_of_one(rain), 1 - _of_one(drying)) if len(years) > 1 else np.full(len(years), np.nan)
    table = [
        YearIndex(year.start.year, decay_index(year), float(r), float(d), float(m))
        for year, r, d, m in zip(years, rain, drying, moisture, strict=True)
    ]
    return sorted(table, key=lambda one: -one.moisture if np.isfinite(one.moisture) else -one.decay)


def _of_one(values: FloatArray) -> FloatArray:
    """Values brought to 0..1 over their range; equal ones are all 0."""
    span = np.ptp(values)
    return np.asarray((values - values.min()) / span if span > 0 else np.zeros(values.size))


def design_year(table: list[YearIndex]) -> YearIndex:
    """The year of a ranked table that one in ten years is as wet as, or wetter."""
    return table[max(int(np.ceil(DESIGN_RANK * len(table))) - 1, 0)]
