"""Leaks and floods in case files: when they come, what they become, what is refused."""

from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.case_file.stated import settings_of
from stemwall.cases.section.section_checks import Painted, misplaced
from stemwall.cases.setup.build import build
from stemwall.cases.setup.provenance import surroundings
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.discretisation.water import place_source
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.settings import MeshRule
from stemwall.solver.model.water import DRY, WaterSource
from tests.cases.samples import WALL, changed, problems, read, setup
from tests.cases.surroundings.test_air_zone import DEMO, demo

FLOODED = files("stemwall.cases.defaults").joinpath("demo_flood.toml").read_text(encoding="utf-8")
FLOOD = """
[[flood]]
name = "river"
level = "10 in"
start_hour = 5
hours = 3
"""
#: an event that ends when it begins
SAME_DAY = "start = 2001-10-02\nend = 2001-10-02"


def leak(x: float, y: float, more: str = "") -> str:
    """A leak at a place."""
    return f'[[leak]]\nname = "l"\nx = {x}\ny = {y}\namount = 6\n{more}\n'


def test_a_leak_arrives_in_its_hours_and_repeats() -> None:
    pipe = '\n[[leak]]\nname = "pipe"\nx = 1.0\ny = -0.9\namount = "6 kg/m"\n'
    pipe += "start_hour = 10\nhours = 3\nrepeat_days = 1\n"
    source = demo(DEMO + pipe)[0].environment.sources[0]
    arrives = np.flatnonzero(source.rate > 0)
    assert list(arrives[:6]) == [10, 11, 12, 34, 35, 36]
    assert source.rate[:24].sum() * 3600.0 == pytest.approx(6.0)


def test_a_share_of_rain_follows_the_rain_on_the_wall() -> None:
    sill = '\n[[leak]]\nname = "sill"\nx = 0.06\ny = 0.2\nrain_share = "1 %"\nrain_height = "2 m"\n'
    made = build(parse_case(DEMO + sill, Path("demo.toml")).variants()[0], 0.2)
    rain = made.climates["outdoors"].facings["left"].rain
    np.testing.assert_allclose(made.environment.sources[0].rate, 0.02 * rain)
    assert rain.max() > 0


def test_dates_say_the_same_as_hours_of_the_run() -> None:
    """A date alone is the beginning of its day; an event after the end of a run cut short does not take place."""
    by_hours, by_dates = (
        setup(WALL + leak(0.1, 0.5, when) + FLOOD.replace("start_hour = 5\nhours = 3\n", when + "\n")).environment
        for when in ("start_hour = 30\nhours = 18", "start = 2001-10-02T06:00:00\nend = 2001-10-03")
    )
    assert list(np.flatnonzero(by_dates.sources[0].rate)) == list(range(30, 48))
    np.testing.assert_array_equal(by_dates.sources[0].rate, by_hours.sources[0].rate)
    np.testing.assert_array_equal(by_dates.floods[0].level, by_hours.floods[0].level)
    cut = build(read(WALL + leak(0.1, 0.5, "start = 2001-10-02")).base, 20 / 8760)
    assert not cut.environment.sources[0].rate.any()
    assert cut.provenance["environment_leaks"] == (
        "l: 6 kg/m from 2001-10-02 00:00 for 24 h, which is after the end of this run"
    )


@given(x=st.floats(-2.0, 2.0), y=st.floats(-2.0, 2.0), region=st.sampled_from(["wall", "soil", None]))
def test_the_solver_takes_a_leak_exactly_where_the_check_finds_nothing_wrong(
    x: float, y: float, region: str | None
) -> None:
    """And the place that the check names instead is one that both accept."""
    network = built_network()
    painted = Painted(network.mesh.section)

    def taken(x: float, y: float) -> bool:
        try:
            place_source(network, WaterSource("leak", x, y, np.zeros(1), np.zeros(1), region))
        except SectionError:
            return False
        return True

    assert taken(x, y) == (misplaced(painted, x, y, region) is None)
    place = painted.nearest_solid(x, y, region)
    assert place is not None
    name, near_x, near_y, apart = place
    assert region in (None, name)
    assert taken(near_x, near_y)
    assert misplaced(painted, near_x, near_y, region) is None
    assert apart == pytest.approx(np.hypot(near_x - x, near_y - y))
    assert (apart == 0.0) <= taken(x, y)


@cache
def built_network() -> Network:
    """Network of the wall on soil, on a coarse mesh."""
    made = setup(WALL)
    return build_network(build_mesh(made.section, MeshRule(0.05, 2.0, 0.5, 1)))


def test_a_flood_stands_in_its_hours_before_every_climate_outdoors() -> None:
    (flood,) = setup(WALL + FLOOD + "repeat_days = 1\n").environment.floods
    assert flood.climates == ("outdoors", "outdoors, beside the wall")
    assert list(np.flatnonzero(flood.level > DRY)[:6]) == [5, 6, 7, 29, 30, 31]
    assert set(flood.level[flood.level > DRY]) == {0.254}


