"""Vented crawlspace, basement and insulated concrete forms: what is where, what is probed, what runs."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.case_file.starter import SHORT_NAMES, starter
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.section.section_checks import Painted
from stemwall.cases.setup.build import build, draw_section
from stemwall.solver.model.section import Membrane, Section
from tests.cases.details.test_detail_options import membranes, region
from tests.cases.details.test_details import AIR, CLIMATES, KINDS, section_of, seen_at

INCH = 0.0254
FOOT = 0.3048
FRAMED: dict[str, Any] = {
    "insulation": {
        "inside": {"material": "wood_fibre_140", "thickness": "4 in"},
        "inside_membrane": "retarder_variable",
    },
    "lining": {"frame_depth": "3 1/2 in", "board_thickness": "1/2 in", "paint": "paint_latex"},
}
BARE: dict[str, Any] = {"earth": {"ground_cover": False}}
RUNS: tuple[tuple[str, dict[str, Any]], ...] = (
    *((kind, {}) for kind in KINDS),
    ("basement", FRAMED),
    ("slab on grade", {"wing": {"thickness": "2 in"}, "insulation": {"placement": "outside"}}),
    ("vented crawlspace", {**BARE, "floor": {"insulation_thickness": "5 1/2 in"}}),
)


def test_vented_crawlspace_stands_on_earth() -> None:
    section = section_of("vented crawlspace")
    earth = -3 * FOOT + 6 * INCH
    assert seen_at(section, 2.0, earth - 0.02) == "native soil"
    assert seen_at(section, 2.0, earth + 0.02) == "crawlspace"
    assert seen_at(section, 9 * INCH, -0.5) == "crawlspace"
    cover = membranes(section)["ground cover"]
    assert (cover.x0, cover.x1, cover.y0) == pytest.approx((8 * INCH, section.x1, earth))
    up = membranes(section)["ground cover, turned up"]
    assert (up.x0, up.y1) == pytest.approx((8 * INCH, earth + 6 * INCH))


def test_cover_may_leave_a_strip_along_the_wall() -> None:
    found = membranes(section_of("vented crawlspace", earth={"covered_share": 0.75}))
    assert found["ground cover"].x0 == pytest.approx(8 * INCH + 1.0)
    assert "ground cover, turned up" not in found
    assert not any("ground" in name for name in membranes(section_of("vented crawlspace", **BARE)))


def test_vented_shares_the_geometry_of_the_conditioned_crawlspace() -> None:
    vented, conditioned = section_of("vented crawlspace"), section_of("conditioned crawlspace")
    for name in ("stem wall", "footing", "sill plate", "rim joist", "sheathing", "subfloor"):
        assert region(vented, name) == region(conditioned, name)


def test_basement_is_where_it_belongs() -> None:
    section = section_of("basement")
    bottom = -7 * FOOT
    assert seen_at(section, 0.1, -2.0) == "stem wall"
    assert seen_at(section, 9 * INCH, -2.0) == "inside insulation"
    assert seen_at(section, 2.0, bottom + 2 * INCH) == "slab"
    assert seen_at(section, 2.0, bottom + 5 * INCH) == "basement"
    assert seen_at(section, 2.0, bottom - 2 * INCH) == "stone base"
    assert seen_at(section, 0.1, bottom - 2 * INCH) == "footing"
    foam = section_of("basement", slab={"insulation_thickness": "2 in"})
    assert seen_at(foam, 2.0, bottom + 1 * INCH) == "under-slab insulation"
    assert membranes(foam)["ground sheet"].y0 == pytest.approx(bottom + 2 * INCH)


def test_frame_wall_stands_before_the_insulation() -> None:
    section = section_of("basement", **FRAMED)
    face = 12 * INCH
    slab_top = region(section, "slab").y1
    assert seen_at(section, face + 1 * INCH, -1.0) == "frame wall"
    assert seen_at(section, face + 3.75 * INCH, -1.0) == "lining"
    assert seen_at(section, face + 1 * INCH, slab_top + 1 * INCH) == "bottom plate"
    assert region(section, "top plate").y1 == pytest.approx(9.5 * INCH)
    assert seen_at(section, face + 4.1 * INCH, -1.0) == "basement"
    paint = membranes(section)["paint"]
    assert paint.x0 == pytest.approx(face + 4 * INCH)
    probes = {probe.name: probe for probe in section.probes}
    assert probes["bottom plate underside"].mould_class == "S"
    assert probes["frame wall, outer side, lower"].x == pytest.approx(face)
    assert probes["slab top, edge"].x > paint.x0


def _touching(section: Section) -> dict[str, set[str]]:
    painted = Painted(section)
    return {p.name: {item.name for item in painted.near(p.x, p.y, p.x, p.y)} for p in section.probes}


@pytest.mark.parametrize(("kind", "detail"), RUNS)
def test_probes_lie_where_their_kind_says(kind: str, detail: dict[str, Any]) -> None:
    section = section_of(kind, **detail)
    openings = {opening.name for opening in section.openings}
    touching = _touching(section)
    for probe in section.probes:
        around = touching[probe.name]
        assert probe.region in around
        if probe.kind == "surface":
            assert openings & around, probe.name
        elif probe.kind in ("concrete", "insulation"):
            assert len(around) == 1, probe.name
        elif probe.kind == "interface":
            covered = any(_on(membrane, probe.x, probe.y) for membrane in section.membranes)
            assert covered or (len(around) > 1 and not openings & around), probe.name


def _on(membrane: Membrane, x: float, y: float) -> bool:
    return bool(membrane.x0 - 1e-9 <= x <= membrane.x1 + 1e-9 and membrane.y0 - 1e-9 <= y <= membrane.y1 + 1e-9)


@pytest.mark.parametrize("name", SHORT_NAMES)
def test_the_variant_of_a_starter_can_be_taken(name: str) -> None:
    text = starter(SHORT_NAMES[name])
    head, mark, tail = text.partition("# [[variant]]")
    assert mark
    taken = textwrap.dedent(re.sub(r"^# ", "", mark + tail, flags=re.MULTILINE))
    file = parse_case(head + taken, Path("starter.toml"))
    base, variant = file.variants()
    assert draw_section(base)[0] != draw_section(variant)[0]


@pytest.mark.parametrize("name", SHORT_NAMES)
def test_a_starter_states_the_air_of_every_space(name: str) -> None:
    case = parse_case(starter(SHORT_NAMES[name]), Path("starter.toml")).base
    section, _ = draw_section(case)
    assert {"outdoors", *case.indoor, *case.zone} == set(section.climates)


def test_a_kind_and_a_space_of_one_name_are_told_apart() -> None:
    text = '[detail]\nkind = "basement"\nhalf_width = -1\n[indoor.basement]\ntemperature = 900\nhumidity = 0.5\n'
    with pytest.raises(CaseError) as caught:
        parse_case(text, Path("bad.toml"))
    assert {(p.path, p.line) for p in caught.value.problems} == {
        ("indoor.basement.temperature", 5),
        ("detail.half_width", 3),
    }


def two_days(kind: str, detail: dict[str, Any], folder: Path, hours: int = 48, **tables: Any) -> xr.Dataset:
    """Return the result of two days, or of some hours, on a coarse mesh."""
    tree = {
        **tables,
        "detail": {"kind": kind, **detail},
        "indoor": dict.fromkeys(CLIMATES[1:], AIR),
        "mesh": {"finest": "40 mm", "growth": 2.0, "layer_cells": 1},
    }
    path = simulate_setup(build(Case.model_validate(tree), hours / 8760), folder / "run.nc")
    with xr.open_dataset(path) as result:
        return result.load()


@pytest.mark.parametrize(("kind", "detail"), RUNS)
def test_two_days_run_and_balance(kind: str, detail: dict[str, Any], tmp_path: Path) -> None:
    result = two_days(kind, detail, tmp_path)
    assert result.attrs["completed"] == "yes"
    assert result.sizes["time"] == 48
    assert result.attrs["balance_water_relative"] < 1e-5
    assert result.attrs["balance_heat_relative"] < 1e-5
    temperature = result["probe_temperature"].values
    assert np.all((temperature > -30) & (temperature < 50))


def test_a_ground_cover_holds_back_the_vapour_of_the_earth(tmp_path: Path) -> None:
    flows = []
    for share in (1.0, 0.75, 0.0):
        result = two_days("vented crawlspace", {"earth": {"covered_share": share}}, tmp_path)
        earth = [str(name).startswith("crawlspace | native soil") for name in result["surface"].values]
        flows.append(-float(result["vapour_flow"].values[:, earth].sum()))
    covered, partly, bare = flows
    assert 0 < covered < 0.05 * bare
    assert covered + 0.2 * bare < partly < covered + 0.35 * bare


def test_a_membrane_on_capillary_insulation_slows_its_drying(tmp_path: Path) -> None:
    board = {"material": "wood_fibre_140", "thickness": "4 in"}
    place = {"probe": "wall inner face, upper"}
    humidity = []
    for membrane in (False, "retarder_variable", "pe_015"):
        insulation = {"inside": board, "inside_membrane": membrane}
        result = two_days("basement", {"insulation": insulation}, tmp_path)
        humidity.append(float(result["probe_relative_humidity"].sel(place)[-1]))
    open_face, smart, tight = humidity
    assert open_face + 0.005 < smart < tight


def test_a_footing_drain_takes_water_where_the_water_table_is_high(tmp_path: Path) -> None:
    taken = {}
    for depth in ("6 ft", "20 ft"):
        result = two_days("basement", {"drain": {"present": True}}, tmp_path, 3, site={"water_table": depth})
        (drain,) = [k for k, name in enumerate(result["surface"].values) if "footing drain" in str(name)]
        taken[depth] = -float(result["liquid_flow"].values[:, drain].sum()) * 3600
    assert taken["6 ft"] > 1.0
    assert taken["20 ft"] == pytest.approx(0.0, abs=1e-9)
