"""A short run end to end: the file, its balance, its protection, interruption, and what fails early."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.materials.catalogue import catalogue
from stemwall.solver.integration.integrator import TimeIntegrator
from stemwall.solver.model.climate import FACINGS, Climate, FacingLoads, indoor
from stemwall.solver.model.errors import SectionError, SolverError
from stemwall.solver.model.section import Edge, Membrane, Opening, Probe, Region, Section
from stemwall.solver.model.settings import MeshRule, Output
from stemwall.solver.results.result_names import failed_path, interrupted_path
from stemwall.solver.simulate import Progress, simulate
from stemwall.weather.ground import GroundWave

HOURS = 72
START = datetime(2001, 1, 10)


def wall_section(*extra: Probe) -> Section:
    """A concrete wall in soil with foam inside, between outdoors and a room."""
    return Section(
        -1.0, -1.5, 1.2, 0.5,
        items=(
            Region("soil", "soil_loam", -1.0, -1.5, 1.2, 0.0),
            Opening("air", "outdoors", -1.0, 0.0, 0.0, 0.5),
            Region("wall", "concrete_wc050", 0.0, -1.0, 0.2, 0.5),
            Region("foam", "xps_25", 0.2, -0.8, 0.25, 0.5),
            Opening("cellar", "room", 0.25, -0.8, 1.2, 0.5),
        ),
        membranes=(Membrane("sheet", 0.25, -0.8, 1.2, -0.8, 60.0, 60.0),),
        edges=(Edge("bottom", "ground", "table"),),
        water_table=-3.0,
        probes=(
            Probe("concrete face", 0.2, 0.1, "wall"),
            Probe("foam face", 0.25, 0.1, "foam", "surface", "R"),
            *extra,
        ),
    )  # fmt: skip


def climates() -> dict[str, Climate]:
    """A frosty wave outdoors with an hour of rain, a steady room."""
    hours = np.arange(HOURS)
    zeros = np.zeros(HOURS)
    rain = np.where(hours == 30, 1e-3, 0.0)
    sun = np.maximum(0.0, 300 * np.sin(2 * np.pi * (hours - 6) / 24))
    loads = FacingLoads(zeros + 12.0, zeros, zeros + 250.0, sun, rain)
    outdoors = Climate(
        "outdoors", 2.0 + 4 * np.sin(2 * np.pi * (hours - 8) / 24), zeros + 0.8, {f: loads for f in FACINGS}
    )
    return {"outdoors": outdoors, "room": indoor("room", zeros + 20.0, zeros + 0.45)}


def run(path: Path, section: Section | None = None, **options: object) -> Path:
    materials = {key: catalogue().material(key) for key in ("soil_loam", "concrete_wc050", "xps_25")}
    return simulate(
        section or wall_section(), materials,
        climates(), start=START, hours=HOURS, ground=GroundWave(10.0, 8.0, 20.0), path=path,
        mesh=MeshRule(finest=0.03, growth=1.8, coarsest=0.5, layer_cells=2), output=Output(24), **options,
    )  # type: ignore[arg-type]  # fmt: skip


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    with xr.open_dataset(run(tmp_path_factory.mktemp("run") / "wall.nc", title="a wall")) as dataset:
        return dataset.load()


def test_a_balance_open_by_more_than_a_millionth_fails_the_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Regression: it was a thousandth."""
    plainly = TimeIntegrator.advance_to

    def losing(integrator: TimeIntegrator, target: float) -> None:
        plainly(integrator, target)
        integrator.injected[1] += 1e-6  # kilograms that no node gets

    monkeypatch.setattr(TimeIntegrator, "advance_to", losing)
    with pytest.raises(SolverError, match=r"^a balance of water that is open by .*; 1e-06 is the most"):
        run(tmp_path / "open.nc")
    with xr.open_dataset(failed_path(tmp_path / "open.nc")) as dataset:
        assert 1e-6 < dataset.attrs["balance_water_relative"] < 1e-4


