"""Measured days made hourly keep what was measured; bad files of days are refused with their places."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stemwall.weather import daily as daily_module
from stemwall.weather.daily import DEPTHS, STATIONS, MeasuredDays, daily_mean, read_days
from stemwall.weather.errors import WeatherError


@pytest.fixture(scope="module", params=STATIONS)
def days(request: pytest.FixtureRequest) -> MeasuredDays:
    """Each station in turn."""
    return read_days(request.param)


def test_daily_values_are_kept(days: MeasuredDays) -> None:
    """Means, extremes and sums of each measured day, to round-off."""
    year, measured = days.year, days.columns
    assert year.rain is not None
    hourly = year.temperature.reshape(-1, 24)
    pairs = {
        "air_mean_degC": hourly.mean(axis=1),
        "air_min_degC": hourly.min(axis=1),
        "air_max_degC": hourly.max(axis=1),
        "global_solar_MJ_m2": year.ghi.reshape(-1, 24).sum(axis=1) * 0.0036,
        "precipitation_mm": year.rain.reshape(-1, 24).sum(axis=1),
        "rh_mean_percent": 100 * daily_mean(year.relative_humidity),
    }
    for name, made in pairs.items():
        known = ~np.isnan(measured[name])
        np.testing.assert_allclose(made[known], measured[name][known], rtol=0, atol=1e-9, err_msg=name)


def test_the_year_is_whole_and_its_sun_consistent(days: MeasuredDays) -> None:
    year = days.year
    assert year.hours == 8784
    assert str(year.times[0]) == "2020-01-01T00:00:00"
    assert np.all((year.relative_humidity > 0) & (year.relative_humidity <= 1))
    assert np.all(year.dhi <= year.ghi + 1e-9)
    assert np.all(year.dni < 1100)
    assert 0.6 < np.mean(year.sky_longwave / (5.67e-8 * (year.temperature + 273.15) ** 4)) < 1.0
    loud = [text for text in year.warnings if "precipitation" not in text]
    assert loud == []


def test_soil_series(days: MeasuredDays) -> None:
    assert days.dates.size == 366
    for depth in DEPTHS:
        warmth, water = days.soil_temperature(depth), days.soil_moisture(depth)
        assert warmth.shape == water.shape == (366,)
        assert np.nanmin(warmth) > -20
        assert np.nanmax(warmth) < 45
    # the yearly swing falls with depth
    swing = [np.nanmax(days.soil_temperature(depth)) - np.nanmin(days.soil_temperature(depth)) for depth in DEPTHS]
    assert swing[-1] < swing[0]
    assert days.surface.shape == (366,)


def test_what_is_missing_is_said() -> None:
    notes = read_days("sandstone_mn").year.notes
    assert "humidity of 366 days not measured: saturated at the minimum temperature" in notes
    (warning,) = read_days("ithaca_ny").year.warnings
    assert "precipitation_mm: 10 missing days count as dry" in warning


def test_wind_is_a_stated_constant() -> None:
    year = read_days("durham_nc", wind_speed=1.5, wind_direction=90).year
    assert set(year.wind_speed) == {1.5}
    assert set(year.wind_direction) == {90.0}
    assert any("wind 1.5 m/s" in note for note in year.notes)


def changed(tmp_path: Path, old: str, new: str) -> str:
    """What is said about the days of one station with something replaced."""
    text = (Path(daily_module.__file__).parent / "uscrn_2020_durham_nc.csv").read_text()
    assert old in text
    path = tmp_path / "days.csv"
    path.write_text(text.replace(old, new))
    with pytest.raises(WeatherError) as caught:
        read_days(path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("2020-01-02,", "2020-01-03,", "row 10: found 2020-01-03; expected 2020-01-02: every day once"),
        ("2020-01-02,", "02.01.2020,", "expected days like 2020-01-31"),
        ("2020-01-01,11.6,", "2020-01-01,warm,", "column air_max_degC, row 9: found 'warm'; expected a number"),
        ("2020-01-01,11.6,", "2020-01-01,116,", "column air_max_degC, row 9: found 116; expected -70 to 60"),
        ("2020-01-01,11.6,", "2020-01-01,11.6,0,", "row 9: found 21 cells; expected 20 cells"),
        (",rh_mean_percent", ",humidity", "expected columns rh_mean_percent"),
        ("# latitude: 35.97\n", "", "latitude: found nothing"),
    ],
)
def test_bad_days(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert said in changed(tmp_path, old, new)


def test_a_part_of_a_year_and_many_gaps(tmp_path: Path) -> None:
    lines = (Path(daily_module.__file__).parent / "uscrn_2020_durham_nc.csv").read_text().splitlines()
    path = tmp_path / "days.csv"
    path.write_text("\n".join(lines[:200]))
    with pytest.raises(WeatherError, match="whole years"):
        read_days(path)
    gaps = [",".join([cells[0], "", *cells[2:]]) for cells in (line.split(",") for line in lines[8:])]
    path.write_text("\n".join([*lines[:8], *gaps]))
    with pytest.raises(WeatherError, match="column air_max_degC: found 100% of the days missing"):
        read_days(path)
