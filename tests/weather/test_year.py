"""The weather year itself: shapes, calendar, leap days, repetition over a run."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest

from stemwall.weather.calendar import hours_of_leap_year, whole_years
from stemwall.weather.year import WeatherYear


def stretched(year: WeatherYear, start: datetime, hours: int) -> WeatherYear:
    """A record of other length whose temperature is the number of the hour, scaled to stay finite."""
    arrays: dict[str, Any] = {name: np.resize(values, hours) for name, values in year.arrays().items()}
    arrays["temperature"] = np.arange(hours) / 1000
    return replace(year, start=start, **arrays)


def test_arrays_are_read_only_and_of_one_length(clear_year: WeatherYear) -> None:
    with pytest.raises(ValueError, match="read-only"):
        clear_year.temperature[0] = 0.0
    with pytest.raises(ValueError, match="ghi has shape"):
        replace(clear_year, ghi=np.zeros(5))
    with pytest.raises(ValueError, match="rain has a missing value at hour 3"):
        replace(clear_year, rain=np.where(np.arange(8760) == 3, np.nan, 0.0))


def test_times_months_and_days(clear_year: WeatherYear) -> None:
    assert clear_year.times[0] == np.datetime64("2001-01-01T00:00")
    assert clear_year.times[-1] == np.datetime64("2001-12-31T23:00")
    assert np.bincount(clear_year.months)[1:].tolist() == [
        24 * d for d in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    ]
    assert clear_year.days[12] == pytest.approx(0.5 + 0.5 / 24)


def test_monthly_means_weigh_up_to_the_annual_mean(clear_year: WeatherYear) -> None:
    monthly = clear_year.monthly_means()
    hours = np.bincount(clear_year.months)[1:]
    assert np.average(monthly["temperature"], weights=hours) == pytest.approx(10.0)
    first = pd.Series(clear_year.temperature, clear_year.times).groupby(clear_year.months).mean()
    np.testing.assert_allclose(monthly["temperature"], first.to_numpy())
    assert "wind_direction" not in monthly


@pytest.mark.parametrize(
    ("start", "hours", "expected"),
    [
        (datetime(2001, 1, 1), 8760, 1),
        (datetime(2004, 1, 1), 8784, 1),
        (datetime(2004, 1, 1), 8760, None),
        (datetime(2001, 1, 1), 8784, None),
        (datetime(2003, 7, 1), 8784, 1),
        (datetime(2001, 1, 1), 4 * 8760 + 24, 4),
        (datetime(2001, 1, 1), 100, None),
    ],
)
def test_whole_years(start: datetime, hours: int, expected: int | None) -> None:
    assert whole_years(start, hours) == expected


def test_hours_of_leap_year_agree_in_all_years() -> None:
    times = np.array(["2000-03-01T05:00", "2001-03-01T05:00", "1900-03-01T05:00"], dtype="datetime64[s]")
    assert hours_of_leap_year(times).tolist() == [60 * 24 + 5] * 3


@pytest.mark.parametrize("run_start", [datetime(2023, 1, 1), datetime(2023, 10, 5, 7), datetime(2024, 2, 29, 3)])
def test_tiling_keeps_month_day_and_hour(clear_year: WeatherYear, run_start: datetime) -> None:
    hours = 3 * 8766
    index = clear_year.hour_index(hours, run_start)
    for i in (0, 1, 2000, 4000, hours - 1):
        run, weather = run_start + timedelta(hours=i), clear_year.start + timedelta(hours=int(index[i]))
        day = 28 if (run.month, run.day) == (2, 29) else run.day
        assert (weather.month, weather.day, weather.hour) == (run.month, day, run.hour)


def test_tiling_repeats_28_february_in_a_leap_year(clear_year: WeatherYear) -> None:
    index = clear_year.hour_index(8784, datetime(2024, 1, 1))
    np.testing.assert_array_equal(index[59 * 24 : 60 * 24], index[58 * 24 : 59 * 24])
    np.testing.assert_array_equal(np.unique(index), np.arange(8760))


def test_tiling_leaves_the_leap_day_out_of_a_common_year(clear_year: WeatherYear) -> None:
    leap = stretched(clear_year, datetime(2004, 1, 1), 8784)
    index = leap.hour_index(8760, datetime(2005, 1, 1))
    assert not np.any((index >= 59 * 24) & (index < 60 * 24))
    np.testing.assert_array_equal(leap.hour_index(8784, datetime(2004, 1, 1)), np.arange(8784))


@pytest.mark.parametrize("start", [datetime(2001, 1, 1), datetime(2000, 7, 1)])
def test_several_years_follow_each_other_and_come_round(clear_year: WeatherYear, start: datetime) -> None:
    record = stretched(clear_year, start, 3 * 8760)
    run = record.hour_index(6 * 8760, start)
    np.testing.assert_array_equal(run[: 3 * 8760], np.arange(3 * 8760))
    assert run[3 * 8760 + 24 * 400] // 8760 == 1


def test_tiled_carries_values_and_says_so(clear_year: WeatherYear) -> None:
    tiled = clear_year.tiled(20_000, datetime(2010, 5, 1))
    index = clear_year.hour_index(20_000, datetime(2010, 5, 1))
    np.testing.assert_array_equal(tiled.ghi, clear_year.ghi[index])
    assert tiled.start == datetime(2010, 5, 1)
    assert "repeated over 20000 h" in tiled.notes[-1]


def test_part_of_a_year_cannot_be_repeated(clear_year: WeatherYear) -> None:
    part = stretched(clear_year, datetime(2001, 1, 1), 1000)
    with pytest.raises(ValueError, match="whole years"):
        part.hour_index(8760, datetime(2001, 1, 1))
    with pytest.raises(ValueError, match="full hour"):
        clear_year.hour_index(10, datetime(2001, 1, 1, 0, 30))


def test_summary_is_plain(clear_year: WeatherYear) -> None:
    summary = clear_year.summary()
    assert summary["temperature_mean_degC"] == pytest.approx(10.0)
    assert summary["rain_mm_a"] == pytest.approx(1.5 * 283)
    assert all(not isinstance(value, np.ndarray) for value in summary.values())
    assert summary["leap_day"] is False
