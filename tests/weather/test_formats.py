"""Every file format gives the weather back that was written, at the hours it was written for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import xarray as xr

from stemwall.weather.epw import read_epw
from stemwall.weather.errors import WeatherError
from stemwall.weather.netcdf import read_netcdf, write_netcdf
from stemwall.weather.read import read_weather
from stemwall.weather.synthetic import synthetic_rain
from stemwall.weather.table import read_csv, write_csv
from stemwall.weather.tmy3 import read_tmy3
from stemwall.weather.year import WeatherYear

Writer = Callable[..., Path]
SHARED = (
    "temperature",
    "relative_humidity",
    "wind_speed",
    "wind_direction",
    "pressure",
    "ghi",
    "dni",
    "dhi",
    "rain",
)


def assert_same(found: WeatherYear, expected: WeatherYear, names: tuple[str, ...] = SHARED) -> None:
    """Named arrays and the place agree to round-off."""
    for name in names:
        np.testing.assert_allclose(getattr(found, name), getattr(expected, name), rtol=1e-12, err_msg=name)
    place = ("latitude", "longitude", "elevation", "utc_offset", "start")
    assert [getattr(found, key) for key in place] == [getattr(expected, key) for key in place]


def test_tmy3_round_trip(clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path) -> None:
    found = read_weather(write_tmy3(clear_year, tmp_path / "a.csv"))
    assert_same(found, clear_year, (*SHARED, "cloud_cover"))
    assert found.source == "TMY3"
    assert not found.typical
    assert len(found.sha256) == 64


@pytest.mark.parametrize("february", [1996, 1995])
def test_tmy3_typical_year_from_leap_and_common_years(
    clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path, february: int
) -> None:
    """The last hour of February stays there whether or not its source year had a leap day."""
    years = {month: 1980 + month for month in range(1, 13)} | {2: february}
    found = read_tmy3(write_tmy3(clear_year, tmp_path / "a.csv", years))
    assert_same(found, clear_year)
    assert found.typical
    assert any(f"2: {february}" in note for note in found.notes)


def test_epw_round_trip(clear_year: WeatherYear, write_epw: Writer, tmp_path: Path) -> None:
    found = read_weather(write_epw(clear_year, tmp_path / "a.epw"))
    assert_same(found, clear_year, (*SHARED, "sky_longwave", "snow_depth", "cloud_cover"))
    assert found.source == "EPW weather file"


def test_epw_with_a_leap_day(clear_year: WeatherYear, write_epw: Writer, tmp_path: Path) -> None:
    leap = clear_year.tiled(8784, datetime(2004, 1, 1))
    assert_same(read_epw(write_epw(leap, tmp_path / "a.epw")), leap)


def test_epw_missing_values_are_not_read_as_weather(clear_year: WeatherYear, write_epw: Writer, tmp_path: Path) -> None:
    """9999 longwave, 999 rain and snow: computed, counted as dry, joined by straight lines, and said."""
    changes = {(5, 12): 9999.0, (7, 33): 999.0, (9, 30): 999.0}
    found = read_epw(write_epw(clear_year, tmp_path / "a.epw", changes))
    assert found.rain is not None
    assert found.snow_depth is not None
    assert 150 < found.sky_longwave[5] < 350
    assert found.rain[7] == 0
    assert found.snow_depth[9] == pytest.approx(0.25)
    for said in ("sky longwave of 1 h computed", "rain: 1 missing", "snow depth: 1 missing"):
        assert any(said in note for note in found.notes)


def test_csv_round_trip_is_exact(default_year: WeatherYear, tmp_path: Path) -> None:
    year = synthetic_rain(default_year)
    write_csv(year, tmp_path / "a.csv")
    found = read_weather(tmp_path / "a.csv")
    for name, values in year.arrays().items():
        np.testing.assert_array_equal(getattr(found, name), values, err_msg=name)
    assert found.rain_origin == year.rain_origin
    assert found.typical
    assert set(year.notes) <= set(found.notes)


def test_netcdf_round_trip_is_exact(default_year: WeatherYear, tmp_path: Path) -> None:
    year = synthetic_rain(default_year)
    write_netcdf(year, tmp_path / "a.nc")
    found = read_weather(tmp_path / "a.nc")
    for name, values in year.arrays().items():
        np.testing.assert_array_equal(getattr(found, name), values, err_msg=name)
    assert (found.start, found.rain_origin, found.typical) == (year.start, year.rain_origin, True)
    with xr.open_dataset(tmp_path / "a.nc") as data:
        assert data["rain"].attrs["units"] == "mm/h"
        assert all("long_name" in data[name].attrs for name in data.data_vars)


def test_netcdf_units_are_converted(clear_year: WeatherYear, tmp_path: Path) -> None:
    write_netcdf(clear_year, tmp_path / "a.nc")
    with xr.open_dataset(tmp_path / "a.nc") as opened:
        data = opened.load()
    data["temperature"] = ("time", clear_year.temperature + 273.15, {"units": "K"})
    data["soil"] = ("time", clear_year.temperature, {"units": "K"})
    data.to_netcdf(tmp_path / "b.nc", engine="h5netcdf")
    found = read_netcdf(tmp_path / "b.nc")
    np.testing.assert_allclose(found.temperature, clear_year.temperature, atol=1e-12)
    assert "variables not read: soil" in found.notes


def inch_pound_csv(year: WeatherYear, path: Path, times: pd.DatetimeIndex, comments: str) -> Path:
    """CSV as an inch-pound logger would write it, without direct and diffuse irradiance and without
    pressure."""
    assert year.rain is not None
    frame = pd.DataFrame(
        {
            "time": [stamp.isoformat() for stamp in times],
            "temperature [degF]": year.temperature * 1.8 + 32,
            "dew_point [degF]": year.dew_point * 1.8 + 32,
            "wind_speed [mph]": year.wind_speed / 0.44704,
            "wind_direction [deg]": year.wind_direction,
            "ghi [W/m^2]": year.ghi,
            "rain [in/h]": year.rain / 25.4,
        }
    )
    path.write_text(comments + frame.to_csv(index=False))
    return path


PLACE = "# latitude: 50\n# longitude: 10\n# elevation: 200\n# utc_offset: 1\n"


def test_csv_units_derivations_and_notes(clear_year: WeatherYear, tmp_path: Path) -> None:
    times = pd.DatetimeIndex(clear_year.times)
    found = read_csv(inch_pound_csv(clear_year, tmp_path / "a.csv", times, PLACE))
    for name in ("temperature", "relative_humidity", "wind_speed", "rain"):
        np.testing.assert_allclose(getattr(found, name), getattr(clear_year, name), atol=1e-9, err_msg=name)
    assert found.pressure[0] == pytest.approx(float(pvlib.atmosphere.alt2pres(200)))
    np.testing.assert_allclose(found.dhi, clear_year.dhi, atol=2.0)
    for said in ("dew point over water", "standard atmosphere", "Erbs", "cloud cover unknown"):
        assert any(said in note for note in found.notes), said


def test_csv_stamps_at_the_end_of_the_hour(clear_year: WeatherYear, tmp_path: Path) -> None:
    times = pd.DatetimeIndex(clear_year.times) + pd.Timedelta(hours=1)
    path = inch_pound_csv(clear_year, tmp_path / "a.csv", times, PLACE)
    assert read_csv(path, stamp="end").start == clear_year.start


def test_csv_daylight_saving_offsets_come_back_to_standard_time(clear_year: WeatherYear, tmp_path: Path) -> None:
    times = pd.DatetimeIndex(clear_year.times).tz_localize("Etc/GMT-1").tz_convert("Europe/Berlin")
    found = read_csv(inch_pound_csv(clear_year, tmp_path / "a.csv", times, PLACE))
    np.testing.assert_array_equal(found.times, clear_year.times)


def test_csv_place_as_arguments(clear_year: WeatherYear, tmp_path: Path) -> None:
    path = inch_pound_csv(clear_year, tmp_path / "a.csv", pd.DatetimeIndex(clear_year.times), PLACE)
    found = read_csv(path, latitude=51.5, station="roof")
    assert (found.latitude, found.longitude, found.station) == (51.5, 10.0, "roof")


def test_several_years_and_a_leap_day_left_out(clear_year: WeatherYear, tmp_path: Path) -> None:
    """Four years with 29 February 2004, and the same without it: both hold four whole years."""
    whole = clear_year.tiled(4 * 8760 + 24, datetime(2003, 1, 1))
    write_csv(whole, tmp_path / "a.csv")
    assert read_csv(tmp_path / "a.csv").hours == 4 * 8760 + 24
    text = (tmp_path / "a.csv").read_text().splitlines(keepends=True)
    (tmp_path / "b.csv").write_text("".join(line for line in text if "2004-02-29" not in line))
    found = read_csv(tmp_path / "b.csv")
    assert_same(found, whole)
    assert "29 February 2004 is not in the file: the 28th is repeated" in found.notes


def test_gaps_are_filled_only_when_asked(clear_year: WeatherYear, tmp_path: Path) -> None:
    times = pd.DatetimeIndex(clear_year.times)
    path = inch_pound_csv(clear_year, tmp_path / "a.csv", times, PLACE)
    lines = path.read_text().splitlines(keepends=True)
    kept = lines[:105] + lines[107:]
    path.write_text("".join(kept))
    with pytest.raises(WeatherError, match="a gap of 2 h after it"):
        read_csv(path, fill_gaps=1)
    found = read_csv(path, fill_gaps=2)
    step = np.diff(found.temperature[99:103])
    np.testing.assert_allclose(step, step[0])
    assert found.wind_direction[100] == found.wind_direction[99]
    assert any("2 h without a row filled in" in note for note in found.notes)


def test_supersaturation_just_above_is_clipped_and_said(
    clear_year: WeatherYear, write_epw: Writer, tmp_path: Path
) -> None:
    found = read_epw(write_epw(clear_year, tmp_path / "a.epw", {(3, 8): 104.0}))
    assert found.relative_humidity[3] == 1.0
    assert "relative humidity above 100 % in 1 h, set to 100 %" in found.notes


def test_zero_rain_all_year_is_not_believed(clear_year: WeatherYear, write_epw: Writer, tmp_path: Path) -> None:
    found = read_epw(write_epw(replace(clear_year, rain=np.zeros(8760)), tmp_path / "a.epw"))
    assert found.rain is None
    assert found.rain_origin == "none"
    assert any("taken as not observed" in note for note in found.notes)


def test_hours_without_a_code_survive_the_round_trip(default_year: WeatherYear, tmp_path: Path) -> None:
    assert default_year.present_weather is not None
    codes = default_year.present_weather.copy()
    codes[:5] = -1
    write_csv(replace(default_year, present_weather=codes), tmp_path / "a.csv")
    np.testing.assert_array_equal(read_csv(tmp_path / "a.csv").present_weather, codes)
