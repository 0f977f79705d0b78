"""The reference of case files: complete, true to the parser, and found by whatever name somebody gives it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel
from typer.testing import CliRunner

from stemwall.cases.case_file.case import DETAILS, Case
from stemwall.cases.case_file.messages import known_keys
from stemwall.cases.case_file.read import default_path
from stemwall.cases.case_file.starter import starter
from stemwall.cases.case_file.sweep import SampleTable, SweepTable, VariantTable
from stemwall.cases.cli import commands
from stemwall.cases.cli.explain import sheet_tables
from stemwall.cases.inputs import quantities
from stemwall.cases.inputs.quantities import Kind, read
from stemwall.cases.reference.files import STATION, file_tables
from stemwall.cases.reference.forms import form_of
from stemwall.cases.reference.keys import NAMES, Table, find, similar, tables
from stemwall.materials.schema import MaterialSpec, MembraneSpec
from stemwall.weather.columns import COLUMNS
from stemwall.weather.table import PLACE
from tests.cases.samples import WALL

runner = CliRunner()


def models(annotation: Any, seen: set[type[BaseModel]]) -> Iterator[type[BaseModel]]:
    """Every model that an annotation leads to, also through the fields of others."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if annotation not in seen:
            seen.add(annotation)
            yield annotation
            for field in annotation.model_fields.values():
                yield from models(field.annotation, seen)
    else:
        for one in get_args(annotation):
            yield from models(one, seen)


ALL = [
    model
    for root in (Case, VariantTable, SweepTable, SampleTable, MaterialSpec, MembraneSpec)
    for model in models(root, set())
]


@pytest.mark.parametrize("model", dict.fromkeys(ALL), ids=lambda model: model.__name__)
def test_every_key_of_every_model_says_what_it_means_and_is_explained(model: type[BaseModel]) -> None:
    assert [name for name, field in model.model_fields.items() if not field.description] == []
    names = {field.alias or name for name, field in model.model_fields.items()}
    if model is Case:
        tops = {table.path.split(".")[0] for table in tables()}
        assert names <= tops
    else:
        assert any(names <= {key.name for key in table.keys} for table in tables())


@pytest.mark.parametrize("table", [t for t in tables() if t.path.split(".")[0] != "material"], ids=lambda t: t.path)
def test_a_table_has_the_keys_that_the_parser_knows(table: Table) -> None:
    roots: dict[str, type[BaseModel]] = {"variant": VariantTable, "sweep": SweepTable, "sample": SampleTable}
    first, *rest = table.path.split(".")
    location = ("x",) if first in roots and not rest else (*([] if first in roots else [first]), *rest, "x")
    known = known_keys(roots.get(first, Case), location)
    assert {key.name for key in table.keys} == set(known)


