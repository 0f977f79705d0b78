"""Invented years of kinds of climate for which no record is at hand: for demonstrations and tests, not for design.

A year is made from the few numbers of a `Recipe`, by rules that keep the size of seasons, days and weather systems:

- daily mean temperature: a yearly cosine, coldest on 20 January or, south of the equator, 20 July, and systems that
  fade by a factor `PERSISTENCE` from one day to the next (a first-order autoregression);
- clearness of each day, the share of the irradiance outside the atmosphere: around its mean, fading likewise;
- hours of a day: a cosine that is warmest at 15 h, wider on clear days; the daily means are joined linearly;
- humidity: one dew point for each day, below its coldest hour by a depression that grows with the clearness;
- sun: the day's clearness times the irradiance outside the atmosphere; direct and diffuse as for any file without;
- cloud: tenths from the clearness, 10 at 0.2 and 0 at 0.75, linear;
- wind: a lognormal autoregression from hour to hour around its mean, its direction one around the prevailing one;
- precipitation: stated monthly totals on humid days, see `monthly_rain`; it is snow where it is cold.

Every number is invented or a plain choice; draws are seeded, so a recipe always gives the same year.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pvlib

from stemwall.weather.build import build_year
from stemwall.weather.clock import Sun
from stemwall.weather.doubts import WARNING
from stemwall.weather.moistair import FloatArray, saturation_pressure_over_water
from stemwall.weather.monthly_rain import with_monthly_rain
from stemwall.weather.unit_conversion import NOMINAL_YEAR, RawWeather, Site
from stemwall.weather.year import WeatherYear

PERSISTENCE = 0.7
"""Share of a weather system's departure that is left a day later [-]."""

COLDEST_DAY = 20.0
"""Day of the year on which the yearly cosine is lowest [d]."""

WARMEST_HOUR = 15.0

OVERCAST, CLEAR = 0.2, 0.75
"""Clearness of a day under full cloud and under none [-]."""

HOURLY_WIND, WIND_SPREAD = 0.9, 0.5
"""Share of a departure of the wind that is left an hour later, and its spread as a logarithm [-]."""

NOTE = f"{WARNING}weather: an invented year, not a measured one; expected a record of the place for any decision"


@dataclass(frozen=True)
class Recipe:
    """What an invented year is made from.

    Parameters
    ----------
    name : str
        Of the kind of climate.
    latitude, elevation : float
        Of the invented place [deg], [m]; it lies on the meridian of its time zone.
    mean, swing : float
        Yearly mean temperature [°C] and half the difference of warmest and coldest month [K].
    systems : float
        Standard deviation of daily means around the season [K].
    day : float
        Half the difference of warmest and coldest hour of a day of mean clearness [K].
    depression : float
        Coldest hour less dew point on a day of mean clearness [K].
    clearness : float
        Mean share of the irradiance outside the atmosphere that arrives [-].
    wind, direction : float
        Mean speed [m/s] and prevailing direction [deg].
    rain : tuple of float
        Precipitation of each month [mm].
    seed : int
        Of all draws.
    """

    name: str
    latitude: float
    elevation: float
    mean: float
    swing: float
    systems: float
    day: float
    depression: float
    clearness: float
    wind: float
    direction: float
    rain: tuple[float, ...]
    seed: int = 1


RECIPES = {
    "cold-continental": Recipe(
        "cold-continental", latitude=48.0, elevation=300.0, mean=4.0, swing=17.5, systems=4.5, day=5.0,
        depression=2.0, clearness=0.5, wind=4.5, direction=300.0,
        rain=(14.0, 12.0, 20.0, 35.0, 65.0, 90.0, 80.0, 65.0, 55.0, 40.0, 18.0, 14.0),
    ),
    "hot-dry": Recipe(
        "hot-dry", latitude=33.0, elevation=350.0, mean=22.5, swing=10.5, systems=3.0, day=7.0,
        depression=12.0, clearness=0.65, wind=2.8, direction=270.0,
        rain=(20.0, 22.0, 23.0, 7.0, 3.0, 1.0, 25.0, 24.0, 17.0, 16.0, 15.0, 23.0),
    ),
}  # fmt: skip
"""The invented climates by name; every number invented, of the size of such places."""

