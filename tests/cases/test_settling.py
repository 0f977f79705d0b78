"""Start moisture and settling: presets, years before the record, and the drift that is kept."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.inputs.display_units import Units
from stemwall.cases.report.drift import drifts, recorded
from stemwall.cases.results.variant import load
from stemwall.cases.section.construction_moisture import DELIVERED_WOOD, FRESH_CONCRETE, fresh_humidity, humidity_at
from stemwall.cases.setup.build import build
from stemwall.materials.catalogue import catalogue
from stemwall.materials.water import suction_from_humidity
from stemwall.solver.model.settings import YEAR, Accuracy, MeshRule, Output, SpinUp
from stemwall.solver.results.probes import Reading
from stemwall.solver.spin_up import drift, monthly_means, settle
from tests.cases.samples import WALL, changed, problems, read, setup

COARSE = MeshRule(0.1, 2.0, 1.0, 1)
LOOSE = Accuracy(temperature=0.5, humidity=0.05, saturation=0.05)
PLATE = """\
[[region]]
name = "plate"
material = "lumber_spf"
x = [0, 0.2]
y = [0.9, 1]
"""


def _with_run(*lines: str, text: str = WALL) -> str:
    return changed("years = 0.01", "\n".join(lines), text)


def test_fresh_wets_concrete_and_wood_but_nothing_else() -> None:
    section = setup(_with_run('start_moisture = "fresh"', text=WALL + PLATE)).section
    humidity = {region.name: region.initial_rh for region in section.regions}
    assert humidity["wall"] == FRESH_CONCRETE["concrete_wc050"]
    assert humidity["soil"] is None
    assert humidity["plate"] is not None
    wood = catalogue().material("lumber_spf")
    held = float(wood.water_content(suction_from_humidity(np.array([humidity["plate"]])))[0])
    assert held == pytest.approx(DELIVERED_WOOD * wood.density, rel=1e-4)


def test_a_stated_humidity_stays() -> None:
    text = changed('material = "concrete_wc050"', 'material = "concrete_wc050"\ninitial_humidity = "70 %"')
    section = setup(_with_run('start_moisture = "fresh"', text=text)).section
    assert {region.name: region.initial_rh for region in section.regions}["wall"] == 0.70


def test_without_a_preset_nothing_is_moistened() -> None:
    assert all(region.initial_rh is None for region in setup(WALL).section.regions)


@pytest.mark.parametrize("key", sorted(FRESH_CONCRETE))
def test_every_fresh_material_is_in_the_catalogue_and_wetter_than_the_default(key: str) -> None:
    assert fresh_humidity(catalogue().material(key)) == FRESH_CONCRETE[key]
    assert 0.80 < FRESH_CONCRETE[key] < 1.0


def test_humidity_at_stays_within_its_bounds() -> None:
    wood = catalogue().material("lumber_spf")
    assert humidity_at(wood, 0.0) == 0.01
    assert humidity_at(wood, 1e4) == 0.99


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ((), None),
        (("settle = false",), None),
        (("settle = 3",), (3, 3)),
        (("settle = true",), (0, 10)),
        (('start_moisture = "one year"',), (1, 1)),
        (('start_moisture = "one year"', "settle = 2"), (2, 2)),
        (('start_moisture = "one year"', "settle = true", "settle_most = 5"), (1, 5)),
        (('start_moisture = "settled"',), (0, 10)),
        (('start_moisture = "fresh"',), None),
    ],
)
def test_years_before_the_record(lines: tuple[str, ...], expected: tuple[int, int] | None) -> None:
    spin_up = setup(_with_run("years = 1", *lines)).spin_up
    assert (spin_up and (spin_up.least_years, spin_up.most_years)) == expected


def test_settling_needs_a_year_to_repeat() -> None:
    [problem] = problems(_with_run("years = 0.5", "settle = true"))
    assert problem.path == "run.settle"
    assert "0.5 years" in problem.found
    [problem] = problems(_with_run("years = 0.5", 'start_moisture = "settled"'))
    assert problem.path == "run.start_moisture"


def test_drift_is_the_largest_change_of_a_monthly_mean() -> None:
    before = (np.zeros((12, 2)), np.full((12, 2), 0.5))
    now = (before[0].copy(), before[1].copy())
    now[0][3, 1] = -0.4
    now[1][7, 0] = 0.53
    found = drift(4, now, before, ["a", "b"])
    assert (found.year, found.place_t, found.place_rh) == (4, "b", "a")
    assert found.temperature == pytest.approx(0.4)
    assert found.humidity == pytest.approx(0.03)
    assert not found.within(SpinUp())
    assert found.within(SpinUp(0.4 + 1e-9, 0.03 + 1e-9))


def test_monthly_means_have_twelve_rows() -> None:
    hours = np.repeat(np.arange(12.0), YEAR // 12)[:, None]
    np.testing.assert_array_equal(monthly_means(hours), np.arange(12.0)[:, None])


class _Fading:
    """A run whose one probe comes nearer to 10 degC and 50 % by half every year."""

    def __init__(self) -> None:
        self.hour = 0
        self.integrator = SimpleNamespace(
            time=0.0, through=np.ones(2), injected=np.ones(2), effort=None, state=self, advance_to=self._advance
        )
        self.actions = SimpleNamespace(before=lambda hour, state: None)
        placed = SimpleNamespace(probe=SimpleNamespace(name="probe"))
        self.recorder = SimpleNamespace(probes=(placed,), series=self._series)

    def _advance(self, seconds: float) -> None:
        assert seconds == self.integrator.time + 3600.0, "hours follow one another, and each year starts at zero"
        self.integrator.time = seconds
        self.hour += 1

    def _series(self, state: object) -> Reading:
        left = 0.5 ** ((self.hour - 1) // YEAR)
        return Reading(np.array([10.0 + left]), np.array([0.5 + 0.1 * left]), np.array([0.0]), np.zeros(1))


def test_years_are_repeated_until_they_differ_by_less_than_the_limits() -> None:
    run = _Fading()
    found = settle(run, SpinUp(limit_t=0.13, limit_rh=1.0))
    assert [one.year for one in found] == [2, 3, 4]
    np.testing.assert_allclose([one.temperature for one in found], [0.5, 0.25, 0.125])
    np.testing.assert_allclose([one.humidity for one in found], [0.05, 0.025, 0.0125])
    assert run.hour == 4 * YEAR
    assert run.integrator.time == 0.0
    assert not run.integrator.through.any()


def test_settling_stops_at_the_most_years_and_not_before_the_least() -> None:
    assert [one.year for one in settle(_Fading(), SpinUp(1e-9, 1e-9, most_years=3))] == [2, 3]
    assert [one.year for one in settle(_Fading(), SpinUp(9.0, 9.0, least_years=3))] == [2, 3]
    assert settle(_Fading(), SpinUp(least_years=1, most_years=1)) == []


@pytest.fixture(scope="module")
def settled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A coarse wall, two years repeated and one recorded."""
    made = build(read(_with_run("years = 1", "settle = 2")).base)
    made = replace(made, mesh=COARSE, accuracy=LOOSE, output=Output(24 * 90))
    return simulate_setup(made, tmp_path_factory.mktemp("settled") / "wall.nc")


