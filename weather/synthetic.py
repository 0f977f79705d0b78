"""Synthetic hourly rain from weather codes (`rain_codes`), for years whose rain column is empty or has holes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.moistair import FloatArray
from stemwall.weather.rain_codes import hourly_rates
from stemwall.weather.year import WeatherYear

ORIGIN = "synthetic from present-weather codes"


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