def test_flood_water_is_as_warm_as_stated_or_as_the_air_but_not_frozen() -> None:
    winter = changed("years = 0.01", "years = 0.3\nstart = 2002-01-01")
    made = setup(winter + FLOOD)
    air, water = made.climates["outdoors"].temperature, made.environment.floods[0].temperature
    assert air.min() < 0.0
    np.testing.assert_array_equal(water, np.maximum(air, 0.0))
    stated = setup(WALL + FLOOD + 'temperature = "50 degF"\n').environment.floods[0].temperature
    np.testing.assert_allclose(stated, 10.0)


def test_a_zone_knows_that_it_is_flooded() -> None:
    text = DEMO + FLOOD.replace('"10 in"', '"-1 ft"') + 'where = "crawlspace"\n'
    zones = [made.environment.zones[0] for made in (demo(text)[0], demo()[0])]
    assert zones[0].pool == pytest.approx(4.0 - 2 * 0.0254)  # half a house, less the foam on its wall
    assert zones[1].pool == 0.0


@pytest.mark.parametrize(
    ("table", "path", "found", "expected"),
    [
        (FLOOD + 'where = "rom"\n', "flood[0].where", '"rom"', "did you mean 'room'?"),
        (FLOOD.replace('"10 in"', "-0.1"), "flood[0].level", "-0.1 m", "above its lowest point, 0 m"),
        (FLOOD.replace('"10 in"', "1.5"), "flood[0].level", "1.5 m", "up to 1 m"),
        (FLOOD + FLOOD, "flood[0].name", '"river" twice', "a name of its own"),
        (FLOOD.replace("hours = 3", "hours = 0"), "flood[0].hours", "0", "between 1 and 876,000"),
        (FLOOD.replace('level = "10 in"\n', ""), "flood[0].level", "nothing", "a value for 'level'"),
        (leak(46.0, 0.5), "leak[0].x", "outside the section", "in 'soil' at x = 1.2 m, y = 0 m, 44.8 m away"),
        (leak(0.7, 0.5), "leak[0].x", "in the open air", "in 'wall' at x = 0.2 m, y = 0.5 m, 0.5 m away"),
        (leak(0.7, -0.5, 'region = "wall"'), "leak[0].x", "in 'soil'", "edge of 'wall'; the nearest is in 'wall' at x"),
        (leak(0, 0, 'region = "wal"'), "leak[0].region", "unknown region 'wal'", "did you mean 'wall'?"),
        (leak(0.1, 0.5, "start = 2003-01-01"), "leak[0].start", "2003-01-01 00:00", "to before 2001-10-04 16:00, e.g."),
        (leak(0.1, 0.5, "start = 2001-09-30"), "leak[0].start", "2001-09-30 00:00", "from 2001-10-01 00:00"),
        (leak(0.1, 0.5, SAME_DAY), "leak[0].end", "2001-10-02 00:00", "after its start, 2001-10-02 00:00, and no"),
        (leak(0.1, 0.5, "end = 2001-10-05"), "leak[0].end", "2001-10-05 00:00", "than the run's end, 2001-10-04 16:00"),
        (leak(0.1, 0.5, "start_hour = 88"), "leak[0].start_hour", "88, which is 2001-10-04 16:00", "within the run"),
        (leak(0.1, 0.5, "start = 2001-10-02\nstart_hour = 3"), "leak[0]", "this table", "either start or start_hour"),
        (leak(0.1, 0.5, "end = 2001-10-02\nhours = 3"), "leak[0]", "this table", "either end or hours"),
        (leak(0.1, 0.5, "start = 5"), "leak[0].start", "5", "e.g. 2001-10-01"),
        (leak(0.1, 0.5, 'start = "spring"'), "leak[0].start", '"spring"', "e.g. 2001-10-01"),
        (leak(0.1, 0.5, "start = 2001-10-02T06:30:00"), "leak[0].start", "06:30:00", "the full hour"),
        (leak(0.1, 0.5, "start = 2001-10-02T06:00:00Z"), "leak[0].start", "06:00:00", "local standard time"),
        (leak(0.1, 0.5, SAME_DAY).replace("amount = 6\n", ""), "leak[0]", "this table", "an amount beside start or"),
        (leak(0.1, 0.5, "repeat_days = 1\nhours = 30"), "leak[0].repeat_days", "30 h again every 1 days", "no fewer"),
        ('[[leak]]\nname = "l"\nx = 0\ny = 0\nhours = -1\n', "leak[0].hours", "-1", "between 1 and 876,000"),
    ],
)
def test_bad_events_are_refused_with_their_place(table: str, path: str, found: str, expected: str) -> None:
    first, *_ = problems(WALL + table)
    assert first.path == path
    assert found in first.found
    assert expected in first.expected
    assert first.line is not None


