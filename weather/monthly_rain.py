"""Rain brought to stated monthly totals: the hours in which it falls are those of the gauge where it caught some.

A month whose gauge caught nothing gets its hours from the present-weather codes of the file, see `synthetic`.  Where
these tell of no rain either, it falls on the most humid days: as many as it takes at `WET_DAY` each, picked by their
mean humidity with some chance, in one spell of `SPELL` hours, with rates drawn log-uniformly from `SPELL_RATES`.  That
last rule is invented; it keeps total, season and the tie to humid air, and nothing else of real rain.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.moistair import FloatArray
from stemwall.weather.rain_codes import hourly_rates
from stemwall.weather.year import WeatherYear

WET_DAY = 9.0
"""Rain of a wet day, on average [mm]: some 8.6 in the embedded year, 834 mm on 97 days."""

SPELL = 6
"""Hours of one spell of rain [h]; a plain choice, 3.7 wet hours on a wet day of the embedded year."""

SPELL_RATES = (0.25, 10.0)
"""Lowest and highest rate within a spell before it is scaled [mm/h]: slight to moderate, see `synthetic`."""

CHANCE = 0.05
"""Scale of the chance by which days are picked, beside their relative humidity [-]; a plain choice."""

NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
         "December")  # fmt: skip


def monthly_sums(year: WeatherYear) -> FloatArray:
    """Rain by calendar month of a year, a mean over years of several, shape (12,) [mm]; nan without rain."""
    if year.rain is None:
        return np.full(12, np.nan)
    sums = np.bincount(year.months, year.rain, minlength=13)[1:]
    share = np.array([_months_held(year, year.months == month) for month in range(1, 13)])
    return np.asarray(np.divide(sums, share, out=np.full(12, np.nan), where=share > 0))


def with_monthly_rain(year: WeatherYear, totals: Mapping[int, float], whose: str, *, seed: int = 1) -> WeatherYear:
    """Copy of a year whose rain has stated totals in stated months.

    Parameters
    ----------
    year : WeatherYear
        Any; months that are not stated keep their rain.
    totals : mapping
        Rain [mm] by month, 1..12; of several years each.
    whose : str
        Where the totals come from, for the note.
    seed : int
        Of the random draws where the gauge says nothing; equal seeds give equal rain.

    Raises
    ------
    WeatherError
        If a total is negative or no number, or a month is none.

    Notes
    -----
    The origin names the months that were changed, and how.
    """
    wrong = [f"{total} in month {month}" for month, total in totals.items() if not 0 <= total < 1e4 or month not in
             range(1, 13)]  # fmt: skip
    if wrong:
        raise WeatherError([Problem("monthly rain", ", ".join(wrong), "totals from 0 to 9999 mm of months 1 to 12")])
    rain = np.zeros(year.hours) if year.rain is None else np.array(year.rain)
    how: dict[str, list[str]] = {}
    for month in sorted(totals):
        here = year.months == month
        if not here.any():
            continue
        wanted = totals[month] * _months_held(year, here)
        shape, rule = _shape(year, np.where(here, rain, 0.0), here, wanted, seed)
        rain[here] = shape[here] * (wanted / shape.sum()) if wanted else 0.0
        how.setdefault(rule, []).append(f"{NAMES[month - 1]} {totals[month]:.0f} mm")
    if not how:
        return year
    said = "; ".join(f"{rule}: {', '.join(months)}" for rule, months in how.items())
    changed = "all months" if len(totals) == 12 else ", ".join(NAMES[month - 1] for month in sorted(totals))
    before = "" if len(totals) == 12 or year.rain is None else f"{year.rain_origin}; "
    origin = f"{before}{changed} brought to stated totals"
    dry = "rain: none in the file"  # no longer so
    year = replace(year, notes=tuple(note for note in year.notes if dry not in note))
    return year.with_rain(rain, origin, f"rain brought to the totals of {whose}; {said}")


def _shape(
    year: WeatherYear, gauged: FloatArray, here: NDArray[np.bool_], total: float, seed: int
) -> tuple[FloatArray, str]:
    """Hours of a month in which its rain falls, with rates still to be scaled, and the rule that told them."""
    if gauged.sum() > 0:
        return gauged, "in the hours of the gauge"
    if year.present_weather is not None:
        coded = np.where(here, hourly_rates(year.present_weather, seed), 0.0)
        if coded.sum() > 0:
            return coded, f"in the hours of the weather codes, seed {seed}"
    return _on_humid_days(year, here, total, seed), f"on the most humid days, an invented rule, seed {seed}"


def _on_humid_days(year: WeatherYear, here: NDArray[np.bool_], total: float, seed: int) -> FloatArray:
    """Spells of rain on humid days, before scaling: enough for a total [mm] at `WET_DAY` each."""
    hours = np.flatnonzero(here)
    draw = np.random.default_rng((seed, int(year.months[hours[0]])))
    day = year.times[hours].astype("datetime64[D]")
    days, which = np.unique(day, return_inverse=True)
    mean = np.bincount(which, year.relative_humidity[hours]) / np.bincount(which)
    order = np.argsort(-(mean + CHANCE * draw.gumbel(size=days.size)))
    wet = order[: max(1, round(total / WET_DAY))]
    rain = np.zeros(year.hours)
    low, high = SPELL_RATES
    for one in wet.tolist():
        of_day = hours[which == one]
        first = int(draw.integers(0, max(of_day.size - SPELL, 0) + 1))
        spell = of_day[first : first + SPELL]
        rain[spell] = low * (high / low) ** draw.random(spell.size)
    return rain


def _months_held(year: WeatherYear, here: NDArray[np.bool_]) -> float:
    """How many whole months these hours are [-]: hours of each calendar month over those that it has."""
    months, hours = np.unique(year.times[here].astype("datetime64[M]"), return_counts=True)
    days = (months + 1).astype("datetime64[D]") - months.astype("datetime64[D]")
    return float(np.sum(hours / (24.0 * days.astype(np.int64))))
