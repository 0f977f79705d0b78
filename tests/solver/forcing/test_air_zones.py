"""Air zones: the closed form of a ventilated space over moist ground, balances, controls, signs."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.materials.reference import gardner_soil
from stemwall.solver.model.air_zone import Control, Stream, Vents, Zone
from stemwall.solver.model.climate import FACINGS, Climate, FacingLoads
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Edge, Membrane, Opening, Probe, Region, Section
from stemwall.solver.model.settings import MeshRule, StartState
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave
from stemwall.weather.moistair import saturation_pressure

HOURS = 48
HEIGHT, WIDTH, BETA = 0.6, 1.0, 1.4e-8


def section(cover: float | None = None) -> Section:
    """A thin layer of wet soil under a space 0.6 m high, 1 m wide."""
    sheet = () if cover is None else (Membrane("cover", 0.0, 0.0, WIDTH, 0.0, cover, cover, "break"),)
    return Section(
        0.0, -0.05, WIDTH, HEIGHT,
        (Region("soil", "soil", 0.0, -0.05, WIDTH, 0.0), Opening("space", "crawlspace", 0.0, 0.0, WIDTH, HEIGHT)),
        membranes=sheet, edges=(Edge("bottom", "ground", "table"),), water_table=0.0, probes=(Probe("soil", 0.5, 0.0),),
    )  # fmt: skip


def outdoors(temperature: float = 12.0, pressure: float = 1000.0) -> Climate:
    zeros = np.zeros(HOURS)
    faces = FacingLoads(zeros, zeros, zeros, zeros, zeros)
    humidity = pressure / float(saturation_pressure(temperature))
    return Climate("outdoors", zeros + temperature, zeros + humidity, {f: faces for f in FACINGS})


def zone(air_changes: float, **options: object) -> Zone:
    flow = np.full(HOURS, air_changes * HEIGHT * WIDTH / 3600.0)
    return Zone(
        "crawlspace", 12.0, 0.8, (Stream("air change", "outdoors", flow),),
        convective_up=BETA / 7e-9, radiative=1e3, **options,
    )  # type: ignore[arg-type]  # fmt: skip


def run(path: Path, space: Zone, *, cover: float | None = None, climate: Climate | None = None) -> xr.Dataset:
    simulate(
        section(cover), {"soil": gardner_soil()}, {"outdoors": climate or outdoors()},
        start=datetime(2001, 1, 1), hours=HOURS, ground=GroundWave(12.0, 0.0, 0.0), path=path,
        start_state=StartState(indoor_temperature=12.0), mesh=MeshRule(0.01, 1.5, 0.5, 3),
        environment=Environment((space,)),
    )  # fmt: skip
    with xr.open_dataset(path) as dataset:
        return dataset.load()


@pytest.mark.parametrize("air_changes", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("cover", [None, 50.0])
def test_humidity_over_ground_matches_the_closed_form(air_changes: float, cover: float | None, tmp_path: Path) -> None:
    """p = (c p_e + b p_sat)/(c + b): ventilation against the film over saturated ground at 12 degC."""
    result = run(tmp_path / "r.nc", zone(air_changes), cover=cover)
    carry = air_changes * HEIGHT / (3600.0 * 461.5 * 285.15)
    film = BETA if cover is None else 1.0 / (1.0 / BETA + cover / 1.9664e-10)
    saturated = float(saturation_pressure(12.0))
    expected = (carry * 1000.0 + film * saturated) / (carry + film) / saturated
    found = float(result["climate_relative_humidity"].sel(climate="crawlspace")[-1])
    assert found == pytest.approx(expected, abs=3e-3)  # the ground cools by some hundredths of a kelvin


def test_more_air_over_bare_ground_draws_more_water(tmp_path: Path) -> None:
    """Sign: evaporation rises with air change (Kurnitski 2000, abstract)."""
    drawn = [_evaporated(run(tmp_path / f"{n}.nc", zone(n))) for n in (0.5, 1.0, 3.0)]
    assert drawn[0] < drawn[1] < drawn[2]


def test_a_sealed_cover_cuts_the_ground_moisture_by_more_than_four_fifths(tmp_path: Path) -> None:
    """Common practice; a full sealed cover cuts at least 80 %."""
    bare, covered = (_evaporated(run(tmp_path / f"{c}.nc", zone(1.0), cover=c)) for c in (None, 50.0))
    assert covered < 0.2 * bare


def _evaporated(result: xr.Dataset) -> float:
    """Vapour from the ground into the space in the last hour [kg/(m s)]."""
    face = [i for i, name in enumerate(result["surface"].values) if name.startswith("crawlspace | soil")]
    return -float(result["vapour_flow"].isel(surface=face)[-1].sum())


def test_the_balance_closes_with_zone_controls_and_gains(tmp_path: Path) -> None:
    controls = (
        Control("heater", 18.0, 40.0, 1.0),
        Control("dehumidifier", 0.5, 2e-5, 0.05, heat_per_kg=1e6),
    )
    space = zone(0.5, controls=controls, moisture_gain=np.full(HOURS, 1e-6), heat_gain=np.full(HOURS, 2.0))
    result = run(tmp_path / "r.nc", space)
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    names = list(result["surface"].values)
    gains = {str(name): result.sel(source=name) for name in result["source"].values}
    assert float(gains["crawlspace | heat gain"]["source_heat"][-1]) == 2.0
    assert float(gains["crawlspace | moisture gain"]["source_water"][-1]) == 1e-6
    heat = result["heat_flow"].isel(surface=names.index("crawlspace | heater"))
    taken = result["liquid_flow"].isel(surface=names.index("crawlspace | dehumidifier"))
    assert 0 < float(heat[-1]) <= 40.0 + 1e-9
    assert -2e-5 - 1e-15 <= float(taken[-1]) < 0


def test_a_dehumidifier_gives_the_heat_of_condensation_once(tmp_path: Path) -> None:
    """At rest air passes on the heat of evaporation of the water taken out, the electricity, and no more.

    Each kilogram comes into the air as vapour, L_v + c_v T, and leaves as liquid, c_w T.
    """
    extra = 1e6
    space = zone(0.5, controls=(Control("dehumidifier", 0.5, 2e-5, 0.05, heat_per_kg=extra),))
    result = run(tmp_path / "r.nc", space).isel(time=-1)
    names = [str(name) for name in result["surface"].values]
    machine = result.isel(surface=names.index("crawlspace | dehumidifier"))
    taken, air = -float(machine["liquid_flow"]), float(result["climate_temperature"].sel(climate="crawlspace"))
    assert taken > 5e-6
    assert float(machine["heat_flow"]) == pytest.approx(taken * (extra - 4180.0 * air), rel=1e-6)
    assert float(machine["heat_with_water"]) == pytest.approx(-taken * 4180.0 * air, rel=1e-6)
    dry = result["heat_flow"] - result["heat_with_water"]
    faces = [n for n, inner in enumerate(result["surface_inner"].values) if inner]
    (inlet,) = (n for n, name in enumerate(names) if "air change" in name)
    passed_on = float(dry.isel(surface=faces).sum() - dry.isel(surface=inlet))
    assert passed_on == pytest.approx(taken * (2.5e6 + extra), rel=0.02)


def test_a_strong_heater_holds_its_set_point(tmp_path: Path) -> None:
    result = run(tmp_path / "r.nc", zone(1.0, controls=(Control("heater", 20.0, 5000.0, 0.5),)))
    temperature = result["climate_temperature"].sel(climate="crawlspace")
    assert 19.5 <= float(temperature[-1]) <= 20.0
    assert float(np.abs(np.diff(temperature[-12:])).max()) < 1e-3  # no hunting


def test_vents_flow_with_wind_and_with_buoyancy() -> None:
    vents = Vents(0.01, "outdoors", 0.5, np.array([0.0, 2.0, 4.0]))
    assert vents.flow(0, 12.0, 12.0) == 0.0
    assert vents.flow(1, 12.0, 12.0) == pytest.approx(0.6 * 0.005 * 0.4 * 2.0 / np.sqrt(2.0))
    assert vents.flow(2, 12.0, 12.0) == pytest.approx(2 * vents.flow(1, 12.0, 12.0))
    assert vents.flow(0, 20.0, 0.0) > 0.0


def test_vents_carry_outdoor_air(tmp_path: Path) -> None:
    """Open vents in wind bring the space close to the outdoor vapour pressure."""
    space = Zone("crawlspace", 12.0, 0.9, vents=Vents(0.2, "outdoors", 0.3, np.full(HOURS, 4.0)), radiative=1e3)
    result = run(tmp_path / "r.nc", space)
    air = result.sel(climate="crawlspace").isel(time=-1)
    found = float(air["climate_relative_humidity"]) * float(saturation_pressure(float(air["climate_temperature"])))
    carry, film = vents_flow(space) / (461.5 * 285.15), 7e-9 * 5.0
    expected = (carry * 1000.0 + film * float(saturation_pressure(12.0))) / (carry + film)
    assert found == pytest.approx(expected, rel=0.01)  # the wet ground is some tenths of a kelvin colder than 12 degC


def vents_flow(space: Zone) -> float:
    assert space.vents is not None
    return space.vents.flow(0, 12.0, 12.0)
