"""Floods: hydrostatic rest below the water, wicking above it, drying after it, and balances that close."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.verification.rig import Bench, bar
from stemwall.materials.catalogue import catalogue
from stemwall.materials.reference import gardner_soil
from stemwall.solver.forcing.flood import WATER_FILM
from stemwall.solver.model.air_zone import Stream, Zone
from stemwall.solver.model.climate import Climate, indoor
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Membrane, Opening, Probe, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule, Output, StartState
from stemwall.solver.model.water import DRY, Flood
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave

DAY = 24


def test_a_long_flood_ends_at_hydrostatic_rest() -> None:
    """p = rho g (level - y) through a column 2 m high under 0.5 m of water, start 9.81 kPa of suction."""
    bench = Bench(
        bar([("soil", 2.0)], left=False, upright=True), {"soil": gardner_soil()}, [0.0, 0.1], np.linspace(0, 2, 41),
        lambda t, s: {"water_level": 2.5, "water_temperature": 20.0, "water_film": WATER_FILM},
        suction=9810.0, accuracy=Accuracy(longest_step=6 * 3600.0),
    )  # fmt: skip
    bench.run_to(100 * 86400.0)
    # 0.02 m of water on 2.5 m: what is left of the approach, and the contact at the surface
    np.testing.assert_allclose(-bench.suction, 9810.0 * (2.5 - bench.network.node_y), atol=200.0)
    assert np.abs(bench.closure()).max() < 1e-6
    assert bench.entered[:, 2].sum() > 0


def _air(key: str, hours: int, humidity: float = 0.5) -> Climate:
    return indoor(key, np.full(hours, 20.0), np.full(hours, humidity))


def _flood(climate: str, level: float, hours: int, of: int, *, temperature: float = 12.0) -> Flood:
    height = np.where(np.arange(of) < hours, level, DRY)
    return Flood("flood", (climate,), height, np.full(of, temperature))


def _wall(*membranes: Membrane) -> Section:
    """A brick wall 0.1 m thick, 1 m high, between two spaces."""
    return Section(
        -0.2, 0.0, 0.3, 1.0,
        (
            Opening("left", "left", -0.2, 0.0, 0.0, 1.0), Region("wall", "brick_1700", 0.0, 0.0, 0.1, 1.0),
            Opening("right", "right", 0.1, 0.0, 0.3, 1.0),
        ),
        membranes=membranes, lines_y=(0.4,),
        probes=(Probe("below", 0.05, 0.3), Probe("just above", 0.05, 0.44), Probe("high", 0.05, 0.9)),
    )  # fmt: skip


def _run(
    path: Path, section: Section, hours: int, environment: Environment, climates: dict[str, Climate]
) -> xr.Dataset:
    simulate(
        section, {key: catalogue().materials[key] for key in section.materials}, climates,
        start=datetime(2001, 5, 1), hours=hours, ground=GroundWave(12.0, 0.0, 0.0), path=path,
        start_state=StartState(relative_humidity=0.6, indoor_temperature=20.0), mesh=MeshRule(0.01, 1.6, 0.1, 3),
        environment=environment, output=Output(field_hours=10 * DAY),
    )  # fmt: skip
    with xr.open_dataset(path) as dataset:
        return dataset.load()


def test_water_climbs_above_its_level_and_dries_in_weeks(tmp_path: Path) -> None:
    """Wicking above the water line; drying takes weeks, not days (extension pages on flooded buildings, read)."""
    hours = 30 * DAY
    climates = {key: _air(key, hours) for key in ("left", "right")}
    floods = tuple(_flood(key, 0.4, 6, hours) for key in ("left", "right"))
    result = _run(tmp_path / "r.nc", _wall(), hours, Environment(floods=floods), climates)
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    water = result["probe_water_content"]
    start, end = water.isel(time=0), water.isel(time=5)
    assert float(end.sel(probe="below")) > 100.0  # kg/m3; brick holds more than that under water
    assert float(end.sel(probe="just above")) > 0.5 * float(end.sel(probe="below"))
    assert float(end.sel(probe="high")) < float(start.sel(probe="high")) + 1.0
    left = water.sel(probe=["below", "just above"]) / end.sel(probe=["below", "just above"])
    assert float(left.isel(time=2 * DAY).min()) > 0.5  # after two days most of it is still there
    assert float(left.isel(time=-1).max()) < 0.05  # after a month it is gone
    temperature = float(result["probe_temperature"].sel(probe="below").isel(time=5))
    assert temperature == pytest.approx(12.0, abs=0.3)


def test_a_membrane_on_the_face_keeps_the_water_off(tmp_path: Path) -> None:
    hours = 2 * DAY
    climates = {key: _air(key, hours) for key in ("left", "right")}
    taken = {}
    for liquid in ("break", "open"):
        coat = Membrane("coat", 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, liquid)  # type: ignore[arg-type]
        environment = Environment(floods=(_flood("left", 0.4, hours, hours),))
        result = _run(tmp_path / f"{liquid}.nc", _wall(coat), hours, environment, climates)
        taken[liquid] = float(result["liquid_flow"].sum()) * 3600.0
        assert float(result["probe_temperature"].sel(probe="below")[-1]) < 18.0  # cold water cools it all the same
    assert taken["break"] == 0.0
    assert taken["open"] > 5.0


def test_nothing_changes_above_the_water_or_without_it(tmp_path: Path) -> None:
    hours = 12
    climates = {key: _air(key, hours) for key in ("left", "right")}
    plain = _run(tmp_path / "plain.nc", _wall(), hours, Environment(), climates)
    below = Environment(floods=(_flood("left", 0.0, hours, hours), _flood("right", 0.4, 0, hours)))
    none = _run(tmp_path / "none.nc", _wall(), hours, below, climates)
    for name in ("probe_temperature", "probe_water_content", "heat_flow", "liquid_flow"):
        count = plain[name].shape[1]  # and one more for each space that may flood
        np.testing.assert_array_equal(none[name].values[:, :count], plain[name].values)
        assert not np.any(none[name].values[:, count:])


def _basin(*membranes: Membrane) -> Section:
    """A basin of brick, 0.2 m deep and 1 m wide, with a lid of brick above an air zone."""
    return Section(
        0.0, -0.1, 1.2, 0.6,
        (
            Region("brick", "brick_1700", 0.0, -0.1, 1.2, 0.6), Opening("space", "crawlspace", 0.1, 0.0, 1.1, 0.5),
        ),
        membranes=membranes,
        probes=(Probe("floor", 0.6, 0.0), Probe("lid", 0.6, 0.5)),
    )  # fmt: skip


def test_a_flooded_zone_is_damp_and_dries_again(tmp_path: Path) -> None:
    """Half a day of water 0.2 m deep at 15 degC in a zone that outdoor air flows through."""
    hours = 4 * DAY
    flow = np.full(hours, 0.5 / 3600.0)
    space = Zone("crawlspace", 20.0, 0.5, (Stream("leakage", "outdoors", flow),), pool=1.0)
    environment = Environment((space,), floods=(_flood("crawlspace", 0.2, 12, hours, temperature=15.0),))
    climates = {"outdoors": _air("outdoors", hours, 0.4)}
    result = _run(tmp_path / "r.nc", _basin(), hours, environment, climates)
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    humidity = result["climate_relative_humidity"].sel(climate="crawlspace").values
    names = [str(name) for name in result["surface"].values]
    wet = result["liquid_flow"].isel(surface=names.index("crawlspace | faces under water")).values
    off = result["liquid_flow"].isel(surface=names.index("crawlspace | water running off")).values
    pool = result["vapour_flow"].isel(surface=[n for n, name in enumerate(names) if "standing water" in name]).values
    floor = result["vapour_flow"].isel(surface=names.index("crawlspace | brick, up")).values
    assert humidity[11] > 0.9
    assert wet[:12].sum() * 3600.0 > 10.0  # kg/m
    assert np.all(wet[12:] == 0.0)
    assert off.max() <= 0.0  # what stands before faces is the flood's, what runs off them is not
    assert pool[1:12].min() > 0.0
    assert np.all(pool[12:] == 0.0)
    assert np.all(floor[1:12] == 0.0)  # the air meets the water, not the brick under it
    assert floor[13] < 0.0  # and the wet brick after it
    floor_temperature = result["probe_temperature"].sel(probe="floor").values
    assert floor_temperature[11] == pytest.approx(15.0, abs=0.1)


def test_a_sheet_on_the_floor_of_a_zone_keeps_water_under_it(tmp_path: Path) -> None:
    """Water under pressure runs off bare faces of a zone, but not through a membrane that breaks liquid."""
    hours = 1
    environment = Environment((Zone("crawlspace", 20.0, 0.5, pool=1.0),), floods=(_flood("crawlspace", 0.2, 1, hours),))
    climates = {"outdoors": _air("outdoors", hours, 0.4)}
    sheet = Membrane("sheet", 0.1, 0.0, 1.1, 0.0, 50.0, 50.0, "break")
    bare = _run(tmp_path / "bare.nc", _basin(), hours, environment, climates)
    covered = _run(tmp_path / "covered.nc", _basin(sheet), hours, environment, climates)
    assert 0.0 < float(covered["liquid_flow"].sum()) < 0.6 * float(bare["liquid_flow"].sum())
