"""Finer computations: what is changed, what is compared, what is written, and that errors shrink."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from rich.console import Console
from typer.testing import CliRunner

from stemwall.cases.batch.refinement import (
    FIRST_HOURS,
    STUDIES,
    Convergence,
    compare,
    compared,
    converge,
    finer_steps,
    read,
    with_more_ground,
    write,
)
from stemwall.cases.batch.refinement_tables import tables
from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.cli import commands
from stemwall.cases.report.page import write_report
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.model.section import Opening, Probe, Region
from stemwall.solver.model.settings import YEAR, MeshRule
from tests.cases.samples import WALL, changed, setup

HOURS = 60
TEXT = changed("years = 0.01", f"years = {HOURS / 8760}", WALL)
COARSE = MeshRule(0.05, 2.0, 1.0, 1)


@pytest.fixture(scope="module")
def found() -> Convergence:
    return converge(replace(setup(TEXT), mesh=COARSE))


def test_more_ground_moves_the_outer_sides_only() -> None:
    section = setup(WALL).section
    grown = with_more_ground(section)
    assert (grown.x0, grown.y0, grown.x1, grown.y1) == (-2.0, -2.0, 1.2, 1.0)
    [soil] = [r for r in grown.regions if r.name == "soil"]
    assert (soil.x0, soil.y0, soil.x1, soil.y1) == (-2.0, -2.0, 1.2, 0.0)
    [outside] = [o for o in grown.openings if o.name == "air outside"]
    assert (outside.x0, outside.x1) == (-2.0, 0.0)
    [wall] = [r for r in grown.regions if r.name == "wall"]
    assert wall == next(r for r in section.regions if r.name == "wall")
    assert grown.probes == section.probes
    assert grown.membranes == section.membranes
    assert build_mesh(grown, COARSE).cells > build_mesh(section, COARSE).cells


def test_ground_that_begins_at_the_origin_stays() -> None:
    section = replace(
        setup(WALL).section,
        x0=0.0, y0=0.0,
        items=(Region("all", "soil_loam", 0.0, 0.0, 1.2, 1.0), Opening("air", "room", 0.5, 0.5, 1.2, 1.0)),
        membranes=(), probes=(Probe("p", 0.1, 0.1),),
    )  # fmt: skip
    assert with_more_ground(section) == section


def test_finer_steps_halve_every_wanted_error() -> None:
    given = setup(WALL)
    finer = finer_steps(given).accuracy
    for name in ("temperature", "humidity", "saturation", "pressure", "resolved", "longest_step"):
        assert getattr(finer, name) == getattr(given.accuracy, name) / 2


def test_every_study_is_really_finer(found: Convergence) -> None:
    by_name = {one.study: one for one in found.findings}
    assert list(by_name) == list(STUDIES)
    assert by_name["mesh"].cells > 2.5 * found.cells
    assert by_name["steps"].cells == found.cells
    assert by_name["steps"].steps > found.steps
    assert by_name["ground"].cells > found.cells
    for one in found.findings:
        assert [place.place for place in one.places] == ["inner face"]
        assert 0.0 < one.places[0].temperature_mean <= one.places[0].temperature_max


def test_differences_are_those_of_the_results(tmp_path: Path) -> None:
    with xr.open_dataset(simulate_setup(replace(setup(TEXT), mesh=COARSE), tmp_path / "a.nc")) as opened:
        base = opened.load()
    other = base.copy(deep=True)
    other["probe_temperature"][5, 0] += 2.0
    other["probe_relative_humidity"][:, 0] -= 0.01
    other["heat_flow"][:, :] += 100.0
    finding = compare(base, other, "made up", "by hand")
    [place] = finding.places
    assert place.temperature_max == pytest.approx(2.0)
    assert place.temperature_mean == pytest.approx(2.0 / HOURS)
    assert place.humidity_max == pytest.approx(0.01)
    assert place.humidity_mean == pytest.approx(0.01)
    assert (place.mould, place.moisture) == (None, None)
    surfaces = base["surface_group"].values
    for row in finding.heat:
        assert row.change == pytest.approx(0.1 * HOURS * np.count_nonzero(surfaces == row.climate))


def test_the_first_days_of_a_long_enough_run_are_not_compared() -> None:
    assert compared(60) == slice(0, 60)
    assert compared(2 * FIRST_HOURS) == slice(FIRST_HOURS, 2 * FIRST_HOURS)
    assert compared(YEAR) == slice(FIRST_HOURS, YEAR)
    assert compared(3 * YEAR) == slice(2 * YEAR, 3 * YEAR)


def test_heat_is_compared_only_where_as_much_of_the_section_is_met(found: Convergence) -> None:
    by_name = {one.study: [row.climate for row in one.heat] for one in found.findings}
    assert set(by_name["mesh"]) == set(by_name["steps"]) >= {"outdoors", "ground", "room"}
    assert by_name["ground"] == ["room"]


def test_the_same_result_differs_in_nothing(tmp_path: Path) -> None:
    with xr.open_dataset(simulate_setup(replace(setup(TEXT), mesh=COARSE), tmp_path / "a.nc")) as opened:
        base = opened.load()
    [place] = compare(base, base, "same", "same").places
    assert place.temperature_max == place.humidity_max == 0.0


def test_mould_and_wood_are_compared_where_they_apply(tmp_path: Path) -> None:
    text = TEXT + 'kind = "wood"\nmould_class = "VS"\n'
    with xr.open_dataset(simulate_setup(replace(setup(text), mesh=COARSE), tmp_path / "a.nc")) as opened:
        base = opened.load()
    wetter = base.copy(deep=True)
    wetter["probe_relative_humidity"][:] = 0.99
    wetter["probe_temperature"][:] = 25.0
    wetter["probe_water_content"][:] *= 2.0
    [place] = compare(base, wetter, "wetter", "by hand").places
    assert place.mould is not None
    assert place.mould_change is not None
    assert place.mould_change > 0.0
    assert place.moisture_change == pytest.approx(place.moisture)


def test_findings_are_written_and_read_back(found: Convergence, tmp_path: Path) -> None:
    as_json, as_csv = write(found, tmp_path / "new" / "wall.json", tmp_path / "new" / "wall.csv")
    assert read(as_json) == found
    with as_csv.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["study"] for row in rows] == list(STUDIES)
    assert float(rows[0]["temperature_max"]) == found.findings[0].places[0].temperature_max


@pytest.mark.parametrize("text", ["{}", "[]", "no json", '{"findings": [1]}'])
def test_another_file_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "x.json").write_text(text)
    with pytest.raises(ValueError, match=r"x\.json: found no findings"):
        read(tmp_path / "x.json")


def test_tables_name_places_and_heat(found: Convergence) -> None:
    console = Console(width=160, record=True, file=None)
    with console.capture() as shown:
        console.print(*tables(found))
    assert shown.get().count("inner face") == 3
    assert "heat into the section" in shown.get()


def test_the_report_shows_the_findings_and_whose_they_are(found: Convergence, tmp_path: Path) -> None:
    made = replace(setup(TEXT), mesh=COARSE)
    result = simulate_setup(made, tmp_path / "a.nc")
    page = write_report([result], tmp_path / "a.html", findings=[found]).read_text()
    assert "cells of half the size" in page
    assert "another case text" not in page
    other = replace(found, case_sha256="0" * 64)
    assert "another case text" in write_report([result], tmp_path / "b.html", findings=[other]).read_text()


def test_the_command_writes_its_tables(tmp_path: Path) -> None:
    (tmp_path / "wall.toml").write_text(TEXT)
    arguments = ["refine", str(tmp_path / "wall.toml"), "--out", str(tmp_path), "--study", "steps", "--years", "0.002"]
    result = CliRunner().invoke(commands.app, arguments)
    assert result.exit_code == 0, result.output
    assert [one.study for one in read(tmp_path / "wall-base-refined.json").findings] == ["steps"]
    bad = CliRunner().invoke(commands.app, ["refine", str(tmp_path / "wall.toml"), "--study", "time"])
    assert bad.exit_code == 2
    assert "expected mesh, steps, ground" in bad.output
