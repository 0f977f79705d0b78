"""The page on a weather record: its numbers are those of the record, its checks those of a run, and it stands alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from stemwall.cases.cli.commands import app
from stemwall.cases.inputs.display_units import System
from stemwall.cases.report.weather_figures import SECTORS, driven_by_facing, rain_by_direction
from stemwall.cases.report.weather_page import CHECKS, look, write_weather_page
from stemwall.weather.doubts import SLIPS
from stemwall.weather.read import read_weather
from stemwall.weather.table import write_csv
from stemwall.weather.year import WeatherYear

Plant = Callable[[WeatherYear], WeatherYear]


def text_of(page: Path) -> str:
    """Words of a page, figures left out."""
    html = page.read_text(encoding="utf-8")
    assert not re.search(r'(?:src|href)="(?!#)|@import|url\((?!#)', html.split("<svg")[0])
    return re.sub(r"\s+", " ", re.sub(r"<svg.*?</svg>", "", html, flags=re.DOTALL))


@pytest.mark.parametrize(
    ("units", "parts"), [("SI", ("14.4 °C", "910 mm", "273 m")), ("IP", ("58.0 °F", "35.8 in", "896 ft"))]
)
def test_the_default_in_both_systems(tmp_path: Path, units: System, parts: tuple[str, ...]) -> None:
    text = text_of(write_weather_page(look("default"), tmp_path / "a.html", units=units))
    for part in (*parts, "GREENSBORO", "a usual February of the station", "nothing that refuses the file"):
        assert part in text
    assert "would refuse" not in text


def test_an_invented_climate_says_so(tmp_path: Path) -> None:
    text = text_of(write_weather_page(look("hot-dry"), tmp_path / "a.html"))
    assert "an invented year, not a measured one" in text
    assert "INVENTED" in text


def test_rain_by_direction_is_all_rain() -> None:
    year = read_weather("default")
    total = year.annual_rain()
    assert total is not None
    assert rain_by_direction(year).sum() == pytest.approx(total)
    east = replace(year, wind_direction=np.full(year.hours, 90.0))
    assert rain_by_direction(east)[SECTORS // 4].sum() == pytest.approx(total)
    driven = driven_by_facing(east)
    assert int(np.argmax(driven)) == SECTORS // 4
    assert driven[3 * SECTORS // 4] == 0
    assert not driven_by_facing(replace(year, rain=None)).any()


PLANTS: dict[str, Plant] = {
    "clock": lambda year: replace(year, ghi=np.roll(year.ghi, 6)),
    "units": lambda year: replace(year, temperature=np.clip(year.temperature * 1.8 + 32, -70, 60)),
    "stuck": lambda year: replace(year, relative_humidity=np.where(np.arange(8760) < 900, 0.5, year.relative_humidity)),
    "zeros": lambda year: replace(year, wind_speed=np.zeros(8760)),
}


@pytest.mark.parametrize("kind", sorted(PLANTS))
def test_each_planted_fault_shows_in_its_row(tmp_path: Path, kind: str) -> None:
    """And the page is written although a run would refuse the file."""
    write_csv(PLANTS[kind](read_weather("default")), tmp_path / "own.csv")
    looked = look(str(tmp_path / "own.csv"))
    assert looked.refused
    assert {one for one, found in looked.slips.items() if found} >= {kind}
    text = text_of(write_weather_page(looked, tmp_path / "a.html"))
    assert "A run would refuse this file" in text
    assert look(str(tmp_path / "own.csv"), accept=[one for one, found in looked.slips.items() if found]).refused == ()


def test_every_kind_of_slip_is_explained() -> None:
    assert set(CHECKS) == set(SLIPS)


def test_years_are_ranked(tmp_path: Path) -> None:
    year = read_weather("default")
    index = np.tile(np.arange(8760), 3)
    arrays = {name: values[index] for name, values in year.arrays().items()}
    arrays["rain"] = arrays["rain"] * np.repeat([1.0, 2.0, 0.5], 8760)
    three = replace(year, start=datetime(2001, 1, 1), typical=False, **arrays)  # type: ignore[arg-type]
    write_csv(three, tmp_path / "own.csv")
    text = text_of(write_weather_page(look(str(tmp_path / "own.csv")), tmp_path / "a.html"))
    assert "is <b>2002</b>" in text
    order = re.findall(r'<tr><th scope="row">(20\d\d)</th>', text)
    assert order == ["2002", "2001", "2003"]


def test_the_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    runner = CliRunner()
    done = runner.invoke(app, ["weather", "cold-marine"])
    assert done.exit_code == 0, done.output
    assert "SAND POINT" in (tmp_path / "weather.html").read_text(encoding="utf-8")
    absent = runner.invoke(app, ["weather", "none.csv", "--out", "b.html"])
    assert absent.exit_code == 2
    assert "no such file" in absent.output
    assert not (tmp_path / "b.html").exists()
    wrong = runner.invoke(app, ["weather", "default", "--accept", "all", "--rain-gaps", "wet"])
    assert wrong.exit_code == 2
    assert "--accept" in wrong.output
    assert "--rain-gaps" in wrong.output


def test_a_file_with_a_gap_is_shown_and_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_csv(read_weather("default"), tmp_path / "own.csv")
    lines = (tmp_path / "own.csv").read_text().splitlines()
    (tmp_path / "own.csv").write_text("\n".join(lines[:3000] + lines[3010:]) + "\n")
    runner = CliRunner()
    refused = runner.invoke(app, ["weather", "own.csv"])
    assert refused.exit_code == 2
    assert "a gap of 10 h after it" in refused.output
    assert "10 h without a row filled in" in (tmp_path / "weather.html").read_text(encoding="utf-8")
    filled = runner.invoke(app, ["weather", "own.csv", "--fill-gaps", "10"])
    assert filled.exit_code == 0, filled.output
