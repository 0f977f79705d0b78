"""The outdoor climate of a section: air, sun, sky, wind and rain on faces, by the direction they look.

The exterior face of the wall looks left; "up" is the ground.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.case import Site, WeatherChoice
from stemwall.solver.climate import Climate, Facing, FacingLoads
from stemwall.weather.film import outdoor_convection
from stemwall.weather.moistair import saturation_pressure
from stemwall.weather.rain import ground_rain, wall_rain_ashrae
from stemwall.weather.read import read_weather
from stemwall.weather.sky import incoming_longwave
from stemwall.weather.solar import plane_irradiance
from stemwall.weather.synthetic import synthetic_rain
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

KEY = "outdoors"
SECONDS_PER_HOUR = 3600.0


def choose_weather(choice: WeatherChoice, place: str) -> WeatherYear:
    """Return the weather that a case asks for; ``place`` is "default" or the resolved file.

    Raises
    ------
    stemwall.weather.errors.WeatherError
        With every problem of the file.
    """
    year = read_weather(place, fill_gaps=choice.fill_gaps)
    if choice.rain == "synthetic":
        return synthetic_rain(year, annual_total=choice.annual_rain, seed=choice.seed)
    if choice.rain == "none":
        return year.with_rain(np.zeros(year.hours), "none", "rain left out by the case")
    return year


def outdoors(year: WeatherYear, site: Site, start: datetime, hours: int) -> Climate:
    """Return the outdoor climate of a run.

    Parameters
    ----------
    year : WeatherYear
        Whole years of weather.
    site : Site
        Orientation, albedo, wind and rain factors.
    start : datetime
        First hour.
    hours : int
        Length [h].
    """
    index = year.hour_index(hours, start)
    facings: dict[Facing, FacingLoads] = {
        "left": _wall(year, site, site.wall_azimuth, index),
        "right": _wall(year, site, (site.wall_azimuth + 180.0) % 360.0, index),
        "up": _loads(year, site, 0.0, 0.0, _rain(year, site), index),
        "down": _loads(year, site, 180.0, 0.0, np.zeros(year.hours), index),
    }
    note = f"{year.station or year.source}; rain: {year.rain_origin}"
    # stations state humidity over water; the solver takes saturation over ice below 0 degC
    humidity = year.vapour_pressure / saturation_pressure(year.temperature)
    return Climate(KEY, year.temperature[index], humidity[index], facings, note)


def _rain(year: WeatherYear, site: Site) -> Floats:
    """Rain on the ground [kg/(m2 s)]."""
    rain = np.zeros(year.hours) if year.rain is None else year.rain
    return ground_rain(rain, share=site.ground_rain_share)


def _wall(year: WeatherYear, site: Site, azimuth: float, index: NDArray[np.int64]) -> FacingLoads:
    """Loads on a wall that faces ``azimuth`` [deg]; driving rain of ASHRAE 160."""
    rain = np.zeros(year.hours)
    if year.rain is not None:
        driven = wall_rain_ashrae(
            year.wind_speed,
            year.wind_direction,
            year.rain,
            azimuth,
            exposure=site.rain_exposure,
            deposition=site.rain_deposition,
        )
        rain = driven / SECONDS_PER_HOUR
    return _loads(year, site, 90.0, azimuth, rain, index)


def _loads(
    year: WeatherYear, site: Site, tilt: float, azimuth: float, rain: Floats, index: NDArray[np.int64]
) -> FacingLoads:
    """Loads on a plane: film of ISO 6946 with the wind beside it, all radiation as it arrives."""
    convective = outdoor_convection(site.wind_share * year.wind_speed)
    solar = plane_irradiance(year, tilt, azimuth, albedo=site.albedo).total
    longwave = incoming_longwave(year.sky_longwave, year.temperature, tilt)
    return FacingLoads(
        convective=convective[index],
        radiative=np.zeros(index.size),
        longwave=longwave[index],
        solar=solar[index],
        rain=rain[index],
    )
