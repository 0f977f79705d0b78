"""Measured indoor air: right files are read, slips are refused with their name or asked about."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import build
from stemwall.cases.surroundings.indoor_file import read_air_file
from tests.cases.samples import WALL, changed

HOURS = np.arange(8760)
Change = Callable[[pd.DataFrame], object]


def table() -> pd.DataFrame:
    """A year of a heated room."""
    return pd.DataFrame(
        {
            "temperature [degC]": np.round(20 + 2 * np.sin(HOURS / 24), 2),
            "relative_humidity [%]": np.round(45 + 10 * np.cos(HOURS / 31), 2),
        }
    )


def write(tmp_path: Path, air: pd.DataFrame) -> Path:
    path = tmp_path / "air.csv"
    path.write_text("# a house\n" + air.to_csv(index=False))
    return path


def refused(path: Path) -> str:
    with pytest.raises(ValueError, match=r".") as caught:
        read_air_file(path)
    return str(caught.value)


def test_a_right_file(tmp_path: Path) -> None:
    air = read_air_file(write(tmp_path, table()))
    np.testing.assert_array_equal(air.temperature, table()["temperature [degC]"])
    np.testing.assert_allclose(air.humidity, table()["relative_humidity [%]"] / 100)
    assert air.doubts == ()


@pytest.mark.parametrize("heading", ["temperature", "temperature [degF]", "temperature [K]"])
def test_units_of_the_heading(tmp_path: Path, heading: str) -> None:
    warm = table()["temperature [degC]"]
    stated = {"temperature": warm, "temperature [degF]": warm * 1.8 + 32, "temperature [K]": warm + 273.15}[heading]
    air = pd.DataFrame({heading: stated, "relative_humidity [1]": table()["relative_humidity [%]"] / 100})
    found = read_air_file(write(tmp_path, air))
    np.testing.assert_allclose(found.temperature, warm, atol=1e-9)
    np.testing.assert_allclose(found.humidity, table()["relative_humidity [%]"] / 100)


def test_times_are_read_if_there_are_any(tmp_path: Path) -> None:
    times = pd.date_range("2020-01-01", periods=8784, freq="h")
    air = table().set_index(times[(times.month != 2) | (times.day != 29)]).rename_axis("time").reset_index()
    assert read_air_file(write(tmp_path, air)).doubts == ()
    later = air.assign(time=air["time"] + pd.Timedelta(hours=6))
    assert "starts with the first hour of a year; it starts with 2020-01-01 06:00" in refused(write(tmp_path, later))
    twice = air.copy()
    twice.loc[50, "time"] = twice.loc[49, "time"]
    assert "hours that follow each other; row 53 is" in refused(write(tmp_path, twice))
    american = air.assign(time=air["time"].dt.strftime("%m/%d/%Y %H:%M"))
    assert "such as 2001-01-31T13:00; rows 3-8762" in refused(write(tmp_path, american))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda t: t.assign(**{"relative_humidity [%]": t["relative_humidity [%]"] / 100}), "fractions from 0 to 1?"),
        (
            lambda t: t.rename(columns={"relative_humidity [%]": "relative_humidity [1]"}),
            "per cent under a heading without %?",
        ),
        (lambda t: t.assign(**{"temperature [degC]": t["temperature [degC]"] * 1.8 + 32}), "°F? Then write"),
        (lambda t: t.assign(**{"temperature [degC]": t["temperature [degC]"] + 273.15}), "K? Then write"),
        (lambda t: t.assign(**{"temperature [degC]": 0.0}), "all are 0: not measured?"),
        (lambda t: t.assign(**{"relative_humidity [%]": 0.0}), "more than 0 and up to 100 %; row 3 is 0.0"),
        (lambda t: t.rename(columns={"temperature [degC]": "temp"}), "missing: temperature"),
        (lambda t: t.rename(columns={"temperature [degC]": "temperature [mm]"}), "a unit of column temperature"),
        (lambda t: t.iloc[:8000], "whole years of 8760 hourly rows; it has 8000"),
        (lambda t: pd.concat([t, t.iloc[:24]]), "it has 8784; leave out 29 February"),
        (lambda t: t.iloc[:0], "it has 0"),
        (lambda t: t.assign(**{"temperature [degC]": t["temperature [degC]"].where(HOURS != 7)}), "row 10 has ''"),
    ],
)
def test_slips_are_named(tmp_path: Path, change: Change, said: str) -> None:
    changed_table = change(table())
    assert isinstance(changed_table, pd.DataFrame)
    assert said in refused(write(tmp_path, changed_table))


def test_foreign_files(tmp_path: Path) -> None:
    path = write(tmp_path, table())
    text = path.read_text()
    path.write_text(text.replace(",", ";"))
    assert "commas between the cells" in refused(path)
    path.write_text(text.replace(".", ","))
    assert refused(path)
    path.write_bytes(text.encode("utf-16"))
    assert "UTF-16" in refused(path)
    path.write_text("")
    assert "an empty file" in refused(path)
    assert "a folder" in refused(tmp_path)
    assert "no such file" in refused(tmp_path / "none.csv")


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes in folders")
def test_a_pipe_is_not_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert "a pipe" in refused(tmp_path / "pipe.csv")


@pytest.mark.parametrize(("hours", "asked"), [(240, False), (300, True)])
def test_stuck_humidity_is_asked_about(tmp_path: Path, hours: int, asked: bool) -> None:
    air = table()
    air.loc[1000 : 1000 + hours - 1, "relative_humidity [%]"] = 100.0
    found = read_air_file(write(tmp_path, air)).doubts
    assert [text for text, _ in found] == (
        [f"relative_humidity of 100 % for {hours} h from hour 1000 on: a stuck sensor?"] if asked else []
    )


def test_the_case_asks(tmp_path: Path) -> None:
    air = table()
    air.loc[1000:1999, "relative_humidity [%]"] = 100.0
    write(tmp_path, air)
    start = WALL.index("[indoor.room]")
    end = WALL.index("\n[", start)
    text = changed(WALL[start:end], '[indoor.room]\nfile = "air.csv"\n')
    (doubt,) = build(parse_case(text, tmp_path / "case.toml").variants()[0]).doubts
    assert doubt.path == "indoor.room.file"
    assert "100 % for 1000 h" in doubt.found
