"""Rain of stated monthly totals: the totals are met, months that are not stated stay, each rule where it applies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stemwall.weather.errors import WeatherError
from stemwall.weather.monthly_rain import WET_DAY, monthly_sums, with_monthly_rain
from stemwall.weather.read import read_weather
from stemwall.weather.year import WeatherYear

TOTALS = st.dictionaries(st.integers(1, 12), st.floats(0, 600), min_size=1)


@settings(max_examples=25, deadline=None)
@given(totals=TOTALS, gauge=st.booleans(), codes=st.booleans())
def test_totals_are_met_and_other_months_stay(totals: dict[int, float], gauge: bool, codes: bool) -> None:
    year = read_weather("default")
    before = replace(year, rain=year.rain if gauge else None, present_weather=year.present_weather if codes else None)
    after = with_monthly_rain(before, totals, "a test")
    sums = monthly_sums(after)
    assert after.rain is not None
    for month in range(1, 13):
        if month in totals:
            assert sums[month - 1] == pytest.approx(totals[month], abs=1e-9)
        elif gauge:
            here = year.months == month
            assert year.rain is not None
            np.testing.assert_array_equal(after.rain[here], year.rain[here])
    assert after.rain.min() >= 0


def test_hours_are_those_of_the_gauge_else_of_the_codes_else_humid_days(default_year: WeatherYear) -> None:
    assert default_year.rain is not None
    may = default_year.months == 5
    gauged = with_monthly_rain(default_year, {5: 100.0}, "a test")
    assert gauged.rain is not None
    np.testing.assert_array_equal(gauged.rain[may] > 0, default_year.rain[may] > 0)
    assert "in the hours of the gauge: May 100 mm" in gauged.notes[-1]
    coded = with_monthly_rain(replace(default_year, rain=None), {5: 100.0}, "a test")
    assert "in the hours of the weather codes, seed 1: May" in coded.notes[-1]
    bare = replace(default_year, rain=None, present_weather=None)
    humid = with_monthly_rain(bare, {5: 90.0}, "a test")
    assert humid.rain is not None
    assert "an invented rule, seed 1: May 90 mm" in humid.notes[-1]
    wet = humid.rain.reshape(-1, 24).sum(axis=1) > 0
    mean = default_year.relative_humidity.reshape(-1, 24).mean(axis=1)
    days = may.reshape(-1, 24)[:, 0]
    assert wet.sum() == round(90 / WET_DAY)
    assert mean[wet].mean() > mean[days & ~wet].mean() + 0.05


def test_origin_says_which_months(default_year: WeatherYear) -> None:
    measured = replace(default_year, rain_origin="measured")
    assert with_monthly_rain(measured, {3: 50.0}, "x").rain_origin == "measured; March brought to stated totals"
    every = dict.fromkeys(range(1, 13), 70.0)
    assert with_monthly_rain(measured, every, "x").rain_origin == "all months brought to stated totals"


def test_several_years_have_the_totals_each(default_year: WeatherYear) -> None:
    """Two years in a row, one with a 29 February: each February has the total."""
    index = default_year.hour_index(8760 + 8784, default_year.start.replace(year=2003))
    arrays = {name: values[index] for name, values in default_year.arrays().items()}
    two = replace(default_year, start=default_year.start.replace(year=2003), **arrays)  # type: ignore[arg-type]
    after = with_monthly_rain(two, {2: 80.0}, "x")
    assert after.rain is not None
    assert after.rain[after.months == 2].sum() == pytest.approx(160.0)
    assert monthly_sums(after)[1] == pytest.approx(80.0)


@pytest.mark.parametrize("totals", [{0: 5.0}, {13: 5.0}, {1: -1.0}, {1: float("nan")}])
def test_impossible_totals(default_year: WeatherYear, totals: dict[int, float]) -> None:
    with pytest.raises(WeatherError, match="0 to 9999 mm of months 1 to 12"):
        with_monthly_rain(default_year, totals, "x")