def test_all_that_is_wrong_is_said_at_once() -> None:
    text = WALL + FLOOD.replace('"10 in"', "9") + FLOOD.replace("river", "rain") + 'where = "attic"\n'
    text += '[[leak]]\nname = "l"\nx = 0\ny = 0\nregion = "roof"\n'
    assert [p.path for p in problems(text)] == ["leak[0].region", "flood[0].level", "flood[1].where"]


def test_a_report_shows_events_and_that_there_are_none() -> None:
    case = read(WALL + FLOOD).base
    said = surroundings(case)
    assert said["floods"] == (
        "river: outdoors up to y = 0.254 m, from 2001-10-01 05:00 for 3 h, "
        "temperature of the outdoor air, 0 °C at least"
    )
    assert said["leaks"] == said["air_paths"] == "none"
    assert surroundings(read(WALL).base)["floods"] == "none"
    rows = {row.path: row for row in settings_of(case)}
    assert rows["flood.river.level"].origin == "case file"
    assert rows["flood.river.repeat_days"].origin.startswith("default: ")


def test_a_flood_outdoors_wets_ground_and_wall_and_balances(tmp_path: Path) -> None:
    """Water 10 in above grade for 3 h: it enters ground and wall, as liquid through their surfaces."""
    mesh = '[mesh]\nfinest = "30 mm"\ngrowth = 2.0\nlayer_cells = 1\n[bounds]'
    results = []
    for number, text in enumerate((WALL, WALL + FLOOD)):
        made = build(read(changed("[bounds]", mesh, text)).base, 24 / 8760)
        with xr.open_dataset(simulate_setup(made, tmp_path / f"{number}.nc")) as result:
            results.append(result.load())
    dry, wet = results
    assert wet.attrs["balance_water_relative"] < 1e-6
    assert wet.attrs["balance_heat_relative"] < 1e-6
    names = [str(name) for name in wet["surface"].values]
    entered = wet["liquid_flow"].values[:, names.index("outdoors | faces under water")]
    assert entered[5:8].min() > 10 * np.abs(dry["liquid_flow"].values[5:8]).sum(axis=1).max()
    assert not np.any(np.delete(entered, slice(5, 8)))
    for name in ("outdoors | soil, up", "outdoors | wall, left"):
        own, without = (result["liquid_flow"].values[:, names.index(name)] for result in (wet, dry))
        np.testing.assert_array_equal(own[:5], without[:5])
    ground = names.index("outdoors | soil, up")  # all of it lies under water, which the books of the flood hold
    assert not np.any(wet["heat_flow"].values[5:8, ground])


def flooded(name: str, folder: Path, hours: int) -> xr.Dataset:
    """Return a variant of the demonstration on a coarse mesh, its sill in eight layers: few are too few for a core."""
    mesh = '[mesh]\nfinest = "20 mm"\ngrowth = 1.6\nlayer_cells = 8\n[detail]\n'
    case = parse_case(FLOODED.replace("[detail]\n", mesh, 1), Path("flood.toml")).variant(name)
    with xr.open_dataset(simulate_setup(build(case, hours / 8760), folder / "r.nc")) as result:
        return result.load()


def test_the_demonstration_builds_in_all_variants() -> None:
    file = parse_case(FLOODED, Path("flood.toml"))
    made = {case.name: build(case, 0.01) for case in file.variants()}
    assert list(made) == ["base", "no flood", "dehumidifier"]
    assert [len(one.environment.floods) for one in made.values()] == [2, 0, 2]
    assert made["base"].environment.zones[0].pool == pytest.approx(4.0 + 2.5 * 0.0254)  # less the sill plate
    assert [c.kind for c in made["dehumidifier"].environment.zones[0].controls] == ["dehumidifier"]


@pytest.mark.slow
def test_a_flooded_crawlspace_dries_in_weeks(tmp_path: Path) -> None:
    """Wet above the water, then drying over weeks (extension pages on flooded buildings, read); the balance closes."""
    end, month = 288, 24 * 30  # the water leaves after hour 288
    wet, dry, helped = (flooded(name, tmp_path, 24 * 90) for name in ("base", "no flood", "dehumidifier"))
    for result in (wet, dry, helped):
        assert result.attrs["balance_water_relative"] < 1e-6
        assert result.attrs["balance_heat_relative"] < 1e-6
    rim = wet["probe_water_content"] - dry["probe_water_content"]
    above = rim.sel(probe="rim joist inner face").values  # whose lower edge the water just reaches
    assert above[end] > 5.0  # kg/m3
    assert abs(above[-1]) < 0.3 * above[end]
    sill, over = (found.sel(probe="sill core").values for found in (wet["probe_water_content"], rim))
    # a month later it is still wetter than without a flood; 1.96 in twelve layers, 1.91 in sixteen
    assert over[end + month] == pytest.approx(1.91, abs=0.2)
    assert sill[-1] < sill.max() - 5.0  # and on its way down
    water = [result["probe_water_content"].sel(probe="sill core").values[-1] for result in (dry, helped, wet)]
    assert max(water[:2]) < water[2]
