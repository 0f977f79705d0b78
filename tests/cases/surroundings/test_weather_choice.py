"""What a case makes of its weather: climates by name, totals of rain, records of some months, years, shifts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import build
from stemwall.cases.surroundings.weather_choice import WeatherChoice, choose_weather
from stemwall.weather.climates import NAMES
from stemwall.weather.errors import WeatherError
from stemwall.weather.monthly_rain import monthly_sums
from stemwall.weather.read import read_weather
from stemwall.weather.table import write_csv


def test_a_slip_is_refused_unless_the_case_accepts_it(tmp_path: Path) -> None:
    found = read_weather("default")
    path = tmp_path / "shifted.csv"
    write_csv(replace(found, ghi=np.roll(found.ghi, 6)), path)
    with pytest.raises(WeatherError, match=r"6\.0 h later than the sun"):
        choose_weather(WeatherChoice(file=str(path)))
    accepted = choose_weather(WeatherChoice.model_validate({"file": str(path), "accept": ["clock"]}))
    assert "6.0 h later than the sun" in accepted.warnings[0]


def test_holes_of_the_rain_do_not_matter_where_it_is_made(tmp_path: Path) -> None:
    found = read_weather("default")
    path = tmp_path / "holes.csv"
    assert found.rain is not None
    write_csv(found, path)
    lines = path.read_text().splitlines()
    top = next(i for i, line in enumerate(lines) if line.startswith("time,"))
    at = [name.split(" ")[0] for name in lines[top].split(",")].index("rain")
    for i in range(top + 1, top + 3001):
        cells = lines[i].split(",")
        lines[i] = ",".join([*cells[:at], "", *cells[at + 1 :]])
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(WeatherError, match=r'no report in 34% of the hours.*rain = "synthetic"'):
        choose_weather(WeatherChoice(file=str(path)))
    made = choose_weather(WeatherChoice(file=str(path), rain="synthetic"))
    assert made.warnings == ()
    assert choose_weather(WeatherChoice(file=str(path), rain="none")).annual_rain() == 0


def chosen(**stated: object) -> WeatherChoice:
    return WeatherChoice.model_validate(stated)


@pytest.mark.parametrize("name", NAMES)
def test_every_climate_can_be_chosen(name: str, tmp_path: Path) -> None:
    """Whatever folder the case is in, a name is no file of it."""
    year = choose_weather(chosen(file=name), tmp_path)
    assert year.station == read_weather(name).station


def test_months_in_both_systems() -> None:
    year = choose_weather(chosen(monthly_rain={"june": "5 in", "july": 80}))
    sums = monthly_sums(year)
    assert sums[5] == pytest.approx(127.0)
    assert sums[6] == pytest.approx(80.0)
    assert year.rain_origin.endswith("June, July brought to stated totals")
    with pytest.raises(ValidationError, match='rain = "none", or monthly_rain'):
        chosen(rain="none", monthly_rain={"june": 10})
    with pytest.raises(ValidationError, match="rain of a month"):
        chosen(monthly_rain={"june": "-1 in"})


def test_shifts_in_both_systems() -> None:
    plain = choose_weather(chosen())
    warm = choose_weather(chosen(warmer="3.6 degF", rain_factor=1.1))
    np.testing.assert_allclose(warm.temperature, plain.temperature + 2.0)
    assert plain.rain is not None
    assert warm.rain is not None
    np.testing.assert_allclose(warm.rain, 1.1 * plain.rain)


def test_twelve_totals_take_the_place_of_unreported_rain(tmp_path: Path) -> None:
    found = read_weather("default")
    path = tmp_path / "no_rain.csv"
    write_csv(found, path)
    lines = path.read_text().splitlines()
    top = next(i for i, line in enumerate(lines) if line.startswith("time,"))
    at = [name.split(" ")[0] for name in lines[top].split(",")].index("rain")
    for i in range(top + 1, top + 4001):
        cells = lines[i].split(",")
        lines[i] = ",".join([*cells[:at], "", *cells[at + 1 :]])
    path.write_text("\n".join(lines) + "\n")
    months = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
              "november", "december")  # fmt: skip
    with pytest.raises(WeatherError, match="no report in"):
        choose_weather(chosen(file=path.name, monthly_rain={"june": 50}), tmp_path)
    year = choose_weather(chosen(file=path.name, monthly_rain=dict.fromkeys(months, 70.0)), tmp_path)
    np.testing.assert_allclose(monthly_sums(year), 70.0)


def record(path: Path, start: datetime, hours: int) -> Path:
    year = read_weather("default")
    index = year.hour_index(hours, start)
    arrays = {name: values[index] for name, values in year.arrays().items()}
    part = replace(year, start=start, typical=False, station="own record", **arrays)  # type: ignore[arg-type]
    write_csv(part, path)
    return path


CASE = """
[detail]
kind = "slab on grade"
[run]
start = 2018-11-01
years = 0.1
[weather]
file = "own.csv"
"""


def test_a_record_of_months_serves_a_run_of_its_dates(tmp_path: Path) -> None:
    """With other weather around it; without any, the case says what is wanted."""
    record(tmp_path / "own.csv", datetime(2018, 10, 1), 3000)
    with pytest.raises(CaseError) as caught:
        build(parse_case(CASE, tmp_path / "case.toml").base)
    (problem,) = caught.value.problems
    assert problem.path == "weather.file"
    assert "weather.rest" in problem.expected
    setup = build(parse_case(CASE + 'rest = "cold-marine"\n', tmp_path / "case.toml").base)
    outdoors = setup.climates["outdoors"]
    year = read_weather("default")
    same = year.hour_index(876, datetime(2018, 11, 1))
    np.testing.assert_allclose(outdoors.temperature, year.temperature[same])
    assert not [doubt for doubt in setup.doubts if doubt.path == "weather.file"]
    late = CASE.replace("2018-11-01", "2019-01-20") + 'rest = "cold-marine"\n'
    doubts = [d for d in build(parse_case(late, tmp_path / "case.toml").base).doubts if d.path == "weather.file"]
    assert "h of the run are not in the record" in doubts[0].found


def test_one_year_of_a_record(tmp_path: Path) -> None:
    record(tmp_path / "own.csv", datetime(2017, 1, 1), 2 * 8760)
    year = choose_weather(chosen(file="own.csv", year=2018), tmp_path)
    assert year.start == datetime(2018, 1, 1)
    assert year.hours == 8760
    with pytest.raises(WeatherError, match="2017, 2018"):
        choose_weather(chosen(file="own.csv", year=2016), tmp_path)
