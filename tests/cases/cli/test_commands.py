"""The command line: exit codes, listed problems, files written and files left alone."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from stemwall.cases.batch import refine_case, single_run
from stemwall.cases.cli import commands
from stemwall.cases.setup.build import Setup
from stemwall.cases.verification import suite
from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.suite import Case
from stemwall.solver.model.errors import SolverError
from stemwall.weather.read import read_weather
from stemwall.weather.table import write_csv
from tests.cases.samples import WALL, changed

runner = CliRunner()


@pytest.fixture
def wall(tmp_path: Path) -> Path:
    path = tmp_path / "wall.toml"
    path.write_text(WALL)
    return path


def test_check_says_what_would_run(wall: Path) -> None:
    result = runner.invoke(commands.app, ["check", str(wall)])
    assert result.exit_code == 0
    assert "No problems found" in result.output


def test_check_says_what_is_doubtful_in_the_weather(wall: Path) -> None:
    year = read_weather("default")
    write_csv(replace(year, wind_direction=np.zeros(year.hours)), wall.parent / "own.csv")
    wall.write_text(changed("years = 0.01", 'years = 0.01\n[weather]\nfile = "own.csv"'))
    result = runner.invoke(commands.app, ["check", str(wall)])
    assert result.exit_code == 0
    assert "unusual:" in result.output
    assert "weather.file: found own.csv, wind_direction: zeros only" in result.output
    wall.write_text(changed("years = 0.01", 'years = 0.01\n[weather]\naccept = ["clocks"]'))
    result = runner.invoke(commands.app, ["check", str(wall)])
    assert result.exit_code == 2
    assert "weather.accept" in result.output


def test_bad_case_lists_all_problems_and_no_traceback(wall: Path) -> None:
    wall.write_text(changed("years = 0.01", "years = -1", changed('"50 %"', '"140 %"')))
    result = runner.invoke(commands.app, ["run", str(wall)])
    assert result.exit_code == 2
    assert "wall.toml:4  run.years" in result.output
    assert "wall.toml:7  indoor.room.humidity" in result.output
    assert "2 problems; nothing was run." in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "arguments",
    [
        ["run", "nowhere.toml"],
        ["run", "--variant", "nowhere"],
        ["new", "crawl"],
        ["materials", "show", "xps"],
        ["draw", "--format", "doc"],
        ["report", "nowhere.nc"],
        ["report", __file__, "--refined", "nowhere.json"],
        ["refine", "--study", "time"],
        ["run", "--years", "-1"],
    ],
)
def test_bad_input_ends_with_two(arguments: list[str]) -> None:
    result = runner.invoke(commands.app, arguments)
    assert result.exit_code == 2
    assert "expected" in result.output or "Invalid value" in result.output


def test_new_writes_once(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert runner.invoke(commands.app, ["new", "crawlspace", "--out", str(path)]).exit_code == 0
    text = path.read_text()
    path.write_text("# mine\n" + text)
    assert runner.invoke(commands.app, ["new", "slab", "--out", str(path)]).exit_code == 2
    assert path.read_text() == "# mine\n" + text
    assert runner.invoke(commands.app, ["check", str(path)]).exit_code == 0


def test_draw_writes_one_file_per_variant(wall: Path, tmp_path: Path) -> None:
    wall.write_text(WALL + '[[variant]]\nname = "No Break!"\nchange = { "membrane.break.liquid" = "open" }\n')
    result = runner.invoke(commands.app, ["draw", str(wall), "--out", str(tmp_path / "out"), "--mesh"])
    assert result.exit_code == 0
    assert {p.name for p in (tmp_path / "out").iterdir()} == {"wall-base.svg", "wall-no-break.svg"}


def test_materials() -> None:
    assert "clay_cap" in runner.invoke(commands.app, ["materials", "list", "clay"]).output
    assert "density" in runner.invoke(commands.app, ["materials", "show", "xps_25"]).output
    assert "57 m" in runner.invoke(commands.app, ["materials", "show", "pe_015"]).output
    concrete = runner.invoke(commands.app, ["materials", "show", "concrete_wc050"]).output
    assert "long-term" in concrete
    assert "3e-13 m/s" in concrete
    assert "WUCONCRETE" in concrete


def shown(*words: str) -> str:
    result = runner.invoke(commands.app, ["materials", "show", *words], env={"COLUMNS": "300"})
    assert result.exit_code == 0, result.output
    return result.output


def test_a_material_is_shown_with_bands_and_what_the_check_asks() -> None:
    assert "0.015 to 0.03" in shown("concrete_wc050")
    assert "usual spread" in shown("xps_25")
    assert "1/porosity" in shown("mineral_wool_batt_40")


def test_a_material_in_inch_pound_units() -> None:
    """25 kg/m3 is 1.561 lb/ft3, 0.0288 W/(m K) is 0.1997 Btu in/(h ft2 degF); 57 m are 0.06 perm."""
    text = shown("xps_25", "--units", "IP")
    assert "1.561 lb/ft³" in text
    assert "0.1997 Btu in/(h ft² °F)" in text
    assert "perm-inch" in text
    assert "0.06 perm" in shown("pe_015", "-u", "IP")


def test_two_materials_side_by_side() -> None:
    text = shown("eps_ii", "xps_25")
    assert "0.0346 W/(m K)" in text
    assert "0.0288 W/(m K)" in text
    assert "µ with liquid, xps_25" in text


def test_functions_of_a_material_in_a_figure(tmp_path: Path) -> None:
    target = tmp_path / "brick.svg"
    assert "brick.svg" in shown("brick_1700", "brick_2000", "--figure", str(target))
    text = target.read_text(encoding="utf-8")
    assert "<svg" in text
    refused = runner.invoke(commands.app, ["materials", "show", "pe_015", "-f", str(target)])
    assert refused.exit_code == 2
    refused = runner.invoke(commands.app, ["materials", "show", "brick_1700", "-f", str(tmp_path / "x.nothing")])
    assert refused.exit_code == 2


def test_check_prints_what_is_asked_about_the_materials_of_a_case() -> None:
    text = runner.invoke(commands.app, ["check"], env={"COLUMNS": "300"}).output
    assert "asks about" in text
    assert "mineral_wool_batt_40" in text


def test_run_writes_a_result(wall: Path, tmp_path: Path) -> None:
    result = runner.invoke(commands.app, ["run", str(wall), "--out", str(tmp_path / "out"), "--years", "0.001"])
    assert result.exit_code == 0, result.output
    assert (tmp_path / "out" / "wall-base.nc").stat().st_size > 0


def test_failed_run_ends_with_three(wall: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> Path:
        raise SolverError("hour 3: no convergence")

    monkeypatch.setattr(single_run, "run_case", fail)
    result = runner.invoke(commands.app, ["run", str(wall)])
    assert result.exit_code == 3
    assert "hour 3: no convergence" in result.output


def test_interrupted_run_ends_with_130(wall: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> Path:
        error = KeyboardInterrupt()
        error.add_note("what was computed is in wall-base.interrupted.nc")
        raise error

    monkeypatch.setattr(single_run, "run_case", interrupt)
    result = runner.invoke(commands.app, ["run", str(wall)])
    assert result.exit_code == 130
    assert "wall-base.interrupted.nc" in result.output


def _suite(monkeypatch: pytest.MonkeyPatch, error: float) -> None:
    """Put a suite of two made-up cases in the place of the real one; the second is off by ``error``."""

    def comparisons(off: float) -> list[Comparison]:
        points = np.arange(5.0)
        return [Comparison("made up", "by hand", "T [degC]", points, points + off, points, 0.2, axis="x [m]")]

    pair = (
        Case("right", "A right case", "Made up", lambda: comparisons(0.0)),
        Case("other", "Another case", "Made up", lambda: comparisons(error)),
    )
    monkeypatch.setattr(suite, "CASES", pair)


def test_verify_writes_page_and_numbers(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    _suite(monkeypatch, 0.1)
    result = runner.invoke(commands.app, ["verify", "--out", str(tmp_path / "new" / "page.html")])
    assert result.exit_code == 0, result.output
    assert "2 of 2 cases hold" in result.output
    assert "Another case" in (tmp_path / "new" / "page.html").read_text()
    assert [case["holds"] for case in json.loads((tmp_path / "new" / "page.json").read_text())["cases"]] == [True, True]


@pytest.mark.parametrize("error", [0.3, float("nan")])
def test_verify_ends_with_one_if_a_case_does_not_hold(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, error: float
) -> None:
    _suite(monkeypatch, error)
    result = runner.invoke(commands.app, ["verify", "--out", str(tmp_path / "page.html")])
    assert result.exit_code == 1
    assert "1 of 2 cases hold" in result.output
    assert "does not hold" in result.output
    assert (tmp_path / "page.html").is_file()


def test_interrupted_refinement_ends_with_130(wall: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(refine_case, "refine_case", interrupt)
    result = runner.invoke(commands.app, ["refine", str(wall)])
    assert result.exit_code == 130
    assert "nothing was written" in result.output


def test_refinement_takes_the_base_and_a_year_at_most(wall: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wall.write_text(changed("years = 0.01", "years = 3") + '[[variant]]\nname = "other"\nchange = {}\n')
    asked: list[tuple[str, int]] = []

    def note(setup: Setup, *_: object) -> tuple[list[object], tuple[Path, Path]]:
        asked.append((setup.case.name, setup.hours))
        return [], (Path("a.json"), Path("a.csv"))

    monkeypatch.setattr(refine_case, "refine_case", note)
    assert runner.invoke(commands.app, ["refine", str(wall)]).exit_code == 0
    assert runner.invoke(commands.app, ["refine", str(wall), "--variant", "other", "--years", "2"]).exit_code == 0
    assert asked == [("base", 8760), ("other", 17520)]


def test_help_is_fast_and_complete() -> None:
    command = [sys.executable, "-c", "from stemwall.cases.cli.commands import main; main()", "--help"]
    begun = time.perf_counter()
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 0
    assert time.perf_counter() - begun < 3.0
    for word in ("run", "refine", "draw", "check", "new", "report", "materials", "verify"):
        assert word in result.stdout


def test_help_imports_nothing_heavy() -> None:
    heavy = "('numpy', 'numba', 'pint', 'matplotlib', 'dask', 'distributed', 'pandas')"
    code = f"import sys, stemwall.cases.cli.commands; print([m for m in {heavy} if m in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"