@pytest.mark.slow
def test_the_record_starts_where_the_settling_ended(settled: Path) -> None:
    with xr.open_dataset(settled) as opened:
        result = opened.load()
    assert result.sizes["time"] == YEAR
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    assert result.attrs["settling_years"] == 2
    [kept] = json.loads(result.attrs["settling_drift"])
    assert kept["year"] == 2
    assert kept["humidity"] > 0.0
    # not the stated 80 %: the fields of hour 0 are those after two years
    first = result["relative_humidity"].isel(field_time=0)
    inside = result["cell_region"] == list(result["region"].values).index("wall")
    assert abs(float(first.where(inside).mean()) - 0.80) > 0.05


@pytest.mark.slow
def test_the_report_shows_the_drift(settled: Path) -> None:
    [block] = drifts(load([settled]), Units())
    assert "repeated 2 times" in block.before
    assert [row.year for row in block.rows] == ["2 before the record"]


def test_a_leap_day_is_no_drift() -> None:
    """Years of one weather, in which 29 February repeats the 28th, do not differ: hours of one date are compared."""
    times = np.datetime64("2001-10-01T01", "h") + np.arange(3 * YEAR)
    start = times - np.timedelta64(1, "h")
    date = start.astype("datetime64[D]") - start.astype("datetime64[Y]").astype("datetime64[D]")
    leap = (start >= np.datetime64("2004-02-29T00")) & (start < np.datetime64("2005-01-01T00"))
    day = date.astype(int) - leap
    wave = 10.0 + 12.0 * np.sin(2.0 * np.pi * day / 365.0)
    found = recorded(times.astype("datetime64[ns]"), wave[:, None], 0.5 + 0.01 * wave[:, None], ["a"])
    assert [one.year for one in found] == [2, 3]
    assert max(one.temperature for one in found) < 1e-12
    assert max(one.humidity for one in found) < 1e-12
    shifted = drift(3, *((monthly_means(wave[k * YEAR : (k + 1) * YEAR, None]),) * 2 for k in (2, 1)), ["a"])
    assert shifted.temperature > 0.1
