"""Sensors that stand still and columns of zeros are found; calm, fog, night and dry spells are none."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from stemwall.weather.build import build_year
from stemwall.weather.clock import Sun
from stemwall.weather.doubts import Doubt
from stemwall.weather.errors import WeatherError
from stemwall.weather.stuck import BOUNDS, same_value_runs, stuck_doubts
from stemwall.weather.unit_conversion import RawWeather
from stemwall.weather.year import WeatherYear

RawOf = Callable[[WeatherYear], RawWeather]


def found(raw: RawWeather) -> list[Doubt]:
    """What is found to stand still."""
    return stuck_doubts(raw, Sun.of(raw.frame.index, raw.site))


def hold(raw: RawWeather, column: str, hours: int, value: float, first: int = 3000) -> RawWeather:
    """The same record with one value for some hours; a neighbour of this value would lengthen the run."""
    at = raw.frame.columns.get_loc(column)
    raw.frame.iloc[[first - 1, first + hours], at] = value + 0.011
    raw.frame.iloc[first : first + hours, at] = value
    return raw


@pytest.mark.parametrize("name", ["default_year", "clear_year", "polar_year", "tropical_year"])
def test_right_records_pass(name: str, raw_of: RawOf, request: pytest.FixtureRequest) -> None:
    raw = raw_of(request.getfixturevalue(name))
    raw.frame["pressure"] = 98_000.0  # that of the station's height
    assert found(raw) == []


@pytest.mark.parametrize(
    ("column", "value"),
    [("temperature", 12.345), ("relative_humidity", 0.8123), ("wind_speed", 2.123), ("sky_longwave", 301.123)],
)
def test_a_run_is_found_from_its_bound_on(default_year: WeatherYear, raw_of: RawOf, column: str, value: float) -> None:
    bound = BOUNDS[column].hours
    assert found(hold(raw_of(default_year), column, bound, value)) == []
    (doubt,) = found(hold(raw_of(default_year), column, bound + 1, value))
    assert f"one value for up to {bound + 1} h" in doubt.found
    assert "from 2001-05-06 00:00" in doubt.found
    assert not doubt.grave


@pytest.mark.parametrize(
    ("column", "value", "hours", "grave"),
    [
        ("relative_humidity", 1.0, 240, None),
        ("relative_humidity", 1.0, 300, False),
        ("relative_humidity", 1.0, 2000, True),
        ("temperature", 12.3, 500, True),
        ("wind_speed", 2.1, 1000, True),
        ("wind_speed", 0.0, 168, None),
        ("wind_speed", 0.0, 1000, True),
        ("ghi", 0.0, 2400, True),
        ("ghi", 0.0, 120, None),
        ("rain", 0.0, 5000, None),
        ("rain", 0.2, 100, False),
    ],
)
def test_what_stands_still(
    default_year: WeatherYear, raw_of: RawOf, column: str, value: float, hours: int, grave: bool | None
) -> None:
    doubts = found(hold(raw_of(default_year), column, hours, value))
    assert [doubt.grave for doubt in doubts if doubt.column == column] == ([] if grave is None else [grave])


def test_many_short_runs_add_up(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    for first in range(100, 8000, 500):
        hold(raw, "temperature", 40, 7.5, first)
    (doubt,) = found(raw)
    assert doubt.grave
    assert "640 h in 16 such runs" in doubt.found
    assert build_year(raw, accept=["stuck"]).warnings[0].startswith("a.csv, temperature: one value for up to 40 h")


@pytest.mark.parametrize("column", ["temperature", "relative_humidity", "wind_speed", "ghi"])
def test_zeros_that_cannot_be_spared(default_year: WeatherYear, raw_of: RawOf, column: str) -> None:
    raw = raw_of(default_year)
    raw.frame[column] = 0.0
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    assert [(p.place, p.found) for p in caught.value.problems] == [(f"a.csv, {column}", "zeros only: not observed?")]


@pytest.mark.parametrize("column", ["cloud_cover", "dni", "dhi", "rain"])
def test_zeros_that_are_dropped_with_a_warning(default_year: WeatherYear, raw_of: RawOf, column: str) -> None:
    raw = raw_of(default_year)
    raw.frame[column] = 0.0
    year = build_year(raw)
    (warning,) = year.warnings
    assert warning.startswith(f"{column.replace('_', ' ')}: the column holds zeros only")
    values = getattr(year, column)
    assert values is None or values.any()


def test_snow_of_zeros_leaves_the_depth_to_the_model(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.frame["snow_depth"] = 0.0
    year = build_year(raw)
    assert year.snow_depth is None
    assert year.warnings == ()
    assert "snow depth: the column holds zeros only, snow is taken as not observed; expected readings" in year.notes


def test_wind_from_nowhere_is_said(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.frame["wind_direction"] = 0.0
    assert "all driving rain comes from the north" in build_year(raw).warnings[0]


def test_runs() -> None:
    first, length = same_value_runs(np.array([1.0, 1.0, np.nan, np.nan, 2.0]))
    assert first.tolist() == [0, 2, 3, 4]
    assert length.tolist() == [2, 1, 1, 1]
