"""Weather files whose text was changed at random: the reader gives a year or problems, nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pvlib
import pytest

from stemwall.cases.surroundings.indoor_file import read_air_file
from stemwall.weather import daily
from stemwall.weather.climates import kept_file
from stemwall.weather.daily import read_days
from stemwall.weather.doubts import SLIPS
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.read import read_weather
from stemwall.weather.table import write_csv
from stemwall.weather.year import WeatherYear

Change = Callable[[np.random.Generator, list[str]], None]

CELLS = (
    "", "nan", "inf", "-inf", "1e999", "-9900", "-9999", "9999", "999999", "99.9", "0", "x", '"', "'", ";", "1,5",
    "1;5", "\t", "٣", "2001-02-30T00:00", "01/01/0000", "24:00", "25:00", "12:60", "99/99/9999", "02/29/2000",
    "é", "#", "[", "1" * 400, "9" * 18, "-0", "true", "None", "\ufeff", "]", "temperature [degC]", "ghi [K]",
    "rain [mm/h]", "LOCATION", "0001-01-01",
)  # fmt: skip
"""What cells are replaced by."""


def _row(rng: np.random.Generator, lines: list[str]) -> int:
    """A row, the first ones oftener."""
    return int(rng.integers(min(len(lines), 20)) if rng.random() < 0.5 else rng.integers(len(lines)))


def change_cell(rng: np.random.Generator, lines: list[str]) -> None:
    i = _row(rng, lines)
    cells = lines[i].split(",")
    cells[int(rng.integers(len(cells)))] = str(rng.choice(CELLS))
    lines[i] = ",".join(cells)


def change_column(rng: np.random.Generator, lines: list[str]) -> None:
    at, value = int(rng.integers(1, 40)), str(rng.choice(CELLS))
    for i in range(len(lines) // 2, len(lines)):
        cells = lines[i].split(",")
        if at < len(cells):
            cells[at] = value
            lines[i] = ",".join(cells)


def change_mark(rng: np.random.Generator, lines: list[str]) -> None:
    i = _row(rng, lines)
    at = int(rng.integers(len(lines[i]) + 1))
    lines[i] = lines[i][:at] + chr(int(rng.integers(1, 300))) + lines[i][at + 1 :]


def drop_rows(rng: np.random.Generator, lines: list[str]) -> None:
    i = _row(rng, lines)
    del lines[i : i + int(rng.choice([1, 2, 24, 744, 8000]))]


def repeat_rows(rng: np.random.Generator, lines: list[str]) -> None:
    i = _row(rng, lines)
    lines[i:i] = lines[i : i + int(rng.choice([1, 24]))]


def swap_rows(rng: np.random.Generator, lines: list[str]) -> None:
    i, j = _row(rng, lines), _row(rng, lines)
    lines[i], lines[j] = lines[j], lines[i]


def cut_end(rng: np.random.Generator, lines: list[str]) -> None:
    del lines[int(rng.integers(1, len(lines) + 1)) :]


def other_marks(rng: np.random.Generator, lines: list[str]) -> None:
    old, new = rng.choice([",", ".", "/", ":", "-", "\n", "0"]), rng.choice([";", ",", ".", "\t", " ", "T", "", "1"])
    lines[:] = [line.replace(str(old), str(new)) for line in lines]


CHANGES: tuple[Change, ...] = (
    change_cell, change_cell, change_column, change_mark, drop_rows, repeat_rows, swap_rows, cut_end, other_marks
)  # fmt: skip


def epw_lines(year: WeatherYear) -> list[str]:
    """The same year as EPW text."""
    lines = [f"LOCATION,Nowhere,-,ZZZ,measured,0,{year.latitude},{year.longitude},{year.utc_offset},{year.elevation}"]
    lines += [f"HEADER {i}" for i in range(7)]
    for i, time in enumerate(year.times.astype("datetime64[h]").tolist()):
        row: list[object] = [0] * 35
        row[:6] = [time.year, time.month, time.day, time.hour + 1, 60, "x"]
        row[6:10] = [year.temperature[i], 99.9, year.relative_humidity[i] * 100, year.pressure[i]]
        row[12:16] = [year.sky_longwave[i], year.ghi[i], year.dni[i], year.dhi[i]]
        row[20:23] = [year.wind_direction[i], year.wind_speed[i], 5]
        lines.append(",".join(map(str, row)))
    return lines


@pytest.fixture(scope="module")
def texts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """Lines of good files, by name."""
    year = read_weather("default")
    plain = tmp_path_factory.mktemp("good") / "a.csv"
    write_csv(year, plain)
    other = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    return {
        "plain.csv": plain.read_text().splitlines(),
        "tmy3.csv": kept_file("default").read_text().splitlines(),
        "gauge.csv": other.read_text().splitlines(),
        "other.epw": epw_lines(year),
    }


@pytest.mark.draws(6, 120)
@pytest.mark.filterwarnings("ignore")  # those of the libraries about odd text are no fault
def test_a_year_or_problems(
    draw: np.random.Generator, texts: dict[str, list[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STEMWALL_CACHE_DIR", "")
    name = str(draw.choice(list(texts)))
    path = spoilt(draw, texts[name], tmp_path / name)
    accept = SLIPS if draw.random() < 0.5 else ()
    year, problems = None, tuple[Problem, ...]()
    try:
        year = read_weather(path, fill_gaps=int(draw.choice([0, 0, 3, 1000])), accept=accept)
    except WeatherError as error:
        problems = error.problems
    assert (year is None) == bool(problems)
    assert all(problem.place and problem.found and problem.expected for problem in problems)


def spoilt(draw: np.random.Generator, lines: list[str], path: Path) -> Path:
    """A file of these lines, changed up to three times."""
    lines = list(lines)
    for _ in range(int(draw.integers(1, 4))):
        if lines:
            CHANGES[int(draw.integers(len(CHANGES)))](draw, lines)
    path.write_text("\n".join(lines), encoding="utf-8", newline="")
    return path


@pytest.mark.draws(5, 60)
@pytest.mark.filterwarnings("ignore")
def test_days_or_problems(draw: np.random.Generator, tmp_path: Path) -> None:
    lines = (Path(daily.__file__).parent / "uscrn_2020_ithaca_ny.csv").read_text().splitlines()
    found, problems = None, tuple[Problem, ...]()
    try:
        found = read_days(spoilt(draw, lines, tmp_path / "days.csv"))
    except WeatherError as error:
        problems = error.problems
    assert (found is None) == bool(problems)


@pytest.mark.draws(5, 60)
def test_indoor_air_or_a_reason(draw: np.random.Generator, tmp_path: Path) -> None:
    rows = [f"{20 + i % 7 / 10},{40 + i % 11}" for i in range(8760)]
    found, reason = None, ""
    try:
        found = read_air_file(spoilt(draw, ["temperature [degC],relative_humidity [%]", *rows], tmp_path / "air.csv"))
    except ValueError as error:
        reason = str(error)
    assert (found is None) == bool(reason)
