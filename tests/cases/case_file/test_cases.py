"""Good cases: variants, starter files, the shipped default, and what is built from them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from stemwall.cases.case_file.read import default_path, load_case, parse_case
from stemwall.cases.case_file.starter import SHORT_NAMES, optional, starter
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import build, with_years
from stemwall.cases.surroundings.air_zone import DehumidifierTable, HeaterTable, VentTable, ZoneTable
from stemwall.cases.surroundings.indoor_air import Air
from stemwall.cases.surroundings.spaces import SPACES
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.section import Region
from stemwall.solver.model.settings import MeshRule
from tests.cases.samples import WALL, changed, line_of, read, setup

VARIANTS = """
[[variant]]
name = "no break"
note = "nothing under the wall"
[variant.change]
"membrane.break.sd" = "0.001 m"
"membrane.break.material" = false
"membrane.break.liquid" = "open"
[[variant]]
name = "thick"
[variant.change]
"region.wall.x" = [0, "12 in"]
site.albedo = 0.3
"""


@pytest.mark.parametrize("kind", SHORT_NAMES.values())
def test_starter_loads_again_with_the_same_values(kind: str) -> None:
    case = parse_case(starter(kind), Path("starter.toml")).base
    bare = parse_case(f'[detail]\nkind = "{kind}"\n', Path("bare.toml")).base
    assert case.model_dump() == bare.model_dump()
    assert case.assumed == frozenset()
    assert bare.assumed == {*bare.indoor, *bare.zone}


@pytest.mark.parametrize("kind", SHORT_NAMES.values())
def test_a_starter_computes_the_air_of_a_crawlspace(kind: str) -> None:
    case = parse_case(starter(kind), Path("starter.toml")).base
    space, zone = SPACES.get(kind, ("", None))
    assert case.zone == ({} if zone is None else {space: zone})
    assert set(case.indoor) | set(case.zone) == {"house", *filter(None, [space])}
    if kind == "conditioned crawlspace":
        # 1 cfm per 50 ft2
        assert case.zone[space].supply == pytest.approx(0.3048**3 / 60.0 / (50.0 * 0.3048**2), rel=0.02)
    if kind == "vented crawlspace":
        assert case.zone[space].vents == VentTable()


@pytest.mark.parametrize("kind", SHORT_NAMES.values())
def test_what_a_starter_leaves_out_can_be_taken_in(kind: str) -> None:
    """What else moves the air of a space, a leak and a flood stand there as comments, with their defaults."""
    text = starter(kind)
    for table in optional(kind):
        commented = "\n".join(f"# {line}".rstrip() for line in table.splitlines())
        assert commented in text
        text = text.replace(commented, table)
    space, zone = SPACES.get(kind, ("", None))
    if space and zone is None:
        before, _, after = text.partition(f"[indoor.{space}]")
        text = before + after.partition("\n\n")[2]
    case = parse_case(text, Path("starter.toml")).base
    assert list(case.zone) == ([space] if space else [])
    for table in case.zone.values():
        assert (table.vents, table.heater, table.dehumidifier) == (VentTable(), HeaterTable(), DehumidifierTable())
        inner = {"vents", "heater", "dehumidifier"}
        assert table.model_dump(exclude=inner) == (zone or ZoneTable()).model_dump(exclude=inner)
    assert [(leak.name, leak.rain_share) for leak in case.leak] == [("pipe", 0.0)]
    assert [(flood.name, flood.hours) for flood in case.flood] == [("flood", 48)]
    assert build(case, 0.003).environment.floods


@pytest.mark.parametrize("kind", SHORT_NAMES.values())
def test_starter_gives_every_number_a_reason(kind: str) -> None:
    lines = starter(kind).splitlines()
    for number, line in enumerate(lines):
        value = line.partition(" = ")[2]
        if value[:1].isdigit() or value[1:2].isdigit():
            comment = []
            for above in reversed(lines[:number]):
                if not above.startswith("# "):
                    break
                comment.append(above)
            assert "—" in "".join(comment), line


def test_default_case_builds_in_all_variants() -> None:
    file = load_case(default_path())
    assert len(file.variants()) >= 5
    for case in file.variants():
        made = build(with_years(case, 0.01))
        assert made.hours == 88
        assert set(made.climates) == {"outdoors", "house"}
        assert [zone.key for zone in made.environment.zones] == ["crawlspace"]
        assert set(made.materials) == set(made.section.materials)


def test_variants_change_only_what_they_say() -> None:
    file = read(WALL + VARIANTS)
    assert [case.name for case in file.variants()] == ["base", "no break", "thick"]
    base, open_wall, thick = (build(case).section for case in file.variants())
    assert base.membranes[0].liquid == "break"
    assert (open_wall.membranes[0].sd_dry, open_wall.membranes[0].liquid) == (0.001, "open")
    assert open_wall.items == base.items
    wall = next(item for item in thick.items if item.name == "wall")
    assert isinstance(wall, Region)
    assert wall.x1 == pytest.approx(0.3048)
    assert file.variant("thick").site.albedo == 0.3
    assert file.base.site.albedo == 0.2
    assert file.variant("no break").note == "nothing under the wall"


def test_unknown_variant_names_the_nearest() -> None:
    with pytest.raises(CaseError, match="did you mean 'thick'"):
        read(WALL + VARIANTS).variant("thik")


@pytest.mark.parametrize(
    ("old", "new", "path", "found"),
    [
        (
            '"region.wall.x" = [0, "12 in"]',
            '"region.wall.y" = [0, 0]',
            "variant thick: region[1].y",
            "[0, 0]",
        ),
        ('"region.wall.x"', '"region.wal.x"', "variant thick: region.wal.x", "no 'wal' on the way"),
        ("site.albedo", "site.albido", "variant thick: site.albido", "unknown key 'albido'"),
        ('name = "thick"', 'name = "no break"', "variant.name", "'no break' twice"),
        ('name = "thick"\n', 'name = "thick"\nnot = "a"\n', "variant[1].not", "unknown key 'not'"),
    ],
)
def test_bad_variants(old: str, new: str, path: str, found: str) -> None:
    with pytest.raises(CaseError) as caught:
        read(changed(old, new, WALL + VARIANTS))
    (problem,) = caught.value.problems
    assert (problem.path, problem.found) == (path, found)
    assert problem.line is not None
    assert problem.line > line_of(WALL + VARIANTS, "[[variant]]")


def test_a_problem_of_the_base_is_said_once() -> None:
    with pytest.raises(CaseError) as caught:
        read(changed('humidity = "50 %"', 'humidity = "140 %"', WALL + VARIANTS))
    assert len(caught.value.problems) == 1


def test_items_are_painted_in_the_order_of_the_file() -> None:
    assert [item.name for item in setup(WALL).section.items] == ["air outside", "air inside", "soil", "wall"]


def test_setup_follows_the_case() -> None:
    text = changed("years = 0.01", 'years = 0.02\nstart = 2003-02-01\nfield_every = "1 day"\nground_suction = "10 kPa"')
    text = text.replace("[bounds]", '[mesh]\nfinest = "5 mm"\n[accuracy]\ntemperature = "0.1 K"\n[bounds]')
    made = setup(text)
    assert made.start == datetime(2003, 2, 1)
    assert made.hours == 175
    assert made.output.field_hours == 24
    assert made.start_state.ground_suction == 10e3
    assert made.mesh.finest == 0.005
    assert made.accuracy.temperature == 0.1
    assert made.section.water_table == -3.0
    assert {edge.side for edge in made.section.edges} == {"left", "right", "top", "bottom"}
    assert "rain" in made.provenance
    assert made.climates["room"].temperature == pytest.approx(20.0)


def test_own_material_is_used() -> None:
    text = changed('"concrete_wc050"', '"mine"') + '[material.mine]\nbase = "concrete_wc050"\ndensity = 2300\n'
    assert setup(text).materials["mine"].density == 2300


def test_outdoor_climate_looks_the_right_way() -> None:
    south = setup(changed("years = 0.01", "years = 0.3\n[site]\nwall_azimuth = 180")).climates["outdoors"]
    left, right, up, down = (south.facings[f] for f in ("left", "right", "up", "down"))
    assert left.solar.sum() > 2 * right.solar.sum()
    assert up.rain.sum() > left.rain.sum() > 0
    assert down.rain.max() == 0
    assert up.longwave.mean() < left.longwave.mean() < down.longwave.mean()
    assert left.convective.min() == pytest.approx(4.0)


def test_rain_choices() -> None:
    none = setup(changed("years = 0.01", 'years = 1\n[weather]\nrain = "none"'))
    assert none.climates["outdoors"].facings["up"].rain.sum() == 0
    made = setup(changed("years = 0.01", 'years = 1\n[weather]\nrain = "synthetic"\nannual_rain = "20 in"'))
    assert made.climates["outdoors"].facings["up"].rain.sum() * 3600 == pytest.approx(508.0)
    assert "synthetic" in made.provenance["rain"]


def test_yearly_wave_and_constant() -> None:
    air = Air.model_validate({"temperature": {"winter": 16, "summer": "24 degC"}, "humidity": "50 %"})
    day = np.array([200.0, 200.0 - 182.5, 200.0 + 365.0])
    temperature, humidity = air.series(day, Path())
    np.testing.assert_allclose(temperature, [24.0, 16.0, 24.0])
    np.testing.assert_allclose(humidity, 0.5)


def test_hourly_file_follows_the_calendar(tmp_path: Path) -> None:
    hours = np.arange(8760)
    rows = "\n".join(f"{h / 1000},{50 + h % 24}" for h in hours)
    (tmp_path / "air.csv").write_text("temperature,relative_humidity\n" + rows + "\n")
    air = Air.model_validate({"file": "air.csv"})
    temperature, humidity = air.series(np.array([273.0 + 0.5 / 24, 365.0 + 1.5 / 24]), tmp_path)
    np.testing.assert_allclose(temperature, [273 * 24 / 1000, 0.001])
    np.testing.assert_allclose(humidity, [0.50, 0.51])


@pytest.mark.parametrize(
    ("x", "y", "nodes"),
    [("-0.5", "-0.4", "a point"), ("-0.5", "[-0.6, -0.3]", "a line"), ("[-0.6, -0.4]", "[-0.5, -0.3]", "a rectangle"),
     ("[-0.9, 0]", "0", "a line along a face")],
)  # fmt: skip
def test_drains_may_be_points_lines_or_rectangles_in_solids(x: str, y: str, nodes: str) -> None:
    made = setup(WALL + f'[[drain]]\nname = "{nodes}"\nx = {x}\ny = {y}\n')
    (drain,) = made.section.drains
    network = build_network(build_mesh(made.section, MeshRule(0.1, 2.0, 0.5, 1)))
    (surface,) = (k for k, s in enumerate(network.surfaces) if s.drain)
    assert network.surfaces[surface].name == f"drain | {nodes}"
    on = network.face_node[network.face_surface == surface]
    assert drain.x0 - 1e-9 <= network.node_x[on].min() <= network.node_x[on].max() <= drain.x1 + 1e-9
    assert drain.y0 - 1e-9 <= network.node_y[on].min() <= network.node_y[on].max() <= drain.y1 + 1e-9


def test_no_free_drain_beside_a_detail() -> None:
    text = '[detail]\nkind = "basement"\n[[drain]]\nname = "d"\nx = 0\ny = -1\n'
    with pytest.raises(CaseError, match=r"\[\[drain\]\]"):
        read(text)
