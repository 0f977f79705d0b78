"""Synthetic hourly rain from present-weather codes, for years whose rain column is empty or has holes.

The codes are those of WMO code table 4677 (present weather reported from a manned station, Manual on Codes,
WMO-No. 306; from memory, to be checked). The rates are the limits of slight, moderate and heavy in the WMO
Guide to Instruments, WMO-No. 8 (rain < 2.5, 2.5-10, 10-50 mm/h; drizzle < 0.1, 0.1-0.5, >= 0.5 mm/h; snow <
1, 1-5, >= 5 mm/h water; from memory, to be checked). Within its class the rate of an hour is drawn
log-uniformly, so the total is a guess unless it is stated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.moistair import FloatArray
from stemwall.weather.year import WeatherYear

ORIGIN = "synthetic from present-weather codes"

SLIGHT_RAIN, MODERATE_RAIN, HEAVY_RAIN = (0.25, 2.5), (2.5, 10.0), (10.0, 50.0)
SLIGHT_DRIZZLE, MODERATE_DRIZZLE, HEAVY_DRIZZLE = (0.02, 0.1), (0.1, 0.5), (0.5, 1.0)

Rate = tuple[float, float]

RATES: dict[int, Rate] = {}
"""Lowest and highest rate [mm/h] of each code with liquid precipitation at the station during the hour."""


def _assign(codes: Iterable[int], rate: Rate) -> None:
    """Give codes a class of rates."""
    RATES.update(dict.fromkeys(codes, rate))


_assign((50, 51, 56), SLIGHT_DRIZZLE)
_assign((52, 53, 57), MODERATE_DRIZZLE)
_assign((54, 55), HEAVY_DRIZZLE)
_assign((58, 60, 61, 66, 68, 80, 83, 91), SLIGHT_RAIN)
_assign((59, 62, 63, 67, 69, 81, 84, 92, 95), MODERATE_RAIN)
_assign((64, 65, 82, 97), HEAVY_RAIN)

SOLID = frozenset((*range(70, 80), *range(85, 91), 93, 94, 96, 99))
"""Codes of snow, ice pellets and hail, which bring no liquid water in the hour itself and get no rain
here."""


def synthetic_rain(
    year: WeatherYear,
    *,
    annual_total: float | None = None,
    months: Sequence[int] | None = None,
    seed: int = 1,
) -> WeatherYear:
    """Copy of a year with rain made from its present-weather codes.

    Parameters
    ----------
    year : WeatherYear
        With present-weather codes.
    annual_total : float, optional
        Rain of the year to which the synthetic hours are scaled [mm/a]; with `months`, the total that the
        year then has.
    months : sequence of int, optional
        Months to replace, 1..12; the others keep their rain. All months if left out.
    seed : int
        Of the random draws; equal seeds give equal rain.

    Raises
    ------
    WeatherError
        If there are no codes, none of them means rain, or the total is out of reach.

    Notes
    -----
    An hour coded as fog, mist or a thunderstorm without precipitation stays dry, also where a rain gauge
    caught something: rain that falls with fog is often coded as fog. Wet hours are then too few and, scaled
    to a total, too intense.
    """
    if year.present_weather is None:
        raise WeatherError([Problem(year.station, "no present-weather codes", "a year with codes of WMO table 4677")])
    chosen = np.isin(year.months, np.arange(1, 13) if months is None else np.asarray(months))
    kept = np.zeros(year.hours) if year.rain is None else np.where(chosen, 0.0, year.rain)
    drawn = np.where(chosen, hourly_rates(year.present_weather, seed), 0.0)
    factor = 1.0 if annual_total is None else _factor(year, drawn, kept, annual_total)
    wet = int(np.count_nonzero(drawn))
    where = "all months" if months is None else "months " + ", ".join(str(m) for m in months)
    note = f"SYNTHETIC RAIN, {where}: {wet} h from weather codes, seed {seed}, rates times {factor:.3f}"
    origin = ORIGIN if months is None else f"{year.rain_origin}, {where} {ORIGIN}"
    return year.with_rain(kept + factor * drawn, origin, note)


def hourly_rates(codes: NDArray[np.int64], seed: int) -> FloatArray:
    """Rain rate of each hour [mm/h], shape (n,), drawn log-uniformly within the class of its code; 0 without
    rain."""
    rates = np.zeros(codes.size)
    share = np.random.default_rng(seed).random(codes.size)
    for code in np.unique(codes):
        if int(code) in RATES:
            low, high = RATES[int(code)]
            here = codes == code
            rates[here] = low * (high / low) ** share[here]
    return rates


def scaled_rain(year: WeatherYear, annual_total: float) -> WeatherYear:
    """Copy of a year whose rain is multiplied to a stated annual total [mm/a].

    Raises
    ------
    WeatherError
        If the year has no rain to scale.
    """
    total = year.annual_rain()
    if year.rain is None or not total:
        raise WeatherError([Problem(year.station, "no rain", "a year with rain, or synthetic_rain")])
    factor = annual_total / total
    note = f"rain times {factor:.3f}, from {total:.0f} to {annual_total:.0f} mm in 8760 h"
    return year.with_rain(year.rain * factor, f"{year.rain_origin}, scaled", note)


def _factor(year: WeatherYear, drawn: FloatArray, kept: FloatArray, annual_total: float) -> float:
    """Multiplier of the drawn rates that brings the year to its total [-]."""
    wanted = annual_total * year.hours / 8760 - kept.sum()
    if drawn.sum() == 0 or wanted < 0:
        found = f"{np.count_nonzero(drawn)} h with rain codes, {kept.sum():.0f} mm kept from the other months"
        raise WeatherError([Problem(year.station, found, f"rain codes to carry a total of {annual_total:g} mm/a")])
    return float(wanted / drawn.sum())
