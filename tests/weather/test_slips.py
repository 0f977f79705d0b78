"""Columns in another unit than they are said to be in are refused by the name of that unit; right ones pass."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from stemwall.weather.build import build_year
from stemwall.weather.errors import WeatherError
from stemwall.weather.slips import OTHER_UNITS, bounds_of_mean, dew_doubts, unit_doubts
from stemwall.weather.unit_conversion import RawWeather, Site
from stemwall.weather.year import WeatherYear

RawOf = Callable[[WeatherYear], RawWeather]


@pytest.mark.parametrize("name", ["default_year", "clear_year", "polar_year", "tropical_year"])
def test_right_records_pass(name: str, raw_of: RawOf, request: pytest.FixtureRequest) -> None:
    assert unit_doubts(raw_of(request.getfixturevalue(name))) == []


@pytest.mark.parametrize(
    ("column", "unit"),
    [
        ("temperature", "K"),
        ("temperature", "degF"),
        ("temperature", "degC, converted from degF"),
        ("relative_humidity", "a fraction from 0 to 1, not %"),
        ("relative_humidity", "%"),
        ("pressure", "hPa"),
        ("pressure", "kPa"),
        ("pressure", "inHg"),
        ("pressure", "mmHg"),
    ],
)
def test_another_unit_is_named_once(default_year: WeatherYear, raw_of: RawOf, column: str, unit: str) -> None:
    raw = raw_of(default_year)
    factor, offset = OTHER_UNITS[column][unit]
    raw.frame[column] = (raw.frame[column] - offset) / factor
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    (problem,) = caught.value.problems
    assert problem.place == f"a.csv, {column}"
    assert unit in problem.found
    assert "look like" in problem.found


def test_fahrenheit_is_found_where_no_hour_is_impossible(clear_year: WeatherYear, raw_of: RawOf) -> None:
    """10 °C on average at 50° N are 50 °F: at most 59 to 78 °F, a third of the hours within -70 to 60 °C."""
    raw = raw_of(clear_year)
    raw.frame["temperature"] = raw.frame["temperature"] * 1.8 + 32
    assert "look like degF" in unit_doubts(raw)[0].found


@pytest.mark.parametrize(("factor", "grave"), [(3.6, False), (4.5, True), (0.05, False)])
def test_wind_in_another_unit(default_year: WeatherYear, raw_of: RawOf, factor: float, grave: bool) -> None:
    raw = raw_of(default_year)
    raw.frame["wind_speed"] *= factor
    (doubt,) = unit_doubts(raw)
    assert doubt.grave == grave
    assert ("km/h" in doubt.found) == (factor > 1)


def test_rain_in_metres_and_running_totals(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    rain = raw.frame["rain"].copy()
    raw.frame["rain"] = rain / 1000
    assert "m/h" in unit_doubts(raw)[0].found
    raw.frame["rain"] = np.cumsum(rain)
    assert "look like a running total" in unit_doubts(raw)[0].found


def test_pressure_of_the_sea_at_a_high_station_is_said(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.site = Site("high", 36.1, -79.95, 1900.0, -5.0)
    (doubt,) = unit_doubts(raw)
    assert not doubt.grave
    assert doubt.place == "a.csv, pressure"


def test_single_errors_are_not_taken_for_units(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    for name, wrong in {"temperature": 300.0, "relative_humidity": 50.0, "pressure": 1013.0}.items():
        raw.frame.iloc[77, raw.frame.columns.get_loc(name)] = wrong
    assert unit_doubts(raw) == []
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    assert [problem.place.rpartition(", ")[2] for problem in caught.value.problems] == [
        "temperature", "relative_humidity", "pressure"
    ]  # fmt: skip


def test_dew_point_above_the_air(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.frame["dew_point"] = default_year.dew_point
    assert dew_doubts(raw) == []
    raw.frame["dew_point"] = raw.frame["temperature"] + 0.7
    assert "in 100% of the hours, by up to 0.7 K" in dew_doubts(raw)[0].found


def test_bounds_of_the_mean_hold_for_places_on_earth() -> None:
    """Yearly means of climate tables (from memory, to be checked), latitude, height, mean."""
    places = {
        "Dallol": (14.2, -130, 34.5), "Phoenix": (33.4, 340, 24.0), "Bergen": (60.4, 12, 8.0),
        "Oymyakon": (63.5, 740, -16.0), "Vostok": (-78.5, 3488, -55.2), "La Paz": (-16.5, 4060, 8.0),
        "Lhasa": (29.7, 3650, 8.3), "Ulaanbaatar": (47.9, 1350, -0.9), "Singapore": (1.3, 15, 27.5),
        "Quito": (-0.2, 2850, 14.0), "Barrow": (71.3, 10, -11.0), "Ushuaia": (-54.8, 20, 5.7),
        "Greensboro": (36.1, 273, 14.4), "Sand Point": (55.3, 7, 4.4), "Longyearbyen": (78.2, 28, -5.0),
    }  # fmt: skip
    for name, (latitude, elevation, mean) in places.items():
        warm, cold = bounds_of_mean(Site(name, latitude, 0.0, elevation, 0.0))
        assert cold < mean < warm, name
