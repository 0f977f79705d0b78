"""Slips that are easily made: each is refused, or asked about, with what was likely meant."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import BaseModel

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import default_path, load_case, parse_case
from stemwall.cases.case_file.sample import Choice
from stemwall.cases.case_file.starter import SHORT_NAMES, starter
from stemwall.cases.case_file.sweep import SampleTable, SweepTable, VariantTable
from stemwall.cases.inputs.input_errors import CaseError, Problem
from stemwall.cases.setup.build import build
from stemwall.materials.doubts import marks
from tests.cases.samples import WALL, changed, line_of
from tests.field_walk import models_of, numeric

DEFAULT = default_path().read_text(encoding="utf-8")
RUN = "years = 0.01\n"


def said(text: str) -> tuple[list[Problem], list[Problem]]:
    """Return what is refused about a text, and what is asked about."""
    try:
        file = parse_case(text, Path("wall.toml"))
        return [], [doubt for case in file.variants() for doubt in build(case).doubts]
    except CaseError as error:
        return list(error.problems), []


#: (text, passage on the line named, path, hint)
REFUSED = [
    (changed("temperature = 20", "temperature = 70"), "temperature =", "indoor.room.temperature", '"70 degF"'),
    (DEFAULT + "[detail.wall]\nthickness = 8\n", "thickness = 8", "detail.wall.thickness", '"8 in"?'),
    (DEFAULT + "[detail.wall]\nabove_grade = 8\n", "above_grade", "detail.wall.above_grade", '"8 in" or "8 cm"'),
    (DEFAULT + "[detail.sill]\nwidth = 5.5\n", "width", "detail.sill.width", '"5.5 in"'),
    (
        changed('space"\n\n[detail.ins', 'space"\nhalf_width = "8 in"\n\n[detail.ins', DEFAULT), "half_width",
        "detail.half_width", '"8 ft" or "8 m"',
    ),
    (changed('thickness = "2 in" }', "thickness = 50 }", DEFAULT), "inside = {", "detail.insulation.inside.thickness",
     '"50 mm"'),
    (changed('"50 %"', "50"), "humidity =", "indoor.room.humidity", '"50 %"'),
    (changed('"50 %"', '"60 grain/lb"'), "humidity =", "indoor.room.humidity", "a humidity ratio"),
    (changed('"50 %"', '"５０ %"'), "humidity =", "indoor.room.humidity", 'did you mean "50 %"'),
    (changed('"200 mm"', '"−200 mm"'), 'x = [0, "−', "region[1].x", 'did you mean "-200 mm"'),
    (changed('"200 mm"', '"0,2 m"'), 'x = [0, "0', "region[1].x", 'did you mean "0.2 m"'),
    (changed('"200 mm"', '"2 m**9**9**9"'), 'x = [0, "2', "region[1].x", "is unknown"),
    (changed('"200 mm"', '"9**9**9"'), 'x = [0, "9', "region[1].x", "a position"),
    (changed('"200 mm"', '"1e400 m"'), 'x = [0, "1', "region[1].x", "a finite number"),
    (changed('"200 mm"', '"nan"'), 'x = [0, "n', "region[1].x", "a position"),
    (changed('"200 mm"', f'"{"8" * 5000} m"'), 'x = [0, "8', "region[1].x", "5,002 letters are too many"),
    (changed('"200 mm"', '"1 1/0 in"'), 'x = [0, "1', "region[1].x", "divided by 0"),
    (WALL + '[variant]\nname = "x"\nchange = {}\n', "[variant]", "variant", "[[variant]]"),
    (changed("[[probe]]", "[probe]"), "[probe]", "probe", "[[probe]]"),
    (
        WALL + "[indoor.outdoors]\ntemperature = 9\nhumidity = 0.5\n", "[indoor.outdoors]", "indoor.outdoors",
        "[weather]",
    ),
    (WALL + "[zone.outdoors]\n", "[zone.outdoors]", "zone.outdoors", "[weather]"),
    (changed(RUN, RUN + "start = 0001-01-01\n"), "start", "run.start", "between 1900 and 2100"),
    (changed(RUN, RUN + "start = 9999-12-01\n"), "start", "run.start", "between 1900 and 2100"),
    (changed(RUN, 'years = 100\nstart = "2099-12-01"\n'), "[run]", "run", "ends before 2101"),
    (changed(RUN, RUN + "start = 20011001\n"), "start", "run.start", "did you mean 2001-10-01"),
    (changed(RUN, RUN + 'start = "10/25/2001"\n'), "start", "run.start", "did you mean 2001-10-25?"),
    (changed(RUN, RUN + 'start = "2001-25-10"\n'), "start", "run.start", "did you mean 2001-10-25?"),
    (changed(RUN, RUN + "start = 2001-25-10\n"), "start", "", "e.g. 2001-10-01"),
    (changed(RUN, RUN + "start = 2001-10-01T00:00:00Z\n"), "start", "run.start", "without an offset"),
    (changed(RUN, RUN + "start = 2001-10-01T00:30:00\n"), "start", "run.start", "full hour"),
    (changed(RUN, RUN + "start = 12:00:00\n"), "start", "run.start", "e.g. 2001-10-01"),
    (changed(RUN, RUN + "end = 2001-01-01\n"), "end =", "run.end", "years"),
    (changed(RUN, 'years = "1 year"\n'), "years", "run.years", "a length of the run in years"),
    (WALL + "[accuracy]\ntemperature = 0\n", "temperature = 0", "accuracy.temperature", "between 1e-06 and 20 K"),
    (WALL + "[accuracy]\nlongest_step = 0.01\n", "longest", "accuracy.longest_step", "did you mean"),
    (WALL + "[mesh]\nfinest = 10\n", "finest", "mesh.finest", '"10 mm" or "10 cm"'),
    (WALL + "[mesh]\nfinest = 0\n", "finest", "mesh.finest", "between 1e-05 and 1 m"),
    (
        WALL + "[mesh]\nfinest = 1e-5\ngrowth = 1.001\n", "growth", "mesh.growth",
        "at most 1,000,000 cells; the default 1.5",
    ),
    (WALL + "[site]\nalbedo = 20\n", "albedo", "site.albedo", '"20 %"'),
    (WALL + '[site]\nwater_table = 300\n', "water_table", "site.water_table", "between −5 and 200 m"),
    (WALL + '[[variant]]\nname = ""\nchange = {}\n', "name = \"\"", "variant[0].name", "a name on one line"),
    (WALL + '[[variant]]\nname = "—"\nchange = {}\n', "[[variant]]", "variant.name", "letters a to z"),
    (WALL + '[[variant]]\nname = "Base"\nchange = {}\n', "[[variant]]", "variant.name", "names that differ in letters"),
    (WALL + '[[variant]]\nname = "base"\nchange = {}\n', 'name = "base"', "variant.name", "unique names"),
    (changed('name = "soil"', 'name = ""'), 'name = ""', "region[0].name", "a name on one line"),
]  # fmt: skip

ASKED = [
    (DEFAULT + '[detail.wall]\nbelow_grade = "8 ft"\n', "[detail.wall]", "detail.wall", '"basement"'),
    (changed("temperature = 20", "temperature = 50"), "temperature =", "indoor.room.temperature", '"50 degF"'),
    (changed('"50 %"', '"0.5 %"'), "humidity =", "indoor.room.humidity", "did you mean 0.5?"),
    (WALL + "[weather]\nannual_rain = 0.9\n", "annual", "weather.annual_rain", '"0.9 m"'),
    (WALL + '[site]\nwater_table = "3 mm"\n', "water_table", "site.water_table", '"3 ft" or "3 m"'),
    (WALL + "[site]\nground_diffusivity = 6e-7\n", "ground_diff", "site.ground_diffusivity", "m^2/s"),
    (changed(RUN, RUN + "ground_suction = 33\n"), "ground_suction", "run.ground_suction", '"33 kPa"'),
    (WALL + '[[leak]]\nname = "l"\nx = 0.1\ny = 0.5\namount = 5e5\n', "amount", "leak[0].amount", "usually"),
    (
        changed("temperature = 20", "temperature = { day = [[0, 17], [6, 50]] }"), "temperature =",
        "indoor.room.temperature.day", '"50 degF"',
    ),
    (WALL + '[[variant]]\nname = "x"\nchange = { "mesh.finest" = "0.5 m" }\n', "change", "variant x: mesh.finest",
     "usually"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "passage", "path", "hint"), REFUSED)
def test_refused_with_a_hint(text: str, passage: str, path: str, hint: str) -> None:
    refused, _ = said(text)
    assert refused, "not noticed"
    assert refused[0].path == path
    assert hint in refused[0].expected, refused[0]
    assert refused[0].line == line_of(text, passage)


@pytest.mark.parametrize(("text", "passage", "path", "hint"), ASKED)
def test_asked_about_with_a_hint(text: str, passage: str, path: str, hint: str) -> None:
    refused, asked = said(text)
    assert refused == []
    found = [doubt for doubt in asked if doubt.path == path]
    assert found, asked
    assert hint in found[0].expected, found[0]
    assert found[0].line == line_of(text, passage)


@pytest.mark.parametrize("text", [WALL, DEFAULT, *map(starter, SHORT_NAMES.values())])
def test_nothing_is_unusual_about_what_is_shipped(text: str) -> None:
    assert [str(doubt) for case in parse_case(text, Path("x.toml")).variants() for doubt in case.doubts] == []


MODELS = models_of(Case | VariantTable | SweepTable | SampleTable | Choice)


@pytest.mark.parametrize("model", MODELS)
def test_every_number_has_limits_and_a_usual_range(model: type[BaseModel]) -> None:
    for name, field in model.model_fields.items():
        if not numeric(field.annotation):
            continue
        kinds = [mark.kind for mark in marks(field)]
        assert kinds, f"{model.__name__}.{name} takes any number"
        for kind in kinds:
            low, high = kind.usual
            assert abs(kind.low) < 1e10, name
            assert abs(kind.high) < 1e10, name
            assert kind.low <= low < high <= kind.high, f"{model.__name__}.{name}"


def test_the_walk_sees_the_models() -> None:
    names = {model.__name__ for model in MODELS}
    assert {"Wall", "Sill", "Run", "Mesh", "ZoneTable", "VentTable", "TemperatureWave", "LeakTable", "Strip"} <= names


def test_defaults_are_usual() -> None:
    """Unless something is stated nothing is asked; so what is not stated must be usual of itself."""
    for model in MODELS:
        for name, field in model.model_fields.items():
            for mark in marks(field):
                if not field.is_required() and field.default is not None:
                    assert list(mark.doubts(field.default)) == [], f"{model.__name__}.{name}"


#: (bytes, part of what is found, part of what is expected)
FILES = [
    (b"", "an empty case file", "[detail]"),
    (b"\n  \n", "an empty case file", "stemwall new"),
    (b"# nothing\n", "comments alone", "[detail]"),
    (b"<!DOCTYPE html><html></html>", "HTML", "TOML"),
    (b'{"case": {}}', "JSON", "TOML"),
    (b"\x89HDF\r\n\x1a\n0000", "HDF5", "TOML"),
    (b"PK\x03\x04rest", "ZIP", "TOML"),
    ("[case]\n".encode("utf-16"), "UTF-16", "save it as UTF-8"),
    ("[case]\n".encode("utf-16-le"), "UTF-16", "save it as UTF-8"),
    (b"[case]\ntitle = \"caf\xe9\"\n", "no UTF-8", "UTF-8"),
    (b"\x00" * 100, "UTF-16", "UTF-8"),
    (b"[case]\ntitle = \"" + b"x" * 4_000_000 + b'"\n', "4.0 MB", "at most 4 MB"),
    (b"x = " + b"[" * 5000 + b"]" * 5000, "brackets more than 32 deep", "at most 32"),
    (b"x = " + b"{a=" * 5000 + b"}" * 5000, "brackets more than 32 deep", "at most 32"),
    (b"a." * 50_000 + b"b = 1\n", "a key of more than 32 parts", "at most 32"),
    (b"x = " + b"9" * 5000 + b"\n", "thousands of digits", "a number"),
    (b"x = 0x" + b"f" * 5000 + b"\n", "20000 bits", "64 bits"),
    (b'[case]\ntitle = "a\\u0000b"\n', "\\x00", "control characters"),
    (b'[case]\ntitle = "a\\u202eb"\n', "\\u202e", "control characters"),
    (b"[case]\n[case]\n", "declare", "[[name]]"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "found", "expected"), FILES)
def test_files_that_are_no_case(data: bytes, found: str, expected: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(data)
    with pytest.raises(CaseError) as caught:
        load_case(path)
    assert found in caught.value.problems[0].found
    assert expected in caught.value.problems[0].expected


@pytest.mark.parametrize(
    "data", [b"\xef\xbb\xbf" + WALL.encode(), WALL.replace("\n", "\r\n").encode(), WALL[:-1].encode()]
)
def test_marks_and_line_ends_of_other_systems_are_read(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(data)
    assert load_case(path).base.about.title == "A wall on soil"


def test_no_regular_file(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="a folder"):
        load_case(tmp_path)
    with pytest.raises(CaseError, match="a pipe, socket or device"):
        load_case("/dev/zero")
    import os

    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(CaseError, match="a pipe, socket or device"):
        load_case(tmp_path / "pipe")


def test_a_very_deep_path_of_a_change_is_a_problem() -> None:
    text = WALL + '[[variant]]\nname = "x"\nchange = { "' + ".".join("a" * 9000) + '" = 1 }\n'
    refused, _ = said(text)
    assert refused
