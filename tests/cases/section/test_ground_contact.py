"""Faces in ground contact are found by what lies on both sides of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import draw_section
from stemwall.solver.assessment.criteria import applicable
from stemwall.solver.model.section import Probe

CRAWL = """
[indoor.house]
temperature = "20 degC"
humidity = "50 %"

[zone.crawlspace]

[detail]
kind = "conditioned crawlspace"
"""


def probes_of(text: str) -> dict[str, Probe]:
    section, _ = draw_section(parse_case(text, Path("a.toml")).base)
    return {probe.name: probe for probe in section.probes}


@pytest.mark.parametrize("foam", ["xps_25", "eps_ii", "foam_spray_closed", "polyiso_foil"])
def test_concrete_behind_closed_cell_foam_is_in_ground_contact(foam: str) -> None:
    probes = probes_of(f'{CRAWL}insulation = {{ placement = "inside", inside = {{ material = "{foam}" }} }}\n')
    for place in ("wall inner face, upper", "wall inner face, middle", "slab underside"):
        assert probes[place].kind == "ground contact", place
        assert probes[place].mould_class is None


@pytest.mark.parametrize(
    "fibres", ["mineral_wool_batt_40", "glass_fibre_batt_12", "cellulose_56", "foam_spray_open", "wood_fibre_140"]
)
def test_concrete_behind_what_lets_air_through_stays_an_interface(fibres: str) -> None:
    probes = probes_of(f'{CRAWL}insulation = {{ placement = "inside", inside = {{ material = "{fibres}" }} }}\n')
    assert probes["wall inner face, middle"].kind == "interface"
    assert probes["wall inner face, middle"].mould_class == "MR"


def test_a_bare_wall_is_a_surface_inside_and_in_the_weather_outside() -> None:
    probes = probes_of(CRAWL + 'insulation = { placement = "none" }\n')
    assert probes["wall inner face, middle"].kind == "surface"
    assert probes["wall exterior face at grade"].kind == "exterior"


def test_foam_outside_covers_the_exterior_face() -> None:
    probes = probes_of(CRAWL + 'insulation = { placement = "outside" }\n')
    assert probes["wall exterior face at grade"].kind == "ground contact"


def test_wood_is_never_in_ground_contact() -> None:
    probes = probes_of(CRAWL)
    assert all(probes[place].kind == "wood" for place in ("sill underside", "rim joist inner face"))


def test_what_a_person_states_stands() -> None:
    stated = '[[probe]]\nname = "mine"\nx = 0.2032\ny = -0.5\nregion = "stem wall"\nkind = "interface"\n'
    assert probes_of(CRAWL + stated)["mine"].kind == "interface"


def test_ground_contact_is_judged_by_liquid_alone() -> None:
    assert [criterion.name for criterion in applicable("ground contact")] == ["liquid at a face in ground contact"]
    assert applicable("exterior") == []
