"""Leaks: a place takes what is offered while it can, and what it refuses runs off and is counted."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.materials.catalogue import catalogue
from stemwall.solver.kernels.physics.material_state import suction_of
from stemwall.solver.model.climate import indoor
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Opening, Probe, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule, StartState
from stemwall.solver.model.water import DRY, Flood, WaterSource
from stemwall.solver.run import Run, prepare
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave

HOURS, THICK, TALL = 30, 0.06, 0.4
#: hours of the leak, what it offers in each [kg/(m s)], and the temperature of its water [degC]
LEAKS, RATE, WARM = slice(2, 26), 5.0 / (24 * 3600.0), 4.0


def offered(share: float = 1.0) -> np.ndarray:
    rate = np.zeros(HOURS)
    rate[LEAKS] = share * RATE
    return rate


def wall(region: str) -> Section:
    """A slice of wall between two airs."""
    return Section(
        -0.2, 0.0, THICK + 0.2, TALL,
        (
            Opening("out", "outdoors", -0.2, 0.0, 0.0, TALL), Region("wall", region, 0.0, 0.0, THICK, TALL),
            Opening("in", "room", THICK, 0.0, THICK + 0.2, TALL),
        ),
        probes=(Probe("middle", 0.5 * THICK, 0.5 * TALL),),
    )  # fmt: skip


def given(material: str, outdoors: float, floods: tuple[Flood, ...] = (), share: float = 1.0) -> dict[str, object]:
    """What a run of a wall with a leak in its middle is given."""
    hourly = np.ones(HOURS)
    leak = WaterSource("pipe", 0.5 * THICK, 0.5 * TALL, offered(share), WARM * hourly)
    return {
        "section": wall(material),
        "materials": {material: catalogue().material(material)},
        "climates": {
            "outdoors": indoor("outdoors", outdoors * hourly, 0.7 * hourly),
            "room": indoor("room", 5.0 * hourly, 0.5 * hourly),
        },
        "start": datetime(2001, 1, 1),
        "hours": HOURS,
        "ground": GroundWave(8.0, 0.0, 0.0),
        "mesh": MeshRule(0.02, 2.0, 0.2, 1),
        "environment": Environment(sources=(leak,), floods=floods),
    }


def computed(path: Path, material: str, outdoors: float, share: float = 1.0) -> xr.Dataset:
    """What came through the surface of the leak, with the attributes of the result."""
    settings = given(material, outdoors, share=share)
    simulate(**settings, path=path, start_state=StartState(indoor_temperature=5.0))  # type: ignore[arg-type]
    with xr.open_dataset(path) as result:
        return result.load().isel(surface=int(np.flatnonzero(result["surface"].values == "leak | pipe")[0]))


def made_ready(material: str, outdoors: float, floods: tuple[Flood, ...] = ()) -> Run:
    settings = given(material, outdoors, floods)
    return prepare(**settings, accuracy=Accuracy(), start_settings=StartState(indoor_temperature=5.0))  # type: ignore[arg-type]


def test_a_leak_puts_its_water_where_it_is_told(tmp_path: Path) -> None:
    """All of it, with its heat, while the place has room."""
    leak = computed(tmp_path / "r.nc", "brick_2000", 5.0, share=0.1)
    np.testing.assert_allclose(leak["liquid_flow"], offered(0.1), rtol=1e-9, atol=1e-18)
    np.testing.assert_allclose(leak["heat_with_water"], offered(0.1) * 4180.0 * WARM, rtol=1e-9, atol=1e-12)
    assert float(leak["water_refused"].sum()) == 0.0
    assert leak.attrs["balance_water_relative"] < 1e-6


@pytest.mark.parametrize("outdoors", [5.0, -20.0])
def test_what_a_full_or_frozen_place_refuses_runs_off(outdoors: float, tmp_path: Path) -> None:
    """Regression: it was forced in, to 300 bar, where the march gave up."""
    leak = computed(tmp_path / "r.nc", "concrete_wc050", outdoors)
    entered, refused = leak["liquid_flow"].values, leak["water_refused"].values
    np.testing.assert_allclose(entered + refused, offered(), rtol=1e-9, atol=1e-18)
    assert np.all(entered >= 0.0)
    assert refused.sum() > 0.3 * offered().sum()
    assert leak.attrs["balance_water_relative"] < 1e-9
    assert leak.attrs["balance_heat_relative"] < 1e-9


def test_nothing_is_pressed_into_a_full_place() -> None:
    """Water stands in the wall at most as deep as it is tall."""
    run = made_ready("concrete_wc050", 5.0)
    for hour in range(HOURS):
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * 3600.0)
        suction = np.array([suction_of(y)[0] for y in run.integrator.state.potential])
        assert suction.min() > -1000.0 * 9.81 * TALL


def test_a_leak_under_standing_water_drains_nothing() -> None:
    """It meets the pressure of the water above it."""
    hourly = np.ones(HOURS)
    flood = Flood("flood", ("outdoors",), np.where(np.arange(HOURS) < 20, TALL, DRY), WARM * hourly)
    run = made_ready("brick_2000", 5.0, (flood,))
    surface = [s.name for s in run.system.network.surfaces].index("leak | pipe")
    before = 0.0
    for hour in range(HOURS):
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * 3600.0)
        entered = float(run.integrator.through[surface, 2])
        assert entered >= before - 1e-12
        before = entered
