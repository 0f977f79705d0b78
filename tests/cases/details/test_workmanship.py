"""Workmanship: one word sets all switches, what is stated wins, and each switch moves results its way."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from stemwall.cases.case_file.case import DETAILS, Case
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.case_file.starter import SHORT_NAMES, starter
from stemwall.cases.case_file.stated import settings_of
from stemwall.cases.details.workmanship import RAIN_LEAK, air_layer, poor_value
from stemwall.cases.section.section_checks import findings
from stemwall.cases.setup.build import build
from stemwall.cases.setup.provenance import surroundings
from stemwall.materials.catalogue import catalogue
from tests.cases.details.test_detail_kinds import two_days
from tests.cases.details.test_detail_options import membranes, region
from tests.cases.details.test_details import CLIMATES, KINDS, section_of

INCH = 0.0254
CRAWL, VENTED = "conditioned crawlspace", "vented crawlspace"
DAYS = 10 * 24


def work_of(kind: str, **switches: Any) -> Any:
    return DETAILS[kind].model_validate({"kind": kind, "workmanship": switches}).workmanship


def switches(kind: str) -> dict[str, Any]:
    """Names of the switches of a kind, with their poor values as written."""
    fields = type(work_of(kind)).model_fields
    poor = {name: poor_value(field.json_schema_extra) for name, field in fields.items()}
    return {name: value for name, value in poor.items() if value is not None}


def test_every_kind_has_the_switches_that_it_can_have() -> None:
    everywhere = {"missing_gasket", "open_seam", "rain_leak"}
    assert set(switches("slab on grade")) == everywhere
    assert set(switches("insulated concrete form wall")) == everywhere | {"rim_gap"}
    assert set(switches("basement")) == everywhere | {"rim_gap", "wall_gap"}
    for kind in (CRAWL, VENTED):
        assert set(switches(kind)) == everywhere | {"rim_gap", "wall_gap", "uncovered"}


@pytest.mark.parametrize("kind", KINDS)
def test_good_is_as_drawn_and_poor_switches_everything_on(kind: str) -> None:
    assert section_of(kind, workmanship={"preset": "good"}) == section_of(kind)
    good, poor = work_of(kind), work_of(kind, preset="poor")
    for name in switches(kind):
        assert not getattr(good, name)
        assert getattr(poor, name)
    assert poor.model_fields_set == {"preset"}
    section = section_of(kind, workmanship={"preset": "poor"})
    assert findings(section, catalogue().materials, CLIMATES) == []
    assert "sill capillary break" not in membranes(section)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_stated_wins_over_the_preset(kind: str) -> None:
    work = work_of(kind, preset="poor", missing_gasket=False, open_seam="2 in")
    assert work.missing_gasket is False
    assert work.open_seam == pytest.approx(2 * INCH)
    assert work.rain_leak == 0.01
    assert work.model_fields_set == {"preset", "missing_gasket", "open_seam"}
    one = work_of(kind, rain_leak="2 %")
    assert (one.rain_leak, one.open_seam, one.missing_gasket) == (0.02, 0.0, False)


def test_a_gasket_that_was_left_out_is_left_out_whatever_was_drawn() -> None:
    section = section_of(CRAWL, sill={"capillary_break": "pe_015"}, workmanship={"preset": "poor"})
    assert "sill capillary break" not in membranes(section)


def test_the_seam_opens_at_the_wall_or_in_the_middle() -> None:
    whole = membranes(section_of(VENTED))["ground cover"]
    wall = membranes(section_of(VENTED, workmanship={"open_seam": "1 in"}))
    assert wall["ground cover"].x0 == pytest.approx(whole.x0 + INCH)
    assert wall["ground cover"].x1 == whole.x1
    assert "ground cover, turned up" in wall
    middle = membranes(section_of(VENTED, workmanship={"open_seam": "1 in", "seam_at": "middle"}))
    left, right = middle["ground cover"], middle["ground cover, 2"]
    assert (left.x0, right.x1) == (whole.x0, whole.x1)
    assert right.x0 - left.x1 == pytest.approx(INCH)
    assert (left.x1 + right.x0) / 2 == pytest.approx((whole.x0 + whole.x1) / 2)


@pytest.mark.parametrize(("kind", "name"), [(CRAWL, "ground sheet"), (VENTED, "ground cover")])
def test_the_uncovered_share_lies_along_the_wall(kind: str, name: str) -> None:
    whole = membranes(section_of(kind))[name]
    part = membranes(section_of(kind, workmanship={"uncovered": "25 %"}))
    assert part[name].x1 - part[name].x0 == pytest.approx(0.75 * (whole.x1 - whole.x0))
    assert part[name].x1 == whole.x1
    assert f"{name}, turned up" not in part
    none = membranes(section_of(kind, workmanship={"uncovered": 1.0, "open_seam": "1 in"}))
    assert not any(found.startswith(name) for found in none)


def test_gaps_lie_at_the_top_of_rim_and_wall() -> None:
    section = section_of(CRAWL, workmanship={"rim_gap": "1/2 in", "wall_gap": "1 in"})
    rim, wall = region(section, "rim gap"), region(section, "wall gap")
    foam, board = region(section, "rim insulation"), region(section, "inside insulation")
    assert (rim.x0, rim.x1, rim.y1) == pytest.approx((foam.x0, foam.x1, foam.y1))
    assert rim.y1 - rim.y0 == pytest.approx(INCH / 2)
    assert (wall.x0, wall.x1, wall.y1) == pytest.approx((board.x0, board.x1, 8 * INCH))
    assert wall.y1 - wall.y0 == pytest.approx(INCH)
    assert catalogue().materials[rim.material].group == "air_gap"
    assert {"rim joist at the gap", "wall inner face at the gap"} <= {probe.name for probe in section.probes}
    assert "rim gap" not in {r.name for r in section_of(VENTED, workmanship={"preset": "poor"}).regions}
    assert "wall gap" not in {
        r.name for r in section_of(CRAWL, insulation={"placement": "outside"}, workmanship={"preset": "poor"}).regions
    }


def test_the_air_layer_of_a_gap_is_the_nearest_of_the_catalogue() -> None:
    assert [air_layer(t) for t in (0.001, 0.0508, 0.0889, 0.5)] == [
        "air_005_hor", "air_050_hor", "air_089_hor", "air_140_hor",
    ]  # fmt: skip
    for kind in KINDS:
        gaps = [r for r in section_of(kind, workmanship={"preset": "poor"}).regions if r.name.endswith(" gap")]
        assert {r.material for r in gaps} <= set(catalogue().materials)


@pytest.mark.parametrize(
    ("kind", "work", "path"),
    [
        (CRAWL, {"open_seam": "3 m"}, "workmanship.open_seam"),
        (CRAWL, {"rim_gap": "10 in"}, "workmanship.rim_gap"),
        (CRAWL, {"wall_gap": "5 ft"}, "workmanship.wall_gap"),
    ],
)
def test_gaps_wider_than_what_they_lie_in_are_refused(kind: str, work: dict[str, Any], path: str) -> None:
    model = DETAILS[kind].model_validate({"kind": kind, "workmanship": work})
    assert [clash[0] for clash in model.clashes()] == [path]


def test_the_rain_leak_reaches_the_sill() -> None:
    text = f'[detail]\nkind = "{CRAWL}"\n[detail.workmanship]\nrain_leak = "2 %"\n'
    air = "[indoor.house]\ntemperature = 20\nhumidity = 0.5\n[indoor.crawlspace]\ntemperature = 20\nhumidity = 0.5\n"
    setup = build(parse_case(text + air, Path("a.toml")).base, 0.3)
    (source,) = setup.environment.sources
    assert (source.name, source.region) == (RAIN_LEAK, "sill plate")
    assert (source.x, source.y) == pytest.approx((0.0, 8.75 * INCH))
    rain = setup.climates["outdoors"].facings["left"].rain
    np.testing.assert_allclose(source.rate, 0.02 * 8 * 0.3048 * rain)
    assert rain.max() > 0


@pytest.mark.parametrize("name", SHORT_NAMES)
def test_one_word_in_a_starter_switches_everything_on(name: str) -> None:
    """A starter states every default but these, so that the preset it states can be changed."""
    text = starter(SHORT_NAMES[name])
    assert text.count('preset = "good"') == 1
    poor = parse_case(text.replace('preset = "good"', 'preset = "poor"'), Path("starter.toml")).base
    assert poor.detail is not None
    for switch, value in switches(SHORT_NAMES[name]).items():
        assert getattr(poor.detail.workmanship, switch)
        assert f"\n# {switch} = " in text
        assert f"{str(value).lower()} with poor workmanship" in text.replace("\n# ", " ")


def test_a_report_shows_the_switches_and_what_is_wrong() -> None:
    case = Case.model_validate({"detail": {"kind": CRAWL, "workmanship": {"preset": "poor", "open_seam": 0}}})
    rows = {row.path: row for row in settings_of(case)}
    gasket, seam = rows["detail.workmanship.missing_gasket"], rows["detail.workmanship.open_seam"]
    assert (gasket.value, seam.value) == ("yes", "0")
    assert gasket.origin.startswith("default: false with good, true with poor workmanship")
    assert seam.origin == "case file"
    said = surroundings(case)
    assert said["workmanship"].startswith("poor; whether the sill gasket")
    assert "seam" not in said["workmanship"]
    assert said["leaks"].startswith(RAIN_LEAK)


# --- signs, on coarse meshes and short runs


def last(result: xr.Dataset, name: str, place: str) -> float:
    return float(result[f"probe_{name}"].sel(probe=place)[-24:].mean())


def from_ground(result: xr.Dataset) -> float:
    """Vapour from earth or slab into the space in all [kg/m]."""
    own = [str(n).startswith(("crawlspace | native soil", "crawlspace | slab, up")) for n in result["surface"].values]
    return -float(result["vapour_flow"].values[:, own].sum()) * 3600.0


def lost(result: xr.Dataset) -> float:
    """Heat that the crawlspace gives to the section [kWh/m]."""
    own = [str(name).startswith("crawlspace") for name in result["surface"].values]
    return float(result["heat_flow"].values[:, own].sum()) / 1000.0


def test_a_missing_gasket_wets_the_sill(tmp_path: Path) -> None:
    good, bad = (
        two_days(VENTED, {"workmanship": {"missing_gasket": missing}}, tmp_path, DAYS) for missing in (False, True)
    )
    assert last(bad, "relative_humidity", "sill underside") > last(good, "relative_humidity", "sill underside") + 0.005
    assert last(bad, "water_content", "sill core") > last(good, "water_content", "sill core")


def test_an_open_seam_lets_vapour_out_of_the_ground(tmp_path: Path) -> None:
    work = ({}, {"open_seam": "1/2 in"}, {"open_seam": "1/2 in", "seam_at": "middle"})
    tight, wall, middle = (from_ground(two_days(VENTED, {"workmanship": w}, tmp_path)) for w in work)
    assert wall > 2.0 * tight > 0.0
    assert middle > 2.0 * tight
    bare = from_ground(two_days(VENTED, {"earth": {"ground_cover": False}}, tmp_path))
    assert max(wall, middle) < 0.2 * bare


def test_evaporation_follows_the_uncovered_share(tmp_path: Path) -> None:
    """Monotone and about in proportion (rule of thumb in a home-repair column, second-hand)."""
    shares = (0.0, 0.1, 0.5, 1.0)
    none, tenth, half, bare = (
        from_ground(two_days(VENTED, {"workmanship": {"uncovered": share}}, tmp_path)) for share in shares
    )
    assert 0.0 < none < tenth < half < bare
    assert (tenth - none) / (bare - none) == pytest.approx(0.1, abs=0.03)
    assert (half - none) / (bare - none) == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize(
    ("gap", "place"), [("rim_gap", "rim joist at the gap"), ("wall_gap", "wall inner face at the gap")]
)
def test_a_gap_loses_heat_and_lets_vapour_to_the_cold_face(gap: str, place: str, tmp_path: Path) -> None:
    january = {"run": {"start": "2001-01-10T00:00:00"}}
    whole, open_gap = (
        two_days(CRAWL, {"workmanship": {gap: width}}, tmp_path, 4 * 24, **january) for width in (0, "1 in")
    )
    assert lost(open_gap) > 1.003 * lost(whole)
    covered = "rim joist inner face" if gap == "rim_gap" else "wall inner face, upper"
    # the bare face is warmer than the one behind foam, but meets the vapour of the space
    assert last(open_gap, "temperature", place) > last(whole, "temperature", covered)
    assert last(open_gap, "relative_humidity", place) > last(whole, "relative_humidity", covered) + 0.03


@pytest.mark.parametrize("kind", KINDS)
def test_poor_workmanship_runs_and_balances(kind: str, tmp_path: Path) -> None:
    result = two_days(kind, {"workmanship": {"preset": "poor"}}, tmp_path)
    assert result.attrs["completed"] == "yes"
    assert result.attrs["balance_water_relative"] < 1e-5
    assert result.attrs["balance_heat_relative"] < 1e-5


@pytest.mark.slow
def test_a_rain_leak_wets_the_sill_and_an_open_seam_the_slab(tmp_path: Path) -> None:
    """Autumn and winter from a dry start; concrete that wicks: in the long-term law a seam passes vapour alone."""
    wicking = {"base": "concrete_wc070", "liquid": {"service": "short-term"}}
    run = {"run": {"start": "2001-09-01T00:00:00", "initial_humidity": 0.5}, "material": {"wicking": wicking}}
    wicks = {"slab": {"material": "wicking"}, "footing": {"material": "wicking"}}
    work = ({}, {"rain_leak": "1 %"}, {"open_seam": "1/2 in"}, {"preset": "poor"})
    good, leak, seam, poor = (two_days(CRAWL, {"workmanship": w, **wicks}, tmp_path, 120 * 24, **run) for w in work)
    dry, rained_on, worst = (last(result, "water_content", "sill underside") for result in (good, leak, poor))
    assert dry + 2.0 < rained_on < worst - 2.0  # kg/m3
    assert from_ground(seam) > from_ground(good) + 0.1
