"""Bad weather is refused with every problem, each with its place, what was found and what was expected."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import xarray as xr

from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.netcdf import write_netcdf
from stemwall.weather.read import read_weather
from stemwall.weather.table import write_csv
from stemwall.weather.year import WeatherYear

Writer = Callable[..., Path]


@pytest.fixture(scope="module")
def good(clear_year: WeatherYear, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Lines of a good CSV file: facts, a heading, hours."""
    path = tmp_path_factory.mktemp("good") / "good.csv"
    write_csv(clear_year, path)
    return path.read_text().splitlines()


def heading(lines: list[str]) -> int:
    """Position of the heading line."""
    return next(i for i, line in enumerate(lines) if line.startswith("time,"))


def set_cell(lines: list[str], hour: int, column: str, value: str) -> None:
    """Replace the cell of one hour."""
    top = heading(lines)
    at = [name.split(" ")[0] for name in lines[top].split(",")].index(column)
    cells = lines[top + 1 + hour].split(",")
    cells[at] = value
    lines[top + 1 + hour] = ",".join(cells)


def problems_of(lines: list[str], tmp_path: Path) -> tuple[Problem, ...]:
    """Problems that reading these lines raises."""
    path = tmp_path / "bad.csv"
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(WeatherError) as caught:
        read_weather(path)
    return caught.value.problems


def test_the_good_file_is_good(good: list[str], tmp_path: Path) -> None:
    (tmp_path / "good.csv").write_text("\n".join(good))
    assert read_weather(tmp_path / "good.csv").hours == 8760


@pytest.mark.parametrize(
    ("column", "value", "found", "expected"),
    [
        ("temperature", "61", "61 degC", "-70 to 60 degC"),
        ("temperature", "-9900", "-9900 degC", "-70 to 60 degC"),
        ("relative_humidity", "1.2", "1.2", "0 to 1.05"),
        ("wind_speed", "-1", "-1 m/s", "0 to 75 m/s"),
        ("wind_speed", "80", "80 m/s", "0 to 75 m/s"),
        ("wind_direction", "361", "361 deg", "0 to 360 deg"),
        ("ghi", "-3", "-3 W/m^2", "0 to 1500 W/m^2"),
        ("dni", "1501", "1501 W/m^2", "0 to 1500 W/m^2"),
        ("pressure", "1013", "1013 Pa", "45000 to 110000 Pa"),
        ("rain", "-1", "-1 mm/h", "0 to 305 mm/h"),
        ("temperature", "", "no value for 1 h", "a value"),
        ("ghi", "nan", "no value for 1 h", "a value"),
    ],
)
def test_impossible_value(good: list[str], tmp_path: Path, column: str, value: str, found: str, expected: str) -> None:
    lines = list(good)
    set_cell(lines, 30, column, value)
    (problem,) = problems_of(lines, tmp_path)
    row = heading(lines) + 1 + 30 + 1
    assert problem.place == f"bad.csv, row {row} (2001-01-02 06:00), {column}"
    assert problem.found == found
    assert problem.expected.startswith(expected)


def test_all_problems_at_once(good: list[str], tmp_path: Path) -> None:
    lines = [line for line in good if not line.startswith("# latitude")]
    set_cell(lines, 5, "temperature", "99")
    set_cell(lines, 6, "temperature", "98")
    set_cell(lines, 200, "wind_speed", "calm")
    top = heading(lines)
    lines[top] = lines[top].replace("pressure [Pa]", "pressure [furlong]").replace("snow_depth", "snow_dept")
    lines[top + 900], lines[top + 901] = lines[top + 901], lines[top + 900]
    text = "\n".join(map(str, problems_of(lines, tmp_path)))
    for part in (
        "latitude: found nothing",
        "temperature: found 98 to 99 degC",
        "(2001-01-01 05:00), temperature",
        "found 'calm'; expected a number",
        "column pressure [furlong]: found unit 'furlong'",
        "column snow_dept [m]: found snow_dept; expected snow_depth, or one of",
        "found a step back to",
    ):
        assert part in text


@pytest.mark.parametrize(
    ("change", "found", "expected"),
    [
        (lambda rows: rows[:50] + rows[53:], "a gap of 3 h after it", "the next hour"),
        (lambda rows: rows[:50] + rows[49:], "the same hour again", "2001-01-03 02:00"),
        (lambda rows: [], "no hourly rows", "hourly rows"),
        (
            lambda rows: [r.replace("-03T05:00", "-03T05:30") for r in rows],
            "a time off the full hour",
            "full",
        ),
    ],
)
def test_clock(
    good: list[str], tmp_path: Path, change: Callable[[list[str]], list[str]], found: str, expected: str
) -> None:
    top = heading(good) + 1
    problem = problems_of(good[:top] + change(good[top:]), tmp_path)[0]
    assert found in problem.found
    assert expected in problem.expected


def test_time_that_is_none(good: list[str], tmp_path: Path) -> None:
    lines = list(good)
    set_cell(lines, 3, "time", "yesterday")
    (problem,) = problems_of(lines, tmp_path)
    assert problem.found == "'yesterday'"
    assert "ISO 8601" in problem.expected


