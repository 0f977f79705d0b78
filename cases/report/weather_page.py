"""The page on a weather record: what it holds, what is doubtful about it, and its wettest years."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from stemwall.cases.inputs.display_units import System, Units, number
from stemwall.cases.report import style as figures
from stemwall.cases.report import weather_figures as drawn
from stemwall.solver.results.output_places import write_whole
from stemwall.weather.doubts import SLIPS, WARNING
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.frost import air_freezing_index
from stemwall.weather.moisture_index import DESIGN_RANK, YearIndex, design_year, ranked
from stemwall.weather.monthly_rain import NAMES as MONTHS
from stemwall.weather.monthly_rain import monthly_sums
from stemwall.weather.read import read_weather
from stemwall.weather.year import WeatherYear

ALL_GAPS = 8784
"""Longest gap that is filled to look at a file that is refused [h]."""

CHECKS = {
    "clock": "the sun of the record keeps the hours, seasons and nights of its place",
    "units": "temperatures, humidities, pressures, winds, rain and sun are of the size of the place",
    "stuck": "no sensor stands still for longer than weather does",
    "zeros": "no column holds zeros only that cannot",
    "rain": "rain is reported for nine hours in ten at least",
}
"""What each kind of check asks, by the name under which a case may accept it."""


@dataclass(frozen=True)
class Looked:
    """A record as it was looked at.

    Parameters
    ----------
    year : WeatherYear or None
        None if there is nothing to look at.
    refused : tuple of Problem
        Why a run would refuse the file; none if it would not.
    slips : mapping
        By each kind of `doubts.SLIPS`, what it alone would refuse the file for.
    """

    year: WeatherYear | None
    refused: tuple[Problem, ...]
    slips: dict[str, tuple[Problem, ...]]


def look(place: str, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry") -> Looked:
    """Read a record as a run would, and also if a run would refuse it.

    Parameters
    ----------
    place, fill_gaps, accept, rain_gaps
        As for `stemwall.weather.read.read_weather`.
    """

    def tried(gaps: int, accepted: Collection[str]) -> tuple[WeatherYear | None, tuple[Problem, ...]]:
        try:
            return read_weather(place, fill_gaps=gaps, accept=accepted, rain_gaps=rain_gaps), ()
        except WeatherError as error:
            return None, error.problems

    year, refused = tried(fill_gaps, accept)
    if year is None:
        year, _ = tried(ALL_GAPS, SLIPS)
    slips: dict[str, tuple[Problem, ...]] = {
        kind: tried(ALL_GAPS, set(SLIPS) - {kind})[1] if year is not None else () for kind in SLIPS
    }
    return Looked(year, refused, slips)


def write_weather_page(looked: Looked, out: Path, *, units: System = "SI") -> Path:
    """Write one HTML page on a record that could be looked at; it needs nothing else.

    Raises
    ------
    OutputError
        If the page cannot be written.
    """
    assert looked.year is not None
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    folder = files("stemwall.cases.report")
    template = environment.from_string(folder.joinpath("weather.html").read_text(encoding="utf-8"))
    css = Markup(folder.joinpath("report.css").read_text(encoding="utf-8"))
    return write_whole(Path(out), template.render(style=css, **_context(looked, looked.year, Units(units))))


def _context(looked: Looked, year: WeatherYear, units: Units) -> dict[str, Any]:
    years = _years(year)
    last = year.times[-1] + np.timedelta64(3600, "s")
    return {
        "year": year,
        "span": f"{year.hours:,} h from {year.times[0].astype('datetime64[m]')} to {last.astype('datetime64[m]')}",
        "facts": list(_facts(year, units)),
        "refused": looked.refused,
        "checks": [(kind, CHECKS[kind], looked.slips[kind]) for kind in SLIPS],
        "warnings": year.warnings,
        "notes": [note for note in year.notes if not note.startswith(WARNING)],
        "months": _months(year, units),
        "years": years,
        "design": design_year(years) if len(years) > 1 else None,
        "one_in": round(1 / DESIGN_RANK),
        "units": units,
        "number": number,
        "figures": _figures(year, units),
        "wave": year.ground_wave(),
    }


def _years(year: WeatherYear) -> list[YearIndex]:
    """Ranked years of a measured record, or the one of a typical year."""
    return ranked(year) if year.rain is not None else []


def _facts(year: WeatherYear, units: Units) -> Iterator[tuple[str, str]]:
    warmth, rain = units["temperature"], year.annual_rain()
    yield "mean air temperature", f"{warmth.text(year.annual_mean_temperature())} {warmth.unit}"
    yield "coldest and warmest hour", f"{warmth.text(year.temperature.min())} to {warmth.text(year.temperature.max())}"
    yield "mean dew point", f"{warmth.text(float(year.dew_point.mean()))} {warmth.unit}"
    yield "mean humidity", f"{100 * year.relative_humidity.mean():.0f} %"
    yield "rain a year", "none" if rain is None else f"{units['rain'].text(rain)} {units['rain'].unit}"
    yield "mean wind", f"{units['speed'].text(float(year.wind_speed.mean()))} {units['speed'].unit}"
    yield "sun, daily sum", f"{units['sun'].text(float(year.ghi.mean()) * 0.024)} {units['sun'].unit}"
    frost = air_freezing_index(year.temperature)
    yield "air-freezing index", f"{1.8 * frost:.0f} °F d" if units.inches else f"{frost:.0f} K d"
    elevation = units["length"]
    yield "elevation", f"{elevation.of(year.elevation):.0f} {elevation.unit}"
    yield "place", f"{year.latitude:.2f}° N, {year.longitude:.2f}° E"
    yield "clock", f"UTC {year.utc_offset:+g} h"
    yield "rain comes from", year.rain_origin


def _months(year: WeatherYear, units: Units) -> list[tuple[str, list[str]]]:
    """Rows of the table of months: its name, and what it holds in the order of the heading."""
    means, rain = year.monthly_means(), monthly_sums(year)
    dew = np.bincount(year.months, year.dew_point, minlength=13)[1:]
    hours = np.bincount(year.months, minlength=13)[1:]
    rows = []
    for month in range(12):
        if not hours[month]:
            continue
        wet = "–" if np.isnan(rain[month]) else units["rain"].text(rain[month])
        cells = [
            units["temperature"].text(means["temperature"][month]),
            units["temperature"].text(dew[month] / hours[month]),
            f"{100 * means['relative_humidity'][month]:.0f}",
            units["speed"].text(means["wind_speed"][month]),
            units["sun"].text(means["ghi"][month] * 0.024),
            wet,
        ]
        rows.append((MONTHS[month], cells))
    return rows


def _figures(year: WeatherYear, units: Units) -> dict[str, Markup]:
    """All figures of the page as SVG, by name."""
    made: dict[str, Markup] = {}
    with figures.style("weather"):
        made["air"] = _svg(drawn.air(year, units), "air temperature and dew point by day")
        made["months"] = _svg(drawn.months(year, units), "rain and sun by month")
        made["sun"] = _svg(drawn.sun(year), "global irradiance by day and hour")
        made["ground"] = _svg(drawn.ground(year.ground_wave(), units), "yearly wave of the air in the ground")
        if year.rain is not None and year.rain.any():
            made["rose"] = _svg(drawn.rain_rose(year, units), "rain by the direction of the wind")
    return made


def _svg(figure: Any, label: str) -> Markup:
    return Markup(figures.svg(figure, label))
