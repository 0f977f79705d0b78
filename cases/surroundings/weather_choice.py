"""The outdoor weather that a case asks for: which record or climate, and what is made of it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Literal

import numpy as np
from pydantic import model_validator

from stemwall.cases.inputs.field_types import Strict, described
from stemwall.cases.inputs.quantities import (
    CalendarYear,
    GapHours,
    MonthRain,
    RainFactor,
    Rainfall,
    Seed,
    Warming,
)
from stemwall.weather.climates import NAMES
from stemwall.weather.doubts import Slip
from stemwall.weather.monthly_rain import NAMES as MONTHS
from stemwall.weather.monthly_rain import with_monthly_rain
from stemwall.weather.read import read_weather
from stemwall.weather.records import completed, is_whole, one_year
from stemwall.weather.shift import shifted
from stemwall.weather.synthetic import synthetic_rain
from stemwall.weather.year import WeatherYear

TOTAL = "its rain; by default as it falls in the file"


class MonthlyRain(Strict):
    """Totals of rain, snow as water, that months are brought to."""

    january: MonthRain | None = described(None, TOTAL)
    february: MonthRain | None = described(None, TOTAL)
    march: MonthRain | None = described(None, TOTAL)
    april: MonthRain | None = described(None, TOTAL)
    may: MonthRain | None = described(None, TOTAL)
    june: MonthRain | None = described(None, TOTAL)
    july: MonthRain | None = described(None, TOTAL)
    august: MonthRain | None = described(None, TOTAL)
    september: MonthRain | None = described(None, TOTAL)
    october: MonthRain | None = described(None, TOTAL)
    november: MonthRain | None = described(None, TOTAL)
    december: MonthRain | None = described(None, TOTAL)

    @property
    def totals(self) -> dict[int, float]:
        """Stated totals [mm] by month, 1..12."""
        stated = {number: getattr(self, name.lower()) for number, name in enumerate(MONTHS, start=1)}
        return {number: total for number, total in stated.items() if total is not None}


class WeatherChoice(Strict):
    """The outdoor weather."""

    file: str = described(
        "default",
        'a climate by name: "default" or "mixed-humid" (Greensboro, NC), "cold-marine" (Sand Point, AK), "hot-humid" '
        '(Miami, FL), "cold-continental" and "hot-dry" (both invented, for demonstrations); or a weather file (EPW, '
        "TMY3, TMY2, CSV, netCDF), relative to the case file",
    )
    year: CalendarYear | None = described(
        None, "the calendar year to take out of a record of several; by default all, in order"
    )
    rest: str | None = described(
        None,
        "climate by name, or file of whole years, that stands in for dates that a record does not have; by default the "
        "record's own first year",
    )
    rain: Literal["file", "synthetic", "none"] = described(
        "file", '"file" as observed; "synthetic" made to fit annual_rain, for files without rain; "none"'
    )
    annual_rain: Rainfall = described(
        "900 mm", 'yearly rain for rain = "synthetic"', "temperate climates; common practice, no source"
    )
    monthly_rain: MonthlyRain = described(
        MonthlyRain(),
        "totals that months are brought to: in the hours of the gauge, else in those of the weather codes, else on "
        "humid days, an invented rule",
    )
    rain_gaps: Literal["dry", "codes", "month"] = described(
        "dry",
        'hours without a report of rain count as "dry", as their weather "codes" say, or as wet as the reported hours '
        "of their month; more than 10 % of them are refused in any case",
    )
    seed: Seed = described(1, "seed of the synthetic rain", "any whole number")
    fill_gaps: GapHours = described(
        0, "longest gap in the file that may be filled, in hours", "0: none is filled silently"
    )
    warmer: Warming = described(
        0.0,
        "how much warmer the air is all the time, negative for colder, at the same relative humidity",
        "0: as in the file",
    )
    rain_factor: RainFactor = described(1.0, "factor on the rain of every hour", "1: as in the file")
    accept: tuple[Slip, ...] = described(
        (),
        'kinds of slips that the file is known not to have, though it looks so: "clock", "units", "stuck", "zeros", '
        '"rain"; they are only spoken of then',
    )

    @model_validator(mode="after")
    def _one_rain(self) -> WeatherChoice:
        if self.rain == "none" and self.monthly_rain.totals:
            raise ValueError('rain = "none", or monthly_rain')
        return self


def choose_weather(
    choice: WeatherChoice, folder: Path = Path(), run: tuple[datetime, int] | None = None
) -> WeatherYear:
    """Return the weather that a case asks for, whole years of it.

    Parameters
    ----------
    choice : WeatherChoice
        What it asks for.
    folder : Path
        Where its files are.
    run : (datetime, int), optional
        First hour and hours of the run, to say if a record does not have its dates.

    Raises
    ------
    stemwall.weather.errors.WeatherError
        With every problem of the files.
    """
    totals = choice.monthly_rain.totals
    unused = () if choice.rain == "file" and len(totals) < 12 else ("rain",)
    accept = (*choice.accept, *unused)
    year = read_weather(
        place_of(choice.file, folder), fill_gaps=choice.fill_gaps, accept=accept, rain_gaps=choice.rain_gaps
    )
    if choice.year is not None:
        year = one_year(year, choice.year)
    if not is_whole(year):
        rest = None if choice.rest is None else read_weather(place_of(choice.rest, folder))
        year = completed(year, rest, run)
    if choice.rain == "synthetic":
        year = synthetic_rain(year, annual_total=choice.annual_rain, seed=choice.seed)
    if choice.rain == "none":
        year = year.with_rain(np.zeros(year.hours), "none", "rain left out by the case")
    if totals:
        year = with_monthly_rain(year, totals, "the case", seed=choice.seed)
    return shifted(year, warmer=choice.warmer, rain=choice.rain_factor)


def place_of(name: str, folder: Path) -> str:
    """The name of a climate as it is, else the file in its folder."""
    return name if name in NAMES else str(folder / name)
