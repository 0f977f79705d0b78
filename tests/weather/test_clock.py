"""Irradiance that does not keep the time of its place is found, by hour and by season; right records pass."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from stemwall.weather.build import build_year
from stemwall.weather.clock import Sun, clock_doubts, monthly_shifts
from stemwall.weather.errors import WeatherError
from stemwall.weather.synthetic import synthetic_rain
from stemwall.weather.unit_conversion import RawWeather
from stemwall.weather.year import WeatherYear

RawOf = Callable[[WeatherYear], RawWeather]
SUN = ["ghi", "dni", "dhi"]


def shifted(raw: RawWeather, hours: float, months: range = range(1, 13)) -> RawWeather:
    """The same record with the sun later by so many hours, also parts of them, in some months."""
    whole, part = int(np.floor(hours)), hours % 1
    here = raw.frame.index.month.isin(months)
    for name in SUN:
        values = raw.frame[name].to_numpy()
        moved = (1 - part) * np.roll(values, whole) + part * np.roll(values, whole + 1)
        raw.frame[name] = np.where(here, moved, values)
    return raw


def said(raw: RawWeather) -> list[str]:
    """What is found by the clock."""
    return [doubt.found for doubt in clock_doubts(raw, Sun.of(raw.frame.index, raw.site))]


@pytest.mark.parametrize("name", ["default_year", "clear_year", "polar_year", "tropical_year"])
def test_right_records_pass(name: str, raw_of: RawOf, request: pytest.FixtureRequest) -> None:
    year = request.getfixturevalue(name)
    assert said(raw_of(year)) == []


def test_the_year_with_synthetic_rain_passes(default_year: WeatherYear, raw_of: RawOf) -> None:
    assert build_year(raw_of(synthetic_rain(default_year))).warnings == ()


@pytest.mark.parametrize("name", ["default_year", "clear_year", "polar_year", "tropical_year"])
@pytest.mark.parametrize("hours", [-5.0, -1.0, 1.0, 3.0, 12.0])
def test_a_shift_is_found_and_told(name: str, hours: float, raw_of: RawOf, request: pytest.FixtureRequest) -> None:
    raw = shifted(raw_of(request.getfixturevalue(name)), hours)
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    word = "from" if hours == 12 else "later than" if hours > 0 else "earlier than"
    assert any(f"{abs(hours):.1f} h {word} the sun" in p.found for p in caught.value.problems)
    assert any('accept = ["clock"]' in p.expected for p in caught.value.problems)
    assert any(f"{word} the sun" in text for text in build_year(raw, accept=["clock"]).warnings)


@pytest.mark.parametrize(
    ("hours", "slip"),
    [
        (1.0, "end of the hour read as its begin"),
        (-1.0, "begin of the hour read as its end"),
        (5.0, "times in UTC?"),
        (12.0, "a 12 h clock"),
        (3.0, "another time zone"),
    ],
)
def test_the_likely_slip_is_named(default_year: WeatherYear, raw_of: RawOf, hours: float, slip: str) -> None:
    assert slip in said(shifted(raw_of(default_year), hours))[0]


def test_half_an_hour_is_a_warning(default_year: WeatherYear, raw_of: RawOf) -> None:
    (warning,) = build_year(shifted(raw_of(default_year), 0.5)).warnings
    assert "0.5 h later than the sun; times in the middle of the hour?" in warning


@pytest.mark.parametrize("north", [True, False])
def test_daylight_saving_in_summer_is_found(default_year: WeatherYear, raw_of: RawOf, north: bool) -> None:
    raw = raw_of(default_year)
    if not north:  # the same year half a year later, on the other side of the equator
        raw.frame = pd.DataFrame(np.roll(raw.frame, 4368, axis=0), raw.frame.index, raw.frame.columns)
        raw.site = type(raw.site)("south", -36.1, raw.site.longitude, raw.site.elevation, raw.site.utc_offset)
        assert said(raw) == []
        for months in (range(1, 4), range(10, 13)):
            raw = shifted(raw, 1.0, months)
    else:
        raw = shifted(raw, 1.0, range(4, 11))
    (found,) = said(raw)
    assert "1.0 h later than the sun in summer" in found
    assert "daylight-saving time?" in found


def test_a_month_of_its_own_time_is_found(default_year: WeatherYear, raw_of: RawOf) -> None:
    assert "month 8: +4.0 h" in said(shifted(raw_of(default_year), 4.0, range(8, 9)))[0]


def test_the_other_hemisphere_is_found(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.site = type(raw.site)("south", -36.1, raw.site.longitude, raw.site.elevation, raw.site.utc_offset)
    (found,) = said(raw)
    assert "days after the highest sun; the sign of the latitude" in found


def test_light_at_night_is_said(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.frame["ghi"] += 8.0
    assert "in hours without sun" in said(raw)[0]


@pytest.mark.parametrize(
    ("factor", "unit"), [(1e-3, "kW/m^2"), (3.6e-3, "MJ/(m^2 h)"), (1 / 3.1546, "BTU/(ft^2 h)"), (3.6, "kJ/(m^2 h)")]
)
def test_units_of_irradiance_are_named(default_year: WeatherYear, raw_of: RawOf, factor: float, unit: str) -> None:
    raw = raw_of(default_year)
    raw.frame[SUN] *= factor
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    assert [p.place for p in caught.value.problems] == ["a.csv, ghi"]
    assert f"look like {unit}" in caught.value.problems[0].found


def test_shift_of_a_sun_of_its_own_is_exact(clear_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(clear_year)
    sun = Sun.of(raw.frame.index, raw.site)
    later = monthly_shifts(raw.frame.index, np.roll(sun.sine, 2), sun.sine)
    # the longest days of a month stand for it, and these lie at its end, where the equation of time is another
    np.testing.assert_allclose(later, 2.0, atol=0.1)


def test_polar_night_and_day_are_not_judged(polar_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(polar_year)
    sun = Sun.of(raw.frame.index, raw.site)
    shifts = monthly_shifts(raw.frame.index, polar_year.ghi, sun.sine)
    assert np.isnan(shifts[[0, 10, 11]]).all()
    assert 3 <= np.sum(~np.isnan(shifts)) <= 9
