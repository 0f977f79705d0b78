"""Figures of a weather record: air, rain by direction, sun by hour, ground."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.projections.polar import PolarAxes
from numpy.typing import NDArray

from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report.style import FAINT, INK, LIMIT, WIDTH, date_axis
from stemwall.weather.clock import Sun
from stemwall.weather.ground import GroundWave
from stemwall.weather.monthly_rain import monthly_sums
from stemwall.weather.rain import airfield_driving_rain
from stemwall.weather.unit_conversion import Site
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

SECTORS = 16
"""Directions that are told apart."""

SPEEDS = (0.0, 2.0, 4.0, 6.0, np.inf)
"""Limits of the classes of wind speed [m/s]."""

DEPTHS = (0.0, 0.5, 1.0, 2.0, 5.0)
"""Depths at which the ground is drawn [m]."""

MONTHS = "JFMAMJJASOND"
WATER, SUN = "#33658a", "#c98a1b"
DEEP = ("#d8b38c", "#b98b5e", "#93683f", "#694727", "#3b2a1a")


def air(year: WeatherYear, units: Units) -> Figure:
    """Return daily extremes and means of the air temperature, and daily means of the dew point."""
    figure = Figure(figsize=(WIDTH, 3.1))
    axes = figure.subplots()
    warmth = units["temperature"]
    days = year.hours // 24
    noon = year.times[: 24 * days].reshape(days, 24)[:, 12]
    temperature, dew = (_days(values, days) for values in (year.temperature, year.dew_point))
    extremes = (warmth.of(temperature.min(axis=1)), warmth.of(temperature.max(axis=1)))
    axes.fill_between(noon, *extremes, color=FAINT, linewidth=0, label="air, from coldest to warmest hour of a day")
    axes.plot(noon, warmth.of(temperature.mean(axis=1)), color=INK, linewidth=1.0, label="air, daily mean")
    axes.plot(noon, warmth.of(dew.mean(axis=1)), color=WATER, linewidth=0.9, label="dew point, daily mean")
    axes.set_ylabel(warmth.unit)
    date_axis(axes)
    figure.legend(loc="outside upper left", ncols=3)
    return figure


def months(year: WeatherYear, units: Units) -> Figure:
    """Return rain and sun by month, means over the years of a record."""
    figure = Figure(figsize=(WIDTH, 2.3))
    left, right = figure.subplots(1, 2)
    at = np.arange(12)
    left.bar(at, np.nan_to_num(units["rain"].of(monthly_sums(year))), color=WATER, width=0.7)
    left.set_title("rain by month, snow as water")
    left.set_ylabel(units["rain"].unit)
    right.bar(at, np.nan_to_num(units["sun"].of(year.monthly_means()["ghi"] * 0.024)), color=SUN, width=0.7)
    right.set_title("sun on level ground, daily sum")
    right.set_ylabel(units["sun"].unit)
    for axes in (left, right):
        axes.set_xticks(at, list(MONTHS))
        axes.grid(visible=False, axis="x")
    return figure


def rain_by_direction(year: WeatherYear) -> Floats:
    """Rain in 8760 h by direction that the wind comes from and class of its speed [mm], shape (SECTORS, classes)."""
    width = 360.0 / SECTORS
    sector = ((year.wind_direction + width / 2) % 360.0 // width).astype(np.int64)
    speed = np.digitize(year.wind_speed, SPEEDS[1:-1])
    table = np.zeros((SECTORS, len(SPEEDS) - 1))
    if year.rain is not None:
        np.add.at(table, (sector, speed), year.rain * 8760 / year.hours)
    return table


def driven_by_facing(year: WeatherYear) -> Floats:
    """Rain through a vertical plane in open country in 8760 h, by the direction it faces [kg/m2], shape (SECTORS,)."""
    if year.rain is None:
        return np.zeros(SECTORS)
    facings = np.arange(SECTORS) * 360.0 / SECTORS
    speed, direction, rain = year.wind_speed, year.wind_direction, year.rain
    sums = [airfield_driving_rain(speed, direction, rain, facing).sum() for facing in facings]
    return np.asarray(sums) * 8760 / year.hours


def rain_rose(year: WeatherYear, units: Units) -> Figure:
    """Return rain by the direction of the wind, and what is driven through planes that face each direction."""
    figure = Figure(figsize=(WIDTH, 4.0))
    left, right = figure.subplots(1, 2, subplot_kw={"projection": "polar"})
    angle, width = np.radians(np.arange(SECTORS) * 360.0 / SECTORS), np.radians(0.9 * 360.0 / SECTORS)
    table = units["rain"].of(rain_by_direction(year))
    base = np.zeros(SECTORS)
    speed = units["speed"]
    for number, shade in enumerate(("#c9d8e4", "#8fb0c9", "#5482a6", "#24557e")):
        low, high = (speed.of(limit) for limit in SPEEDS[number : number + 2])
        words = f"{low:.0f} to {high:.0f} {speed.unit}" if np.isfinite(high) else f"above {low:.0f} {speed.unit}"
        left.bar(angle, table[:, number], width, base, color=shade, label=words)
        base = base + table[:, number]
    right.bar(angle, units["driven"].of(driven_by_facing(year)), width, color=WATER)
    left.set_title(f"rain of a year by the direction of the wind ({units['rain'].unit})")
    right.set_title(f"driven in a year on free planes by their facing ({units['driven'].unit})")
    for axes in (left, right):
        _compass(axes)
    figure.legend(loc="outside lower left", ncols=4, title="wind speed", alignment="left", title_fontsize=8.5)
    return figure


def _compass(axes: object) -> None:
    assert isinstance(axes, PolarAxes)
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    axes.set_xticks(np.radians(np.arange(0, 360, 45)), ["N", "NE", "E", "SE", "S", "SW", "W", "NW"])
    axes.set_rlabel_position(22.5)


def sun(year: WeatherYear) -> Figure:
    """Return the irradiance by day and hour, with where the sun should rise and set."""
    figure = Figure(figsize=(WIDTH, 2.7))
    axes = figure.subplots()
    days = year.hours // 24
    first = int(year.times[0].astype("datetime64[h]").astype(np.int64) % 24)
    by_day = np.roll(_days(year.ghi, days), first, axis=1).T
    picture = axes.imshow(
        by_day, aspect="auto", origin="lower", cmap="cividis", extent=(0, days, 0, 24), interpolation="nearest"
    )
    site = Site(year.station, year.latitude, year.longitude, year.elevation, year.utc_offset)
    light = np.roll(_days(~Sun.of(pd.DatetimeIndex(year.times), site).dark, days), first, axis=1).T
    axes.contour(
        np.arange(days) + 0.5,
        np.arange(24) + 0.5,
        light,
        levels=[0.5],
        colors="#e8e4da",
        linewidths=0.9,
        antialiased=True,
    )
    axes.set_ylabel("hour, local standard time")
    axes.set_xlabel("day of the record")
    axes.set_yticks(range(0, 25, 6))
    axes.grid(visible=False)
    figure.colorbar(picture, ax=axes, label="global irradiance, W/m²", pad=0.01)
    return figure


def ground(wave: GroundWave, units: Units) -> Figure:
    """Return the yearly wave of the air carried into the ground."""
    figure = Figure(figsize=(WIDTH, 2.5))
    axes = figure.subplots()
    day = np.linspace(0.0, 365.0, 366)
    for depth, shade in zip(DEPTHS, DEEP, strict=True):
        words = "surface" if depth == 0 else f"{units['length'].of(depth):.3g} {units['length'].unit}"
        axes.plot(day, units["temperature"].of(wave.temperature(depth, day)), color=shade, linewidth=1.3, label=words)
    axes.axhline(float(units["temperature"].of(0.0)), color=LIMIT, linewidth=0.8, linestyle=(0, (7, 2)))
    axes.set_xticks(np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30]) + 15, list(MONTHS))
    axes.set_xlim(0, 365)
    axes.set_ylabel(units["temperature"].unit)
    figure.legend(loc="outside upper left", ncols=5)
    return figure


def _days(values: NDArray[np.float64] | NDArray[np.bool_], days: int) -> NDArray[np.float64]:
    """Hours by day of the record, shape (days, 24)."""
    return np.asarray(values[: 24 * days].reshape(days, 24))
