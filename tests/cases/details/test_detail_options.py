"""Options of the details: each one changes the section in its own place, and any mixture stays valid."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from stemwall.cases.section.section_checks import findings
from stemwall.materials.catalogue import catalogue
from stemwall.solver.model.section import Membrane, Region, Section
from tests.cases.details.test_details import CLIMATES, KINDS, section_of, seen_at

INCH = 0.0254
FOOT = 0.3048
OUTSIDE: tuple[dict[str, Any], ...] = (
    {},
    {"wing": {"thickness": "2 in"}, "drain": {"present": True}},
    {"wall": {"waterproofing": "bitumen_wp", "drainage_mat": "drain_mat"}, "flashing": {"material": "fluid_perm"}},
)
INSIDE: tuple[dict[str, Any], ...] = (
    {"footing": {"capillary_break": "fluid_imperm"}},
    {"rim": {"insulation": "foam_spray_open", "cover_thickness": "2 in"}},
    {"rim": {"insulation_thickness": "4 in", "cover_thickness": "3 in", "cover_ledge": False}},
    {"floor": {"insulation_thickness": "9 1/4 in", "facing": "housewrap"}},
)
LAYERS: tuple[dict[str, Any], ...] = (
    {
        "placement": "both",
        "inside": {"reach": "2 ft"},
        "outside": {"reach": "2 ft"},
        "inside_membrane": "retarder_variable",
    },
    {"placement": "both", "inside": {"material": "wood_fibre_140"}, "inside_membrane": "pe_015"},
    {"placement": "none"},
)


def membranes(section: Section) -> dict[str, Membrane]:
    """Return the membranes by name."""
    return {membrane.name: membrane for membrane in section.membranes}


def region(section: Section, name: str) -> Region:
    """Return the region of a name."""
    return next(region for region in section.regions if region.name == name)


@pytest.mark.parametrize(
    ("kind", "outside", "inside", "layers"), list(itertools.product(KINDS, OUTSIDE, INSIDE, LAYERS))
)
def test_mixtures_are_valid(kind: str, outside: dict[str, Any], inside: dict[str, Any], layers: dict[str, Any]) -> None:
    tables = {**outside, **inside, "insulation": layers}
    if kind == "slab on grade":
        tables = {key: table for key, table in tables.items() if key not in ("rim", "floor")}
    assert findings(section_of(kind, **tables), catalogue().materials, CLIMATES) == []


def test_no_two_membranes_share_a_line() -> None:
    section = section_of(
        "conditioned crawlspace", **OUTSIDE[2], footing={"capillary_break": "fluid_imperm"}, insulation=LAYERS[1]
    )
    lines = [(m.x0, m.y0, m.x1, m.y1) for m in section.membranes]
    for a, b in itertools.combinations(lines, 2):
        inside_x = min(a[2], b[2]) - max(a[0], b[0])
        inside_y = min(a[3], b[3]) - max(a[1], b[1])
        assert max(inside_x, inside_y) < 1e-6 or min(inside_x, inside_y) < -1e-6, (a, b)


@pytest.mark.parametrize("kind", KINDS)
def test_waterproofing_takes_the_place_of_the_coat(kind: str) -> None:
    found = membranes(section_of(kind, wall={"waterproofing": "fluid_imperm"}))
    assert "damp-proofing" not in found
    product = catalogue().membranes["fluid_imperm"]
    assert found["waterproofing"].sd_dry == product.sd_dry
    assert found["waterproofing"].y1 == 0.0
    assert found["waterproofing"].x0 <= 0.0


def test_drainage_mat_adds_to_what_lies_under_it() -> None:
    wall = {"waterproofing": "bitumen_wp", "drainage_mat": "drain_mat"}
    both = membranes(section_of("basement", wall=wall))["waterproofing and drainage mat"]
    waterproofing, mat = (catalogue().membranes[key] for key in ("bitumen_wp", "drain_mat"))
    assert both.sd_dry == pytest.approx(waterproofing.sd_dry + mat.sd_dry)
    assert both.resistance == pytest.approx(waterproofing.thermal_resistance + mat.thermal_resistance)
    assert (both.x0, both.y1) == (0.0, 0.0)


def test_drainage_mat_follows_the_foam_outside() -> None:
    insulation = {"placement": "outside", "outside": {"thickness": "2 in", "reach": "3 ft"}}
    found = membranes(section_of("basement", wall={"drainage_mat": "drain_mat"}, insulation=insulation))
    foam_end = 8 * INCH - 3 * FOOT
    upper, lower = found["drainage mat"], found["damp-proofing and drainage mat, lower"]
    assert (upper.x0, upper.y0, upper.y1) == pytest.approx((-2 * INCH, foam_end, 0.0))
    assert (lower.x0, lower.y1) == pytest.approx((0.0, foam_end))


def test_forms_carry_the_coat_on_their_outer_panel() -> None:
    section = section_of("insulated concrete form wall")
    assert membranes(section)["damp-proofing"].x0 == pytest.approx(-2.625 * INCH)
    assert seen_at(section, -0.03, -1.0) == "outside insulation"
    assert seen_at(section, 8 * INCH + 0.03, -1.0) == "inside insulation"
    assert region(section, "inside insulation").material == "eps_ii"
    assert region(section, "lining").x0 == pytest.approx(10.625 * INCH)
    coat = membranes(section_of("basement", insulation={"placement": "both"}))["damp-proofing"]
    assert coat.x0 == 0.0


def test_forms_stay_forms_when_another_field_is_changed() -> None:
    section = section_of("insulated concrete form wall", insulation={"form": {"thickness": "2 in"}})
    assert membranes(section)["damp-proofing"].x0 == pytest.approx(-2 * INCH)
    basement = section_of("basement", wall={"thickness": "10 in"})
    assert region(basement, "stem wall").y0 == pytest.approx(-7 * FOOT)
    vented = section_of("vented crawlspace", insulation={"inside_membrane": "pe_015"}, rim={"depth": "7 1/4 in"})
    assert not {"inside insulation", "rim insulation"} & {item.name for item in vented.regions}


@pytest.mark.parametrize("kind", KINDS)
def test_flashing_laps_over_rim_sill_and_wall(kind: str) -> None:
    flashing = membranes(section_of(kind, flashing={"material": "fluid_perm", "lap": "3 in"}))["sill flashing"]
    rise = 1.5 * INCH if kind == "slab on grade" else (1.5 + 9.25) * INCH
    assert (flashing.x0, flashing.y0, flashing.y1) == pytest.approx((0.0, 5 * INCH, 8 * INCH + rise))


def test_rim_cover_lies_on_the_foam() -> None:
    rim = {"insulation": "foam_spray_open", "insulation_thickness": "3 in", "cover_thickness": "2 in"}
    section = section_of("conditioned crawlspace", rim=rim)
    sill_top = 9.5 * INCH
    assert region(section, "rim insulation").material == "foam_spray_open"
    assert seen_at(section, 3 * INCH, sill_top + 6 * INCH) == "rim insulation"
    assert seen_at(section, 5 * INCH, sill_top + 6 * INCH) == "rim cover"
    assert seen_at(section, 8 * INCH, sill_top + 2 * INCH) == "ledge insulation"
    assert seen_at(section, 8 * INCH, sill_top + 4 * INCH) == "ledge cover"
    assert seen_at(section, 8 * INCH, sill_top + 6 * INCH) == "crawlspace"
    probe = next(p for p in section.probes if p.name == "rim insulation, under its cover")
    assert probe.x == pytest.approx(4.5 * INCH)


def test_footing_break_lies_under_wall_and_slab() -> None:
    footing = {"capillary_break": "fluid_imperm"}
    bare = membranes(section_of("basement", footing=footing, slab={"ground_sheet": False}))
    line = bare["footing capillary break"]
    assert (line.x0, line.x1, line.y0) == pytest.approx((0.0, 12 * INCH, -7 * FOOT))
    sheeted = membranes(section_of("basement", footing=footing, insulation={"placement": "none"}))
    assert sheeted["footing capillary break"].x1 == pytest.approx(8 * INCH)
    both = sheeted["ground sheet and footing capillary break"]
    assert (both.x0, both.x1) == pytest.approx((8 * INCH, 12 * INCH))
    assert sheeted["ground sheet"].x0 == pytest.approx(12 * INCH)


@pytest.mark.parametrize("kind", ["conditioned crawlspace", "basement", "slab on grade"])
def test_edge_strip_parts_slab_and_wall(kind: str) -> None:
    section = section_of(kind, slab={"edge_strip_thickness": "1/2 in"}, insulation={"placement": "none"})
    strip = region(section, "slab-edge strip")
    assert (strip.x0, strip.x1) == pytest.approx((8 * INCH, 8.5 * INCH))
    slab = region(section, "slab")
    assert (strip.y0, strip.y1) == (slab.y0, slab.y1)


@pytest.mark.parametrize("kind", KINDS)
def test_wing_lies_level_in_the_ground(kind: str) -> None:
    wing = {"thickness": "2 in", "width": "3 ft", "depth": "1 ft"}
    section = section_of(kind, wing=wing, insulation={"placement": "outside"})
    assert seen_at(section, -2 * INCH - 2.9 * FOOT, -13 * INCH) == "wing insulation"
    assert seen_at(section, -2 * INCH - 3.1 * FOOT, -13 * INCH) != "wing insulation"
    assert seen_at(section, -1 * FOOT, -11 * INCH) == "clay cap"
    assert seen_at(section, -1 * INCH, -13 * INCH) == "outside insulation"


@pytest.mark.parametrize("kind", KINDS)
def test_drain_stone_lies_beside_the_footing(kind: str) -> None:
    section = section_of(kind, drain={"present": True})
    footing = region(section, "footing")
    assert seen_at(section, footing.x0 - 0.1, footing.y0 + 0.05) == "drain stone"
    assert seen_at(section, footing.x0 - 0.1, footing.y1 + 5 * INCH) == "drain stone"
    assert seen_at(section, footing.x0 - 0.1, footing.y1 + 7 * INCH) == "backfill"


@pytest.mark.parametrize("kind", KINDS)
def test_drain_lies_amid_its_stone(kind: str) -> None:
    section = section_of(kind, drain={"present": True})
    (drain,), stone = section.drains, region(section, "drain stone")
    footing = region(section, "footing")
    assert (drain.x0 + drain.x1) / 2 == pytest.approx(footing.x0 - 6 * INCH)
    assert (drain.x1 - drain.x0, drain.y1 - drain.y0) == pytest.approx((4 * INCH, 4 * INCH))
    assert stone.x0 < drain.x0
    assert drain.y0 == stone.y0 == footing.y0
    assert section_of(kind).drains == ()


def test_drainage_mat_drains_only_into_a_footing_drain() -> None:
    wall = {"drainage_mat": "dimple_hdpe"}
    insulation = {"placement": "outside", "outside": {"thickness": "2 in", "reach": "3 ft"}}
    assert section_of("basement", wall=wall, insulation=insulation).drains == ()
    section = section_of("basement", wall=wall, insulation=insulation, drain={"present": True})
    _, upper, lower = section.drains
    end = 8 * INCH - 3 * FOOT
    assert (upper.x0, upper.x1, upper.y0, upper.y1) == pytest.approx((-2 * INCH - 0.01, -2 * INCH - 0.01, end, 0))
    assert (lower.x0, lower.y0, lower.y1) == pytest.approx((-0.01, -7 * FOOT, end))


def test_half_height_insulation_ends_on_the_wall() -> None:
    board = {"material": "eps_ii", "thickness": "3 in", "reach": "4 ft"}
    section = section_of("basement", insulation={"inside": board, "inside_membrane": "retarder_variable"})
    end = 8 * INCH - 4 * FOOT
    assert seen_at(section, 9 * INCH, end + 0.01) == "inside insulation"
    assert seen_at(section, 9 * INCH, end - 0.01) == "basement"
    assert seen_at(section, 9 * INCH, -7 * FOOT + 0.05) == "slab"
    assert membranes(section)["inside membrane"].y0 == pytest.approx(end)
    kinds = {probe.name: probe.kind for probe in section.probes}
    assert kinds["wall inner face, upper"] == "ground contact"
    assert kinds["wall inner face, lower"] == "surface"


def test_floor_insulation_hangs_under_the_subfloor() -> None:
    section = section_of("vented crawlspace", floor={"insulation_thickness": "5 1/2 in", "facing": "housewrap"})
    subfloor = region(section, "subfloor")
    assert seen_at(section, 2.0, subfloor.y0 - 5 * INCH) == "floor insulation"
    assert seen_at(section, 2.0, subfloor.y0 - 6 * INCH) == "crawlspace"
    facing = membranes(section)["floor insulation facing"]
    assert facing.y0 == pytest.approx(subfloor.y0 - 5.5 * INCH)
    assert facing.x1 == section.x1
