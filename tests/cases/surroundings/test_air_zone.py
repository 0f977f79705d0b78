"""Air zones in case files: what they become, what is refused, and how the demo differs."""

from importlib.resources import files
from pathlib import Path

import pytest

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import Setup, build

DEMO = files("stemwall.cases.defaults").joinpath("demo_crawlspace_air.toml").read_text(encoding="utf-8")
GIVEN = '[indoor.crawlspace]\ntemperature = 15\nhumidity = "60 %"\n'


def demo(text: str = DEMO) -> list[Setup]:
    return [build(case, 0.01) for case in parse_case(text, Path("demo.toml")).variants()]


def test_the_demo_has_four_ways_to_treat_one_crawlspace() -> None:
    setups = demo()[:4]
    assert [setup.case.name for setup in setups] == ["base", "sealed", "decoupled", "conditioned"]
    for setup in setups[1:]:
        same = {**setup.case.model_dump(), "zone": setups[0].case.model_dump()["zone"]}
        assert same == setups[0].case.model_dump()
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


def test_the_last_variant_differs_from_the_conditioned_one_by_its_workmanship() -> None:
    *_, conditioned, poor = demo()
    assert poor.case.name == "conditioned, poor work"
    assert poor.case.zone == conditioned.case.zone
    assert poor.section != conditioned.section
    assert poor.case.detail is not None
    assert poor.case.detail.workmanship.missing_gasket
    assert [source.name for source in poor.environment.sources] == ["driving rain at the sill"]
    assert conditioned.environment.sources == ()


def test_make_up_air_comes_from_ground_outdoors_and_house() -> None:
    """5 % through the ground; half of the rest from outdoors, half from the house."""
    table = "vents = { ratio = 0.00667 }"
    zone = demo(DEMO.replace(table, 'exhaust = "0.1 L/s/m^2"'))[0].environment.zones[0]
    flows = {s.name: float(s.flow[0]) for s in zone.streams}
    assert zone.ground_air is not None
    whole = zone.ground_air[0] / 0.05
    assert whole == pytest.approx(1e-4 * 4.2, rel=0.05)
    assert flows["make-up from outdoors"] == pytest.approx(0.475 * whole)
    assert flows["make-up from the house"] == pytest.approx(0.475 * whole)
    assert ("make-up through the ground", "ground") in zone.inlets
    none = demo(DEMO.replace(table, 'exhaust = "0.1 L/s/m^2"\nmake_up_ground = 0'))[0].environment.zones[0]
    assert none.ground_air is None


def test_ducts_leak_both_ways() -> None:
    leaky = 'return_leakage = 0.3\nduct_leakage = 0.2\nduct_air = "duct"\nvents = false'
    duct = '[indoor.duct]\ntemperature = "100 degF"\nhumidity = "15 %"\n[indoor.house]'
    text = DEMO.replace("vents = { ratio = 0.00667 }", leaky).replace("[indoor.house]", duct, 1)
    zone = demo(text)[0].environment.zones[0]
    found = {s.name: (s.source, float(s.flow[0])) for s in zone.streams}
    leakage = found["leakage"][1]
    assert found["return leakage"] == ("outdoors", pytest.approx(3.0 * leakage))
    assert found["duct leakage"] == ("duct", pytest.approx(2.0 * leakage))


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
