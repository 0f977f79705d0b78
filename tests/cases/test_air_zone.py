"""Air zones and leaks in case files: what they become, what is refused, and how the demo differs."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from stemwall.cases.build import Setup, build
from stemwall.cases.case_file import parse_case
from stemwall.cases.problems import CaseError

DEMO = files("stemwall.cases").joinpath("demo_crawlspace_air.toml").read_text(encoding="utf-8")
GIVEN = '[indoor.crawlspace]\ntemperature = 15\nhumidity = "60 %"\n'


def demo(text: str = DEMO) -> list[Setup]:
    return [build(case, 0.01) for case in parse_case(text, Path("demo.toml")).variants()]


def test_the_demo_has_four_ways_to_treat_one_crawlspace() -> None:
    setups = demo()
    assert [setup.case.name for setup in setups] == ["base", "sealed", "decoupled", "conditioned"]
    assert all(setup.section == setups[0].section for setup in setups)
    vented, sealed, decoupled, conditioned = (setup.environment.zones[0] for setup in setups)
    assert vented.vents is not None
    assert sealed.vents is None
    width = 4.2  # half the house, about
    assert vented.vents.area == pytest.approx(0.00667 * width, rel=0.05)
    assert [s.name for s in sealed.streams] == ["leakage", "floor leakage"]
    assert [s.name for s in decoupled.streams] == ["leakage"]
    assert [c.kind for c in conditioned.controls] == ["dehumidifier"]
    supply = next(s for s in conditioned.streams if s.name == "supply")
    assert supply.flow[0] == pytest.approx(1e-4 * width, rel=0.05)


def test_a_leak_arrives_in_its_hours_and_repeats() -> None:
    leak = '\n[[leak]]\nname = "pipe"\nx = 1.0\ny = -0.5\namount = "6 kg/m"\n'
    leak += "start_hour = 10\nhours = 3\nrepeat_days = 1\n"
    source = demo(DEMO + leak)[0].environment.sources[0]
    arrives = np.flatnonzero(source.rate > 0)
    assert list(arrives[:6]) == [10, 11, 12, 34, 35, 36]
    assert source.rate[:24].sum() * 3600.0 == pytest.approx(6.0)


def test_a_share_of_rain_follows_the_rain_on_the_wall() -> None:
    leak = '\n[[leak]]\nname = "sill"\nx = 0.06\ny = 0.2\nrain_share = "1 %"\nrain_height = "2 m"\n'
    setup = build(parse_case(DEMO + leak, Path("demo.toml")).variants()[0], 0.2)
    rain = setup.climates["outdoors"].facings["left"].rain
    np.testing.assert_allclose(setup.environment.sources[0].rate, 0.02 * rain)
    assert rain.max() > 0


@pytest.mark.parametrize(
    ("found", "put", "place"),
    [
        ("[zone.crawlspace] ", "[zone.attic]\n[zone.crawlspace] ", "zone.attic"),
        ("vents = { ratio = 0.00667 }", 'house = "garage"', "zone.crawlspace.house"),
        ("vents = { ratio = 0.00667 }", "vents = { ratio = 7 }", "zone.crawlspace.vents.ratio"),
        ("[indoor.house]", '[[leak]]\nname = "l"\nx = 0\ny = 0\nregion = "roof"\n[indoor.house]', "leak[0].region"),
        ("[indoor.house]", f"{GIVEN}[indoor.house]", "zone.crawlspace"),
    ],
)
def test_bad_zones_are_refused_with_their_place(found: str, put: str, place: str) -> None:
    text = DEMO.split("[[variant]]")[0].replace(found, put, 1)
    with pytest.raises(CaseError) as caught:
        demo(text)
    assert any(place in str(problem) for problem in caught.value.problems)