def flattened(tree: Any, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Dotted paths of all values of a case file."""
    if isinstance(tree, dict) and tree:
        for key, value in tree.items():
            yield from flattened(value, (*path, f'"{key}"' if "." in key else key))
    elif isinstance(tree, list) and tree and isinstance(tree[0], dict):
        for one in tree:
            yield from flattened(one, path)
    else:
        yield ".".join(path)


MATERIAL = """
[material.brick]
name = "b"
density = { value = 1800, source = "x" }
specific_heat = 900
storage = { kind = "multimodal", saturation = 300, modes = [{ weight = 1, alpha = 1e-5, n = 1.6 }] }
liquid = { kind = "absorption", coefficient = 0.1 }
vapour = { kind = "cups", mu_dry = 10, mu_wet = 8 }
conductivity = { kind = "exponential-volume", dry = 0.6, conversion = 8 }
[material.sheet]
name = "s"
sd = { dry = 50, wet = 40 }
liquid = "break"
[sample]
count = 3
change."site.ground_mean" = { kind = "normal", mean = "55 degF", deviation = "2 degF" }
[indoor.a]
temperature = { day = [[0, 17]] }
"""
TEXTS = {
    **{kind: starter(kind) for kind in DETAILS},
    "default": default_path().read_text(),
    "wall": WALL,
    "m": MATERIAL,
}


@pytest.mark.parametrize("name", TEXTS)
def test_every_key_of_the_starters_and_the_default_case_is_found(name: str) -> None:
    # what a starter leaves as a comment, but for prose, is a key too
    lines = [re.sub(r"^# (?=\[+[a-z_.]+\]+$|\w+ = )", "", line) for line in TEXTS[name].splitlines()]
    trees = [tomllib.loads(TEXTS[name])]
    if name in DETAILS:
        trees.append(tomllib.loads("\n".join(line for line in lines if not re.match(r"\w+ =$", line))))
    paths = {path for tree in trees for path in flattened(tree)}
    assert paths
    for path in paths:
        if path.startswith(("variant.change.", "sweep.change.")):
            path = path.split(".change.")[1].strip('"')
        assert find(path, tables()), path


def test_paths_are_found_as_somebody_writes_them() -> None:
    for text, path in (
        ("detail.insulation.inside.thickness", "detail.insulation.inside.thickness"),
        ("leak[2].amount", "leak.amount"),
        ("indoor.upstairs.humidity_class", "indoor.SPACE.humidity_class"),
        ("material.foam.conductivity.dry", "material.ID.conductivity.dry"),
        ('sample.change."site.albedo".mean', "sample.change.PATH.mean"),
    ):
        found = find(text, tables())
        assert {key.path for _, keys in found for key in keys} == {path}
    for text in ("[detail.insulation]", "[[probe]]", "indoor.house"):
        ((table, keys),) = find(text, tables())
        assert keys == table.keys
    assert find("detail.nothing", tables()) == []


def test_a_key_that_is_a_value_or_a_table_shows_both() -> None:
    (outer, (key,)), (inner, _) = find("indoor.house.temperature", tables())
    assert (outer.path, inner.path, key.inner) == ("indoor.SPACE", "indoor.SPACE.temperature", inner.path)


def test_what_differs_between_details_is_told_for_each() -> None:
    ((_, keys),) = find("detail.insulation.placement", tables())
    defaults = {key.default: key.only for key in keys}
    assert set(defaults) == {'"inside"', '"none"', '"insulated concrete form"'}
    assert defaults['"none"'] == ('kind = "vented crawlspace"',)
    ((_, (key,)),) = find("run.years", tables())
    assert (key.only, key.default) == ((), "1")
    assert key.form.limits.startswith("above 0 and at most 100; usually ")
    assert key.reason


KINDS = [value for value in vars(quantities).values() if isinstance(value, Kind) and value.examples]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_the_spellings_that_are_shown_are_accepted(kind: Kind) -> None:
    shown = re.findall(r'"([^"]+)"|(-?\d[\d.e-]*)', kind.examples)
    assert shown
    for text, number in shown:
        read(text or float(number), kind)


def test_numbers_without_reason_are_required_or_none() -> None:
    """A default that is a number carries where it comes from."""
    bare = [
        key.path
        for table in tables()
        for key in table.keys
        if re.fullmatch(r'"?[\d.]+( \w+)?"?', key.default) and not key.reason
    ]
    assert bare == []


def test_columns_of_files_are_those_of_the_code() -> None:
    weather, indoor, runs, result = file_tables()
    assert {key.name for key in weather.keys} == {*COLUMNS, *PLACE, "station", "stamp", "time"}
    assert set(STATION) == set(PLACE)
    assert {key.name for key in indoor.keys} == {"temperature", "relative_humidity"}
    assert {"run", "status", "place", "above 80 % [h]"} <= {key.name for key in runs.keys}
    assert {"probe_temperature", "water_content", "field_time"} <= {key.name for key in result.keys}


def test_suggestions_have_the_same_last_part_or_are_spelled_alike() -> None:
    assert "detail.insulation.inside.thickness" in similar("detail.insulation.thickness", tables())
    assert similar("site.albdo", tables())[0] == "site.albedo"
    assert "air_path.gap" in similar("air_pth.gap", tables())
    assert similar("qqqqqqqqqq", tables()) == []


def test_command_lists_tables_and_shows_one_and_a_key() -> None:
    result = runner.invoke(commands.app, ["explain"])
    assert result.exit_code == 0
    for table in (*tables(), *file_tables()):
        assert table.heading in result.output
    result = runner.invoke(commands.app, ["explain", "detail.insulation.inside.thickness"])
    assert result.exit_code == 0
    for part in ('"2 in"', "about R-10", '"8 in"', "above 0 and at most 1 m"):
        assert part in result.output
    result = runner.invoke(commands.app, ["explain", "weather-csv"])
    assert result.exit_code == 0
    assert "dry-bulb air temperature" in result.output


def test_command_refuses_an_unknown_key_with_the_nearest() -> None:
    result = runner.invoke(commands.app, ["explain", "site.albdo"])
    assert result.exit_code == 2
    assert "did you mean site.albedo" in result.output
    for text in ("", "[", "...", "]]", "a.[0].b"):
        assert runner.invoke(commands.app, ["explain", text]).exit_code == 2


def test_page_holds_everything_and_needs_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "reference.html"
    result = runner.invoke(commands.app, ["explain", "--page", str(path)])
    assert result.exit_code == 0, result.output
    page = path.read_text(encoding="utf-8")
    every = (*tables(), *file_tables(), *sheet_tables())
    for table in every:
        assert f'id="{table.path}"' in page
    assert page.count('<th scope="row">') == sum(len(table.keys) for table in every)
    links = set(re.findall(r'href="#([^"]+)"', page))
    assert links <= set(re.findall(r'id="([^"]+)"', page))
    assert not re.search(r'src=|href="(?!#)|url\(|@import', page)
    assert runner.invoke(commands.app, ["explain", "run", "--page", str(path)]).exit_code == 2


def test_every_way_to_write_a_key_is_in_words() -> None:
    for table in (*tables(), *file_tables()):
        for key in table.keys:
            assert key.meaning, key.path
            assert key.form.accepts, key.path
            assert not re.search(r"<class|typing\.|stemwall\.|Annotated", key.form.accepts), key.path
    assert form_of(Case.model_fields["run"]).accepts == "a table"
    assert set(NAMES.values()) == {"SPACE", "ID", "PATH"}


def test_further_lines_of_an_entry_stand_farther_in_than_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    lines = runner.invoke(commands.app, ["explain"]).output.splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("  [indoor.SPACE.temperature]"))
    assert lines[at + 1].startswith("    ")
    lines += runner.invoke(commands.app, ["explain", "detail.wall"]).output.splitlines()
    assert lines == [line.rstrip() for line in lines]
    assert max(map(len, lines)) <= 80


def test_limits_are_told_in_full() -> None:
    limits = {key.path: key.form.limits for table in tables() for key in table.keys}
    assert limits["sample.seed"] == "0 to 4,294,967,295"
    assert limits["accuracy.longest_step"].startswith("1 to 86,400 s")
