"""Rows of minutes and off the hour: sums of sun and rain stay, hours are where they belong, faults still show."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from stemwall.weather.averaging import row_length, to_hours
from stemwall.weather.errors import WeatherError
from stemwall.weather.read import read_weather
from stemwall.weather.unit_conversion import RawWeather, Site
from stemwall.weather.year import WeatherYear

PLACE = Site("nowhere", 50.0, 10.0, 200.0, 1.0)


def record(index: pd.DatetimeIndex, **columns: object) -> RawWeather:
    frame = pd.DataFrame(columns, index=index)
    return RawWeather("a.csv", PLACE, frame, np.arange(len(index)) + 2, "artificial")


@pytest.mark.parametrize("minutes", [1, 5, 10, 15, 20, 30, 7, 13])
@pytest.mark.parametrize("offset", [0, 4, 51])
def test_a_linear_course_has_its_hourly_means_and_keeps_its_sum(minutes: int, offset: int) -> None:
    """A row stands for its time: the mean of t over whole hours is their middle, but for half a row of steps."""
    index = pd.date_range("2001-01-01", periods=6000 // minutes, freq=f"{minutes}min") + pd.Timedelta(minutes=offset)
    middle = (np.arange(len(index)) + 0.5) * minutes / 60 + offset / 60
    out = to_hours(record(index, temperature=middle, rain=np.ones(len(index))))
    hours = (out.frame.index - pd.Timestamp("2001-01-01")) / pd.Timedelta(hours=1)
    inner = slice(1, -1)
    np.testing.assert_allclose(out.frame["temperature"].to_numpy()[inner], (hours + 0.5)[inner], atol=minutes / 120)
    np.testing.assert_allclose(out.frame["rain"], 1.0, atol=1e-12)
    assert (np.diff(out.frame.index) == pd.Timedelta(hours=1)).all()
    assert (out.rows >= 2).all()
    assert "brought to" in out.notes[-1]


def test_hours_at_minute_51_share_by_time() -> None:
    """A row from 00:51 gives 9 minutes to its hour and 51 to the next."""
    index = pd.date_range("2001-01-01 00:51", periods=5, freq="h")
    out = to_hours(record(index, rain=[60.0, 0.0, 0.0, 120.0, 0.0]))
    np.testing.assert_allclose(out.frame["rain"].iloc[:4], [51.0, 0.0, 18.0, 102.0])
    assert out.frame.index[0] == pd.Timestamp("2001-01-01 01:00")


def test_winds_are_averaged_as_vectors() -> None:
    index = pd.date_range("2001-01-01", periods=12, freq="30min")
    out = to_hours(record(index, wind_direction=[350.0, 10.0] * 6, wind_speed=[2.0, 2.0] * 6))
    assert np.allclose((out.frame["wind_direction"] + 180) % 360, 180.0)
    heavy = to_hours(record(index, wind_direction=[0.0, 90.0] * 6, wind_speed=[0.0, 5.0] * 6))
    np.testing.assert_allclose(heavy.frame["wind_direction"], 90.0, atol=1e-3)


def test_gaps_stay_gaps() -> None:
    """Half an hour of values makes an hour, less does not; rows that are missing leave their hours out."""
    index = pd.date_range("2001-01-01", periods=24, freq="10min")
    values = np.arange(24.0)
    values[[6, 7, 8]] = np.nan
    values[12:16] = np.nan
    out = to_hours(record(index, temperature=values)).frame["temperature"]
    assert out.iloc[1] == pytest.approx(10.0)
    assert np.isnan(out.iloc[2])
    gone = to_hours(record(index[[*range(6), *range(12, 24)]], temperature=np.arange(18.0)))
    assert [stamp.hour for stamp in gone.frame.index] == [0, 2, 3]


def test_hours_and_wrong_clocks_stay_as_they_are() -> None:
    hours = record(pd.date_range("2001-01-01", periods=5, freq="h"), temperature=np.arange(5.0))
    assert to_hours(hours) is hours
    back = record(pd.DatetimeIndex(["2001-01-01 00:10", "2001-01-01 00:00", "2001-01-01 00:20"]), temperature=[1, 2, 3])
    assert to_hours(back) is back
    coarse = record(pd.date_range("2001-01-01", periods=5, freq="3h"), temperature=np.arange(5.0))
    assert to_hours(coarse) is coarse
    assert row_length(coarse.frame.index) == 3.0


def written(year: WeatherYear, path: Path, *, minutes: int, rain: str, stamp: str = "begin", bad: str = "") -> Path:
    """A year as rows of some minutes, each hour's values repeated; rain as a rate or as the amount of a row."""
    each = 60 // minutes
    begin = pd.DatetimeIndex(np.repeat(year.times, each)) + pd.to_timedelta(
        np.tile(np.arange(each) * minutes, year.hours), unit="min"
    )
    times = begin + pd.Timedelta(minutes=minutes if stamp == "end" else 0)
    assert year.rain is not None
    factor = {"mm/h": 1.0, "mm": minutes / 60, "in": minutes / 60 / 25.4}[rain]
    columns = [year.temperature * 1.8 + 32, year.relative_humidity, year.wind_speed, year.wind_direction, year.ghi,
               year.rain * factor]  # fmt: skip
    cells = [np.repeat(values, each) for values in columns]
    lines = [f"# {name}: {getattr(year, name)}" for name in ("latitude", "longitude", "elevation", "utc_offset")]
    lines += [f"# stamp: {stamp}"]
    lines.append(
        f"time,temperature [F],relative_humidity,wind_speed [m/s],wind_direction [deg],ghi [W/m^2],rain [{rain}]"
    )
    rows = [",".join(map(repr, row)) for row in zip(*(v.tolist() for v in cells), strict=True)]
    lines += [f"{time:%Y-%m-%dT%H:%M},{row}" for time, row in zip(times, rows, strict=True)]
    if bad:
        first, rest = lines[2000].split(",", 1)
        lines[2000] = ",".join([first, bad, *rest.split(",")[1:]])
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize(("rain", "stamp"), [("mm/h", "begin"), ("mm", "end"), ("in", "begin")])
def test_a_file_of_half_hours_is_the_year_of_its_hours(
    clear_year: WeatherYear, tmp_path: Path, rain: str, stamp: str
) -> None:
    found = read_weather(written(clear_year, tmp_path / "a.csv", minutes=30, rain=rain, stamp=stamp))
    assert found.hours == 8760
    assert found.start == clear_year.start
    assert found.rain is not None
    for name in ("temperature", "relative_humidity", "wind_speed", "ghi", "rain"):
        np.testing.assert_allclose(getattr(found, name), getattr(clear_year, name), rtol=1e-9, atol=1e-9)
    turned = np.abs((found.wind_direction - clear_year.wind_direction + 180) % 360 - 180)
    assert turned.max() < 1e-6


def test_an_impossible_row_shows_with_its_own_row(clear_year: WeatherYear, tmp_path: Path) -> None:
    """-9999 in one of two rows would otherwise end up in a mean."""
    with pytest.raises(WeatherError) as caught:
        read_weather(written(clear_year, tmp_path / "a.csv", minutes=30, rain="mm", bad="-9999"))
    places = [problem.place for problem in caught.value.problems]
    assert any("row 2001" in place and place.endswith("temperature") for place in places)