def test_the_file_is_complete_and_has_units_everywhere(result: xr.Dataset) -> None:
    assert result.sizes["time"] == HOURS
    assert result["time"].values[0] == np.datetime64("2001-01-10T01:00")
    assert list(result["probe"].values) == ["concrete face", "foam face"]
    for name, variable in result.variables.items():
        if variable.dtype.kind == "f":
            assert "units" in {**variable.attrs, **variable.encoding}, name
    assert result.attrs["completed"] == "yes"
    assert result.attrs["title"] == "a wall"
    assert np.isfinite(result["probe_temperature"].values).all()
    assert set(result["field_time"].dt.hour.values) >= {0}


def test_the_balance_closes(result: xr.Dataset) -> None:
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6


def test_stored_water_changes_by_the_flows(result: xr.Dataset) -> None:
    """The same closure from the file alone, surface by surface."""
    flows = (result["vapour_flow"] + result["liquid_flow"]).sum("surface").values * 3600.0
    change = np.diff(result["stored_water"].values)
    np.testing.assert_allclose(change, flows[1:], atol=1e-6 * np.abs(flows).sum())


def test_rain_is_taken_up_or_refused_in_full(result: xr.Dataset) -> None:
    """The wet hour brings 3.6 kg/m2 on every outdoor face; the room gets none."""
    outdoors = result["surface_climate"] == "outdoors"
    offered = (result["liquid_flow"] + result["water_refused"]).where(outdoors, drop=True)
    length = result["surface_length"].where(outdoors, drop=True)
    np.testing.assert_allclose(offered[30].values, 1e-3 * length.values, rtol=1e-6)
    room = result["surface_climate"] == "room"
    assert np.all(result["liquid_flow"].where(room, drop=True).values == 0.0)


def test_warm_room_loses_heat_and_the_foam_face_is_warmer_than_the_concrete(result: xr.Dataset) -> None:
    room = result["surface_climate"] == "room"
    assert result["heat_flow"].where(room, drop=True).sum() > 0
    last = result["probe_temperature"][-1]
    assert last.sel(probe="foam face") > last.sel(probe="concrete face")


def test_a_failed_run_leaves_an_earlier_result_alone(tmp_path: Path) -> None:
    path = tmp_path / "wall.nc"
    path.write_bytes(b"earlier result")

    def break_off(progress: Progress) -> None:
        raise RuntimeError("stop")

    with pytest.raises(RuntimeError, match="stop"):
        run(path, progress=break_off)
    assert path.read_bytes() == b"earlier result"
    assert sorted(tmp_path.iterdir()) == [failed_path(path), path]
    with xr.open_dataset(failed_path(path)) as dataset:
        assert (dataset.attrs["completed"], dataset.attrs["reason"]) == ("failed", "stop")
        assert dataset.attrs["hour"] == dataset.sizes["time"] > 0


def test_an_interrupted_run_keeps_what_was_computed(tmp_path: Path) -> None:
    path = tmp_path / "wall.nc"

    def interrupt(progress: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(path, progress=interrupt)
    assert not path.exists()
    with xr.open_dataset(interrupted_path(path)) as dataset:
        assert dataset.attrs["completed"] == "interrupted"
        assert 0 < dataset.sizes["time"] <= HOURS
        assert np.isfinite(dataset["stored_water"].values).all()


def test_a_complete_run_clears_what_lay_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "wall.nc"
    for left in (failed_path(path), interrupted_path(path), tmp_path / "wall.0123abcd.nc.partial"):
        left.write_bytes(b"of an earlier run")
    assert run(path) == path
    assert list(tmp_path.iterdir()) == [path]


def test_probes_outside_are_refused_all_at_once(tmp_path: Path) -> None:
    section = wall_section(Probe("in the air", 0.8, 0.2), Probe("no such region", 0.1, 0.0, "roof"))
    with pytest.raises(SectionError) as caught:
        run(tmp_path / "wall.nc", section)
    assert len(caught.value.problems) == 2
    assert "'in the air'" in caught.value.problems[0]
    assert "'roof'" in caught.value.problems[1]
    assert not (tmp_path / "wall.nc").exists()
