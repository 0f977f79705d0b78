"""Parametric details: a grid of settings gives sections without a finding; the mesh stays small."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from stemwall.cases.case_file.case import DETAILS, Case
from stemwall.cases.section.section_checks import Painted, findings
from stemwall.cases.setup.build import draw_section
from stemwall.materials.catalogue import catalogue
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.model.section import Region, Section
from stemwall.solver.model.settings import MeshRule

CLIMATES = ("outdoors", "house", "crawlspace", "basement")
AIR = {"temperature": 20, "humidity": 0.5}
KINDS = list(DETAILS)


def section_of(kind: str, **detail: Any) -> Section:
    """Return the section of a detail with some of its parameters changed."""
    tree = {"detail": {"kind": kind, **detail}, "indoor": dict.fromkeys(CLIMATES[1:], AIR)}
    return draw_section(Case.model_validate(tree))[0]


def seen_at(section: Section, x: float, y: float) -> str:
    """Return the name of what is painted round a point off all lines."""
    (item,) = Painted(section).near(x, y, x, y)
    return item.name


PLACEMENTS = ("inside", "outside", "both", "insulated concrete form", "none")
WALLS: tuple[dict[str, Any], ...] = ({}, {"thickness": "10 in", "above_grade": "1 ft", "below_grade": "5 ft"})
MATERIALS = ("xps_25", "mineral_wool_batt_40", "wood_fibre_140")


@pytest.mark.parametrize(
    ("kind", "placement", "wall", "material"), list(itertools.product(KINDS, PLACEMENTS, WALLS, MATERIALS))
)
def test_grid_is_valid(kind: str, placement: str, wall: dict[str, Any], material: str) -> None:
    board = {"material": material, "thickness": "3 1/2 in"}
    section = section_of(kind, wall=wall, insulation={"placement": placement, "inside": board, "outside": board})
    assert findings(section, catalogue().materials, CLIMATES) == []
    assert build_mesh(section, MeshRule()).cells > 1000


def bare_floor(kind: str) -> dict[str, Any]:
    """Return the table of the inner floor of a kind, without anything optional."""
    if kind == "vented crawlspace":
        return {"earth": {"ground_cover": False}}
    return {"slab": {"ground_sheet": False, "insulation_thickness": 0}}


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_optional_is_valid(kind: str) -> None:
    lining = {"lining": {"paint": False, "board_thickness": 0}} if "basement" in section_of(kind).climates else {}
    section = section_of(
        kind,
        wall={"damp_proofing": False},
        sill={"capillary_break": False},
        **bare_floor(kind),
        **lining,
        backfill={"width": 0, "cap_width": 0},
        house_wall={"weather_barrier": False, "vapour_retarder": False},
    )
    assert findings(section, catalogue().materials, CLIMATES) == []
    assert section.membranes == ()


@pytest.mark.parametrize("kind", KINDS)
def test_default_mesh_is_small(kind: str) -> None:
    rule = MeshRule(**Case.model_validate({"detail": {"kind": kind}}).mesh.model_dump())
    assert 3500 < build_mesh(section_of(kind), rule).cells < 6700


@pytest.mark.parametrize("kind", KINDS)
def test_probes_cover_the_critical_places(kind: str) -> None:
    section = section_of(kind)
    names = {probe.name for probe in section.probes}
    floor = "earth, edge" if kind == "vented crawlspace" else "slab top, edge"
    assert {"sill underside", "sill core", "wall inner face, lower", floor} <= names
    frost = [probe for probe in section.probes if probe.kind == "footing"]
    assert [probe.region for probe in frost] == ["native soil"] * 3
    wood = {probe.region for probe in section.probes if probe.mould_class == "S"}
    assert wood <= {r.name for r in section.regions if catalogue().materials[r.material].hatch in ("wood", "board")}
    assert "sill plate" in wood


def test_crawlspace_is_where_it_belongs() -> None:
    section = section_of("conditioned crawlspace")
    # stem wall 0 to 0.203 m, foam to 0.254 m, slab from the footing top at -0.914 m, 0.051 m thick
    assert seen_at(section, 0.1, -0.5) == "stem wall"
    assert seen_at(section, 0.23, -0.5) == "inside insulation"
    assert seen_at(section, 2.0, -0.5) == "crawlspace"
    assert seen_at(section, 2.0, -0.89) == "slab"
    assert seen_at(section, 2.0, -0.95) == "stone base"
    assert seen_at(section, 0.1, -1.0) == "footing"
    assert seen_at(section, -0.3, -0.1) == "clay cap"
    assert seen_at(section, -0.3, -0.8) == "backfill"
    assert seen_at(section, -0.3, 0.1) == "outdoors"
    assert seen_at(section, 0.02, 0.4) == "rim joist"
    assert seen_at(section, 0.07, 0.22) == "sill plate"
    assert seen_at(section, 2.0, 0.6) == "house"


def test_placement_moves_the_insulation() -> None:
    board = {"material": "eps_ii", "thickness": "4 in"}
    outside = section_of("conditioned crawlspace", insulation={"placement": "outside", "outside": board})
    assert seen_at(outside, -0.05, -0.5) == "outside insulation"
    assert seen_at(outside, 0.23, -0.5) == "crawlspace"
    bare = section_of("conditioned crawlspace", insulation={"placement": "none"})
    assert not {"inside insulation", "outside insulation"} & {region.name for region in bare.regions}
    foam = next(region for region in outside.regions if region.name == "outside insulation")
    assert (foam.x0, foam.x1) == pytest.approx((-0.1016, 0.0))


def test_ground_sheet_lies_under_the_slab_and_turns_up() -> None:
    section = section_of("conditioned crawlspace", slab={"insulation_thickness": "2 in"})
    level, upright = (m for m in section.membranes if m.name.startswith("ground sheet"))
    slab = next(r for r in section.regions if r.name == "slab")
    foam = next(r for r in section.regions if r.name == "under-slab insulation")
    assert level.y0 == level.y1 == slab.y0 == foam.y1
    assert (upright.x0, upright.y0) == (slab.x0, slab.y0)
    assert upright.y1 == pytest.approx(slab.y1 + 0.1524)


def test_slab_insulation_width() -> None:
    section = section_of("slab on grade", slab={"insulation_width": "2 ft"})
    foam = next(r for r in section.regions if r.name == "under-slab insulation")
    assert foam.x1 - foam.x0 == pytest.approx(0.6096)
    whole = section_of("slab on grade", slab={"insulation_width": 0})
    assert next(r for r in whole.regions if r.name == "under-slab insulation").x1 == whole.x1


def test_sheathing_hangs_on_the_wall_in_the_weather() -> None:
    section = section_of("conditioned crawlspace")
    sheathing = next(item for item in section.items if item.name == "sheathing")
    assert isinstance(sheathing, Region)
    barrier = next(m for m in section.membranes if m.name == "weather barrier")
    assert barrier.x0 == barrier.x1 == sheathing.x0
    assert barrier.liquid == "break"


@pytest.mark.parametrize(
    ("kind", "detail", "path"),
    [
        ("conditioned crawlspace", {"footing": {"width": "6 in"}}, "footing.width"),
        ("conditioned crawlspace", {"sill": {"width": "11 in"}}, "sill.width"),
        ("conditioned crawlspace", {"ground": {"down": "1 m"}}, "ground.down"),
        ("conditioned crawlspace", {"ground": {"outward": "1 m"}}, "ground.outward"),
        ("conditioned crawlspace", {"backfill": {"cap_thickness": "4 ft"}}, "backfill.cap_thickness"),
        ("conditioned crawlspace", {"slab": {"turn_up": "5 ft"}}, "slab"),
        ("conditioned crawlspace", {"slab": {"base_thickness": "8 in"}}, "slab.base_thickness"),
        ("slab on grade", {"slab": {"base_thickness": "4 ft"}}, "slab"),
        ("slab on grade", {"insulation": {"inside": {"reach": "2 in"}}}, "insulation.inside.reach"),
        ("slab on grade", {"flashing": {"lap": "4 ft"}}, "flashing.lap"),
        ("slab on grade", {"wing": {"thickness": "2 in", "depth": "3 ft"}}, "wing.depth"),
        ("slab on grade", {"wing": {"thickness": "2 in", "width": "11 m"}}, "ground.outward"),
        ("vented crawlspace", {"earth": {"height": "4 ft"}}, "earth"),
        ("vented crawlspace", {"floor": {"insulation_thickness": "10 in"}}, "floor.insulation_thickness"),
        ("basement", {"insulation": {"inside": {"reach": "9 ft"}}}, "insulation.inside.reach"),
        ("basement", {"drain": {"present": True, "stone_cover": "7 ft"}}, "drain.stone_cover"),
        ("basement", {"slab": {"base_thickness": "8 in"}}, "slab.base_thickness"),
        (
            "basement",
            {"insulation": {"placement": "outside", "outside": {"reach": "4 in"}}},
            "insulation.outside.reach",
        ),
        (
            "basement",
            {"insulation": {"inside": {"reach": "4 ft"}}, "lining": {"board_thickness": "1/2 in"}},
            "insulation.inside.reach",
        ),
    ],
)
def test_clashes(kind: str, detail: dict[str, Any], path: str) -> None:
    model = DETAILS[kind].model_validate({"kind": kind, **detail})
    assert [clash[0] for clash in model.clashes()] == [path]
