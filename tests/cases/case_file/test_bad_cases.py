"""Every kind of bad input: found, expected and place of each, and all of them at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from stemwall.cases.case_file.read import load_case
from stemwall.cases.inputs.input_errors import CaseError
from tests.cases.samples import WALL, changed, line_of, problems

LINES = [
    # (old, new, path, part of found, part of expected, passage whose line is named)
    (
        '"concrete_wc050"',
        '"concrete_wc05"',
        "region[1]",
        "'concrete_wc05'",
        "'concrete_wc050'",
        '[[region]]\nname = "wall"',
    ),
    ("years = 0.01", "yeers = 0.01", "run.yeers", "unknown key 'yeers'", "'years'", "yeers"),
    (
        'x = [0, "200 mm"]',
        'x = [0, "200 kg"]',
        "region[1].x",
        "200 kg",
        "'kg' measures something else",
        'x = [0, "200 kg"]',
    ),
    ('x = [0, "200 mm"]', "x = [0, 0]", "region[1].x", "[0, 0]", "from < to", "x = [0, 0]"),
    ('x = [0, "200 mm"]', "x = [0.2, 0.0]", "region[1].x", "[0.2, 0.0]", "from < to", "x = [0.2, 0.0]"),
    ('x = [0, "200 mm"]', "x = [0, nan]", "region[1].x", "nan", "a finite number", "x = [0, nan]"),
    (
        'humidity = "50 %"',
        'humidity = "140 %"',
        "indoor.room.humidity",
        '"140 %"',
        "relative humidity",
        "humidity =",
    ),
    ('humidity = "50 %"\n', "", "indoor.room", "this table", "temperature and humidity", "[indoor.room]"),
    ("x = 0.2\n", "x = 3.0\n", "probe[0]", "outside the section", "in 'wall' at x = 0.2 m, y = 0.5 m", "[[probe]]"),
    ("x = 0.2\n", "x = 0.7\n", "probe[0]", "in the open air", "'wall' at x = 0.2 m, y = 0.5 m, 0.5 m", "[[probe]]"),
    ('region = "wall"', 'region = "wal"', "probe[0]", "unknown region 'wal'", "'wall'", "[[probe]]"),
    ('region = "wall"', 'region = "soil"', "probe[0]", "in 'wall'", "edge of 'soil'; the nearest", "[[probe]]"),
    (
        "y = 0\n[[edge]]",
        "y = [0, 1]\n[[edge]]",
        "membrane[0]",
        "this table",
        "horizontal or vertical",
        "[[membrane]]",
    ),
    ('"sill_gasket"', '"sill_gaskett"', "membrane[0]", "'sill_gaskett'", "'sill_gasket'", "[[membrane]]"),
    (
        'climate = "room"',
        'climate = "rom"',
        "opening[1]",
        "no climate 'rom'",
        "'room'",
        '[[opening]]\nname = "air inside"',
    ),
    (
        'name = "wall"',
        'name = "soil"',
        "region[0]",
        "2 items named 'soil'",
        "unique names",
        '[[region]]\nname = "soil"',
    ),
    ("y = [-1, 0]\n", "y = [-0.9, 0]\n", "bounds", "nothing painted", "a region or an opening", "[bounds]"),
    (
        "y = [-1, 0]\n",
        "y = [-1.5, 0]\n",
        "region[0]",
        "y = -1.5 to 0 m",
        "within x = -1 to 1.2 m",
        "[[region]]",
    ),
    (
        "[[edge]]",
        '[[drain]]\nname = "d"\nx = [-0.9, -0.5]\ny = [-0.2, 0.1]\n[[edge]]',
        "drain[0]",
        "partly or wholly in an opening",
        "in the ground or another solid",
        "[[drain]]",
    ),
    (
        "[[edge]]",
        '[[drain]]\nname = "d"\nx = -3\ny = -0.2\n[[edge]]',
        "drain[0]",
        "x = -3 to -3 m",
        "within x = -1 to 1.2 m",
        "[[drain]]",
    ),
    (
        "[[edge]]",
        '[[drain]]\nname = "d"\nx = [1, 2, 3]\ny = -0.2\n[[edge]]',
        "drain[0].x",
        "[1, 2, 3]",
        "a pair [from, to]",
        "x = [1, 2, 3]",
    ),
    ('side = "bottom"', 'side = "left"', "edge[0]", "on the left side", "at the bottom only", "[[edge]]"),
    ('side = "bottom"', 'side = "under"', "edge[0].side", '"under"', '"bottom"', 'side = "under"'),
    ('kind = "ground"', 'kind = "climate"', "edge[0]", "this table", "a climate by name", "[[edge]]"),
    (
        "years = 0.01",
        'years = 0.01\n[weather]\nfile = "nowhere.epw"',
        "weather.file",
        "nowhere.epw",
        "",
        "file =",
    ),
    ("years = 0.01", 'years = 0.01\n[weather]\nfile = "odd.xyz"', "weather.file", ".xyz", ".epw", "file ="),
    (
        "years = 0.01",
        "years = 0.01\n[site]\nwater_table = false",
        "edge[0]",
        "without a water table",
        "water_table",
        "[[edge]]",
    ),
    (
        "humidity =",
        'file = "none.csv"\nhumidity =',
        "indoor.room",
        "this table",
        "or a file with both",
        "[indoor.room]",
    ),
]


@pytest.mark.parametrize(("old", "new", "path", "found", "expected", "passage"), LINES)
def test_one_problem(old: str, new: str, path: str, found: str, expected: str, passage: str) -> None:
    text = changed(old, new)
    listed = problems(text)
    assert [p.path for p in listed[:1]] == [path], listed
    assert found in listed[0].found
    assert expected in listed[0].expected
    assert listed[0].file == "wall.toml"
    assert listed[0].line == line_of(text, passage)


def test_the_sample_itself_is_good() -> None:
    assert problems(WALL) == []


def test_hidden_region() -> None:
    text = WALL + '[[region]]\nname = "over"\nmaterial = "soil_loam"\nx = [-1, 1.2]\ny = [-1, 1]\n'
    found = {(p.path, p.found) for p in problems(text)}
    assert ("region[0]", "region 'soil': completely painted over by later items") in found
    assert ("region[1]", "region 'wall': completely painted over by later items") in found


def test_two_edges_on_one_side() -> None:
    text = WALL + '[[edge]]\nside = "bottom"\n'
    assert any("2 edges on the bottom side" in p.found for p in problems(text))


def test_membrane_in_the_air() -> None:
    text = changed("x = [0, 0.2]\ny = 0\n", "x = 0.6\ny = [0.2, 0.6]\n")
    assert [p.found for p in problems(text)] == ["membrane 'break': a line in the open air"]


def test_inline_material_problems_have_their_place() -> None:
    text = WALL + '[material.mine]\nbase = "xps_25"\ndensity = -3\n'
    listed = problems(text)
    assert listed
    assert listed[0].path.startswith("material.mine")
    assert listed[0].line == line_of(text, "density")


def test_all_at_once() -> None:
    text = changed('humidity = "50 %"', 'humidity = "140 %"')
    text = changed("years = 0.01", "years = -1", text)
    text = changed('"200 mm"', '"200 kg"', text)
    assert {p.path for p in problems(text)} == {"run.years", "indoor.room.humidity", "region[1].x"}


def test_all_at_once_after_reading() -> None:
    text = changed("years = 0.01", 'years = 0.01\n[weather]\nfile = "nowhere.epw"')
    text = changed('"concrete_wc050"', '"concrete"', text)
    text = changed("x = 0.2\n", "x = 0.7\n", text)
    assert {p.path for p in problems(text)} >= {"weather.file", "region[1]", "probe[0]"}


def test_unknown_table_names_the_nearest() -> None:
    listed = problems(changed("[bounds]", "[boundz]"))
    assert any("'boundz'" in p.found and "'bounds'" in p.expected for p in listed)


def test_no_toml() -> None:
    (problem,) = problems("[case\n")
    assert problem.expected == "valid TOML"
    assert problem.line == 1


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="no such file"):
        load_case(tmp_path / "none.toml")


def test_no_text_file(tmp_path: Path) -> None:
    path = tmp_path / "binary.toml"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CaseError, match="UTF-8"):
        load_case(path)


def test_bad_indoor_file(tmp_path: Path) -> None:
    (tmp_path / "air.csv").write_text("temperature\n20\n")
    path = tmp_path / "case.toml"
    path.write_text(changed('temperature = 20\nhumidity = "50 %"', 'file = "air.csv"'))
    from stemwall.cases.setup.build import build

    with pytest.raises(CaseError, match="missing: relative_humidity"):
        build(load_case(path).base)
