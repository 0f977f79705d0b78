"""Sources switched off: each switch takes away what it says and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.case_file.case import DETAILS
from stemwall.cases.setup.build import Setup, build
from stemwall.cases.setup.switched_off import footing_top, ground_below_floors, winter_vapour_pressure
from stemwall.cases.surroundings.without import SEASONED, Without
from stemwall.weather.moistair import saturation_pressure
from stemwall.weather.read import read_weather
from tests.cases.samples import WALL, changed, read

SHORT = '[run]\nyears = 0.001\nstart = 2001-07-01\n[detail]\nkind = "vented crawlspace"\n'
LEAK = '[[leak]]\nname = "pipe"\nx = 0.1\ny = 0.5\namount = "6 kg/m"\n[[flood]]\nname = "river"\nlevel = "5 in"\n'
JOINT = (
    '[[air_path]]\nname = "joint"\nfrom = "outdoors"\nto = "room"\npoints = [[0, 0.5], [0.2, 0.5]]\n'
    'flow = "0.1 L/s/m"\n'
)


def without(key: str, text: str = SHORT) -> Setup:
    return build(read(f"[without]\n{key} = true\n{text}").base)


def vapour(setup: Setup, key: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    climate = setup.climates[key]
    return np.asarray(climate.relative_humidity * saturation_pressure(climate.temperature))


@pytest.fixture(scope="module")
def plain() -> Setup:
    return build(read(SHORT).base)


def test_without_rain_nothing_falls_and_the_ground_knows(plain: Setup) -> None:
    text = SHORT.replace("years = 0.001", "years = 0.1")
    wet, dry = build(read(text).base), without("rain", text)
    rains = [sum(loads.rain.sum() for loads in s.climates["outdoors"].facings.values()) for s in (wet, dry)]
    assert rains[0] > 0.0
    assert rains[1] == 0.0
    assert dry.ground.year.annual_rain() == 0.0
    assert np.array_equal(dry.climates["outdoors"].temperature, wet.climates["outdoors"].temperature)


@pytest.mark.parametrize("kind", DETAILS)
def test_a_sheet_stops_liquid_between_the_footing_and_all_that_stands_on_it(kind: str) -> None:
    setup = without("footing", f'[run]\nyears = 0.001\n[detail]\nkind = "{kind}"\n')
    lines = footing_top(setup.section, setup.materials)
    assert lines
    stops = [m for m in setup.section.membranes if "liquid stopped" in m.name]
    assert all(m.liquid == "break" and m.y0 == m.y1 for m in stops)
    assert sum(m.x1 - m.x0 for m in stops) == pytest.approx(sum(x1 - x0 for x0, x1, _ in lines))
    assert {m.y0 for m in stops} == {y for _, _, y in lines}


@pytest.mark.parametrize("kind", DETAILS)
def test_a_tight_sheet_lies_on_the_ground_below_the_whole_floor(kind: str) -> None:
    setup = without("ground_vapour", f'[run]\nyears = 0.001\n[detail]\nkind = "{kind}"\n')
    lines = ground_below_floors(setup.section, setup.materials)
    width = max(x1 for _, x1, _ in lines) - min(x0 for x0, _, _ in lines)
    assert sum(x1 - x0 for x0, x1, _ in lines) == pytest.approx(width)
    assert max(x1 for _, x1, _ in lines) == setup.section.x1
    tight = [m for m in setup.section.membranes if "ground moisture stopped" in m.name]
    assert sum(m.x1 - m.x0 for m in tight) == pytest.approx(width)
    assert all(m.sd_wet >= 10_000.0 and m.liquid == "break" for m in tight)


def test_summer_air_is_no_moister_than_winter_and_winter_stays(plain: Setup) -> None:
    most, north = winter_vapour_pressure(read_weather("default"))
    assert north
    assert vapour(plain, "outdoors").max() > most
    dry = without("summer_air")
    assert vapour(dry, "outdoors").max() <= most * (1 + 1e-12)
    assert np.array_equal(dry.climates["outdoors"].temperature, plain.climates["outdoors"].temperature)
    winter = SHORT.replace("2001-07-01", "2001-12-01")
    assert np.array_equal(
        vapour(without("summer_air", winter), "outdoors"), vapour(build(read(winter).base), "outdoors")
    )


def test_indoor_air_holds_no_more_vapour_than_outdoor_air() -> None:
    winter = SHORT.replace("2001-07-01", "2001-12-01")
    plain, dry = build(read(winter).base), without("indoor_air", winter)
    assert (vapour(plain, "house") > vapour(plain, "outdoors")).any()
    assert (vapour(dry, "house") <= vapour(plain, "outdoors") * (1 + 1e-12)).all()
    assert (vapour(dry, "house") <= vapour(plain, "house") * (1 + 1e-12)).all()
    gain = '[indoor.house]\ntemperature = 20\nhumidity = "50 %"\n[zone.crawlspace]\nmoisture_gain = 1\n'
    zones = [build(read(SHORT + gain).base), without("indoor_air", SHORT + gain)]
    assert [s.environment.zones[0].moisture_gain is None for s in zones] == [False, True]


def test_parts_but_not_soil_start_seasoned() -> None:
    fresh = SHORT.replace("[run]", '[run]\nstart_moisture = "fresh"')
    setup = without("construction_water", fresh)
    start = {r.material: r.initial_rh for r in setup.section.regions}
    assert setup.start_state.relative_humidity == SEASONED
    assert all(value is None or value <= SEASONED for value in start.values())
    stated = changed('material = "soil_loam"', 'material = "soil_loam"\ninitial_humidity = "95 %"')
    soil = without("construction_water", stated).section.regions[0]
    assert soil.initial_rh == pytest.approx(0.95)


def test_no_leak_no_flood_and_still_air() -> None:
    plain = build(read(WALL + LEAK + JOINT).base)
    assert plain.environment.sources
    assert plain.environment.floods
    dry = without("leaks", WALL + LEAK + JOINT)
    assert (dry.environment.sources, dry.environment.floods) == ((), ())
    assert len(dry.environment.air_paths) == 1
    still = without("joint_air", WALL + LEAK + JOINT)
    assert [path.at(0, 20.0, 0.0) for path in still.environment.air_paths] == [0.0]
    assert [path.points for path in still.environment.air_paths] == [p.points for p in plain.environment.air_paths]


def test_nothing_is_switched_off_by_default(plain: Setup) -> None:
    assert Without().names == ()
    assert not Without().any
    assert not any("stopped" in m.name for m in plain.section.membranes)
    assert "environment_switched_off" not in plain.provenance
    assert without("rain").provenance["environment_switched_off"] == "rain"
