"""The strip beside the wall and the cover of the ground, in drawn sections."""

from __future__ import annotations

from typing import Any

import pytest

from stemwall.cases.case_file.case import DETAILS, Case
from stemwall.cases.section.eaves_strip import BESIDE, cover_ground, foot_of_wall, split_outdoors
from stemwall.cases.section.section_checks import Painted, findings
from stemwall.cases.setup.build import build, draw_section
from stemwall.materials.catalogue import catalogue
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Network
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.section import Opening, Region, Section
from stemwall.solver.model.settings import MeshRule
from tests.cases.samples import WALL, changed, problems, read

AIR = {"temperature": 20, "humidity": 0.5}
CLIMATES = ("outdoors", BESIDE, "house", "crawlspace", "basement")
NO_GUTTER = '[site.roof]\ngutter = false\n[site.strip]\nwidth = "400 mm"\nsplash_height = "250 mm"\n'


def detail(kind: str, site: dict[str, Any], **parts: Any) -> Section:
    tree = {"detail": {"kind": kind, **parts}, "site": site, "indoor": dict.fromkeys(CLIMATES[2:], AIR)}
    return draw_section(Case.model_validate(tree))[0]


def network(section: Section) -> Network:
    return build_network(build_mesh(section, MeshRule(finest=0.05, growth=2.0, layer_cells=1)))


def lengths(section: Section, climate: str) -> dict[str, float]:
    """Length of faces that meet a climate, by the direction in which they look [m]."""
    found = dict.fromkeys(("up", "down", "left", "right"), 0.0)
    for surface in network(section).surfaces:
        if surface.climate == climate:
            found[surface.facing] += surface.length
    return found


@pytest.mark.parametrize("kind", list(DETAILS))
def test_gutters_draw_no_strip(kind: str) -> None:
    assert BESIDE not in detail(kind, {}).climates


@pytest.mark.parametrize("placement", ["inside", "outside"])
@pytest.mark.parametrize("kind", [kind for kind in DETAILS if "form" not in kind])
def test_strip_lies_beside_whatever_covers_the_wall(kind: str, placement: str) -> None:
    site = {"roof": {"gutter": False}, "strip": {"width": 0.6, "splash_height": 0.3}}
    section = detail(kind, site, insulation={"placement": placement})
    assert findings(section, catalogue().materials, CLIMATES) == []
    foot = foot_of_wall(section)
    (strip,) = (o for o in section.openings if o.climate == BESIDE)
    assert foot is not None
    assert (foot.y, strip.x1, strip.x1 - strip.x0, strip.y1) == (0.0, foot.x, pytest.approx(0.6), pytest.approx(0.3))
    met = lengths(section, BESIDE)
    assert met["up"] == pytest.approx(0.6)
    # the framed wall stands back behind insulation outside, which ends 8 in above grade
    assert met["left"] == pytest.approx(0.3 if placement == "inside" else 0.2032)
    whole = detail(kind, {}, insulation={"placement": placement})
    before, after = lengths(whole, "outdoors"), lengths(section, "outdoors")
    for facing in before:
        assert after[facing] + met[facing] == pytest.approx(before[facing])


def test_strip_only_moves_faces_between_climates() -> None:
    """The solids are the same; a strip wider than the opening takes all of it."""
    plain = draw_section(read(WALL).base)[0]
    split = split_outdoors(plain, 0.4, 0.25)
    assert split.regions == plain.regions
    assert lengths(split, BESIDE)["up"] == pytest.approx(0.4)
    assert lengths(split, "outdoors")["up"] == pytest.approx(0.6)
    whole = split_outdoors(plain, 5.0, 5.0)
    assert "outdoors" not in whole.climates
    assert findings(whole, catalogue().materials, (BESIDE, "room")) == []
    assert split_outdoors(split, 0.1, 0.1) is split


def test_a_ledge_above_grade_is_not_the_foot() -> None:
    upper = '[[region]]\nname = "upper"\nmaterial = "concrete_wc050"\nx = [0, 0.2]\ny = [0.5, 1]\n'
    text = changed('x = [0, "200 mm"]\ny = [0, 1]', "x = [-0.2, 0.2]\ny = [0, 0.5]")
    plain = draw_section(read(changed("[[membrane]]", upper + "[[membrane]]", text)).base)[0]
    foot = foot_of_wall(plain)
    assert foot is not None
    assert (foot.x, foot.y) == (pytest.approx(-0.2), 0.0)


def test_case_builds_with_both_climates() -> None:
    made = build(read(changed("[bounds]", NO_GUTTER + "[bounds]")).base)
    assert {"outdoors", BESIDE} <= set(made.climates)
    strip, rest = made.climates[BESIDE].facings["up"].rain, made.climates["outdoors"].facings["up"].rain
    assert strip.sum() > 5 * rest.sum() > 0
    assert "gutters lead away 0%" in made.provenance["outdoors_roof_water"]
    assert "outdoors_strip" in made.provenance


def test_author_may_draw_the_strip() -> None:
    opening = f'[[opening]]\nname = "mine"\nclimate = "{BESIDE}"\nx = [-0.3, 0]\ny = [0, 0.2]\n'
    text = changed("[[region]]", opening + "[[region]]", changed("[bounds]", NO_GUTTER + "[bounds]"))
    made = build(read(text).base)
    assert [o.name for o in made.section.openings if o.climate == BESIDE] == ["mine"]
    assert BESIDE in made.climates


def test_a_strip_without_a_place_is_a_problem() -> None:
    text = changed('climate = "outdoors"', 'climate = "room"', changed("[bounds]", NO_GUTTER + "[bounds]"))
    (problem,) = problems(text)
    assert problem.path == "site.strip"
    assert "wall on its right" in problem.found


def test_cover_lies_on_the_ground_alone() -> None:
    section = detail("conditioned crawlspace", {"cover": {"kind": "grass"}})
    covered = [s for s in network(section).surfaces if s.finish and s.finish.name.startswith("ground cover")]
    assert {s.facing for s in covered} == {"up"}
    assert sum(s.length for s in covered) == pytest.approx(10.0)
    (finish,) = {(s.finish.absorptance, s.finish.emissivity) for s in covered if s.finish}
    assert finish == (pytest.approx(0.77), 0.95)
    bare = detail("conditioned crawlspace", {})
    assert not [f for f in bare.finishes if f.name.startswith("ground cover")]


def test_cover_follows_steps_and_leaves_finishes_alone() -> None:
    """Two terraces before a wall; the outer one lies lower."""
    section = Section(
        -2, -2, 1, 1,
        (
            Opening("air", "outdoors", -2, -1, 0, 1), Region("soil", "soil_loam", -2, -2, 1, -0.5),
            Region("terrace", "soil_loam", -1, -0.5, 0, 0), Region("wall", "concrete_wc050", 0, -0.5, 1, 1),
        ),
    )  # fmt: skip
    covered = cover_ground(section, 0.2, 0.95)
    assert [(f.x0, f.y0, f.x1, f.y1) for f in covered.finishes] == [(-2, -0.5, -1, -0.5), (-1, 0, 0, 0)]
    foot = foot_of_wall(section)
    assert foot is not None
    assert (foot.x, foot.y) == (0, 0)
    strip = next(o for o in split_outdoors(section, 1.5, 0.3).openings if o.climate == BESIDE)
    assert Painted(split_outdoors(section, 1.5, 0.3)).near(-1.2, -0.4, -1.2, -0.4) == [strip]