def test_impossible_value_at_a_time_that_is_none(good: list[str], tmp_path: Path) -> None:
    """Regression: the place of the value could not be written without its time."""
    lines = list(good)
    set_cell(lines, 3, "time", "yesterday")
    set_cell(lines, 3, "temperature", "99")
    row = heading(lines) + 1 + 3 + 1
    places = [problem.place for problem in problems_of(lines, tmp_path)]
    assert places == [f"bad.csv, row {row}, time", f"bad.csv, row {row}, temperature"]


def test_foreign_layouts_say_what_is_expected(good: list[str], tmp_path: Path) -> None:
    """Semicolons, and decimal commas between commas: one problem with an example, not one a row."""
    top = heading(good)
    for lines, found in (
        ([*good[:top], *(line.replace(",", ";") for line in good[top:])], "semicolons between the cells"),
        ([*good[: top + 1], *(line.replace(".", ",") for line in good[top + 1 :])], "cells"),
    ):
        (problem,) = problems_of(lines, tmp_path)
        assert found in problem.found
        assert "as in: 2001-01-31T13:00,5.2" in problem.expected


def test_a_column_twice_and_places_that_are_no_numbers(good: list[str], tmp_path: Path) -> None:
    lines = list(good)
    top = heading(lines)
    lines[top] = lines[top].replace("dni [", "ghi [")
    (problem,) = problems_of(lines, tmp_path)
    assert problem.found == "column ghi 2 times"
    (problem,) = problems_of([line.replace("latitude: 50.0", "latitude: nan") for line in good], tmp_path)
    assert problem.found == "'nan'"


def test_missing_column_and_ragged_row(good: list[str], tmp_path: Path) -> None:
    lines = list(good)
    top = heading(lines)
    lines[top] = lines[top].replace("wind_speed", "speed_of_wind")
    lines[top + 4] += ",1"
    text = "\n".join(map(str, problems_of(lines, tmp_path)))
    assert "expected a column wind_speed" in text
    assert f"row {top + 5}: found 14 cells; expected 13 cells" in text


def test_clock_zone_that_does_not_fit_the_longitude(good: list[str], tmp_path: Path) -> None:
    lines = [line.replace("# utc_offset: 1.0", "# utc_offset: -5.0") for line in good]
    (problem,) = problems_of(lines, tmp_path)
    assert problem.found == "utc_offset -5 h at longitude 10"
    assert "+1 h" in problem.expected


def test_sentinel_left_in_epw(clear_year: WeatherYear, write_epw: Writer, tmp_path: Path) -> None:
    path = write_epw(clear_year, tmp_path / "a.epw", {(5, 6): 99.9, (6, 6): 99.9, (9, 21): 999.0})
    with pytest.raises(WeatherError) as caught:
        read_weather(path)
    assert [(p.place, p.found) for p in caught.value.problems] == [
        ("a.epw, rows 14-15 (2001-01-01 05:00), temperature", "no value for 2 h"),
        ("a.epw, row 18 (2001-01-01 09:00), wind_speed", "no value for 1 h"),
    ]
    assert read_weather(path, fill_gaps=2).hours == 8760


def test_sentinel_left_in_tmy3(clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path) -> None:
    path = write_tmy3(clear_year, tmp_path / "a.csv", changes={(0, 6): -9900.0})
    with pytest.raises(WeatherError, match=r"a\.csv, row 3 \(2001-01-01 00:00\), temperature: found no value"):
        read_weather(path)


@pytest.mark.parametrize("name", ["a.epw", "a.nc", "a.csv"])
def test_text_that_is_no_weather(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("once upon a time\nthere was no weather\n")
    with pytest.raises(WeatherError, match=r"a\."):
        read_weather(tmp_path / name)


def test_broken_tmy3(clear_year: WeatherYear, write_tmy3: Writer, tmp_path: Path) -> None:
    path = write_tmy3(clear_year, tmp_path / "a.csv", changes={(4, 0): "31/31/2001"})
    with pytest.raises(WeatherError, match="a file in TMY3 format"):
        read_weather(path)


def test_netcdf_without_units(clear_year: WeatherYear, tmp_path: Path) -> None:
    write_netcdf(clear_year, tmp_path / "a.nc")
    with xr.open_dataset(tmp_path / "a.nc") as opened:
        data = opened.load()
    del data["wind_speed"].attrs["units"], data.attrs["longitude"]
    data.to_netcdf(tmp_path / "b.nc", engine="h5netcdf")
    with pytest.raises(WeatherError) as caught:
        read_weather(tmp_path / "b.nc")
    text = str(caught.value)
    assert "b.nc, variable wind_speed: found dimensions ('time',), units absent" in text
    assert "b.nc, longitude: found nothing" in text


def test_no_such_file_and_unknown_suffix(tmp_path: Path) -> None:
    for name in ("a.csv", "a.epw", "a.nc", "a.tm2"):
        with pytest.raises(WeatherError, match="no such file"):
            read_weather(tmp_path / name)
    with pytest.raises(WeatherError, match=r"\.epw, \.csv, \.tm2, \.nc"):
        read_weather("somewhere.xlsx")


def test_long_lists_are_cut_in_the_message_only() -> None:
    error = WeatherError([Problem(f"row {i}", "x", "y") for i in range(100)])
    assert len(error.problems) == 100
    assert "and 60 more" in str(error)