UTC_OFFSET = -6.0
"""Time zone of the invented places [h]."""


def invented_year(recipe: Recipe) -> WeatherYear:
    """Return the year of a recipe, 8760 h of the nominal year; checked like any file."""
    index = pd.date_range(f"{NOMINAL_YEAR}-01-01", periods=8760, freq="h")
    site = Site(f"invented, {recipe.name}", recipe.latitude, 15 * UTC_OFFSET, recipe.elevation, UTC_OFFSET)
    draw = np.random.default_rng(recipe.seed)
    clear = np.clip(recipe.clearness + 0.15 * _fading(draw, 365, PERSISTENCE), 0.1, CLEAR)
    relative = clear / recipe.clearness
    season = np.cos(2 * np.pi * (np.arange(365) + 0.5 - COLDEST_DAY) / 365) * np.sign(recipe.latitude)
    daily = recipe.mean - recipe.swing * season + recipe.systems * _fading(draw, 365, PERSISTENCE)
    width = recipe.day * relative
    hour = index.hour.to_numpy() + 0.5
    course = np.cos(2 * np.pi * (hour - WARMEST_HOUR) / 24)
    temperature = _joined(daily) + _joined(width) * course
    dew = _joined(daily - width - recipe.depression * relative**2)
    pressure = saturation_pressure_over_water(dew)
    humidity = np.minimum(pressure / saturation_pressure_over_water(temperature), 1.0)
    sun = Sun.of(index, site)
    outside = np.asarray(pvlib.irradiance.get_extra_radiation(index.day_of_year.to_numpy())) * sun.sine
    cloud = np.clip(10 * (CLEAR - clear) / (CLEAR - OVERCAST), 0.0, 10.0)
    gusts = WIND_SPREAD * _fading(draw, 8760, HOURLY_WIND)
    turned = recipe.direction + 60.0 * _fading(draw, 8760, HOURLY_WIND)
    frame = pd.DataFrame(
        {
            "temperature": temperature,
            "relative_humidity": humidity,
            "wind_speed": recipe.wind * np.exp(gusts - WIND_SPREAD**2 / 2),
            "wind_direction": turned % 360.0,
            "ghi": np.repeat(clear, 24) * outside,
            "cloud_cover": np.repeat(cloud, 24),
        },
        index=index,
    )
    raw = RawWeather(
        name=f"invented {recipe.name}",
        site=site,
        frame=frame,
        rows=np.arange(1, 8761, dtype=np.int64),
        source="invented",
        provenance=f"INVENTED: {recipe}",
        typical=True,
        notes=[NOTE],
        stated={"cloud_cover"},
    )
    totals = dict(enumerate(recipe.rain, start=1))
    return with_monthly_rain(build_year(raw), totals, "an invented climate", seed=recipe.seed)


def _fading(draw: np.random.Generator, count: int, share: float) -> FloatArray:
    """First-order autoregression of unit variance, shape (count,) [-]."""
    steps = draw.standard_normal(count)
    steps[1:] *= np.sqrt(1 - share**2)
    for i in range(1, count):
        steps[i] += share * steps[i - 1]
    return np.asarray(steps)


def _joined(daily: FloatArray) -> FloatArray:
    """Daily values at noon joined linearly, the last day with the first, shape (d,) to (24 d,)."""
    n = daily.size
    hours = (np.arange(24 * n) + 0.5) / 24 - 0.5
    return np.asarray(np.interp(hours, np.arange(-1, n + 1), np.concatenate((daily[-1:], daily, daily[:1]))))
