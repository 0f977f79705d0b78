"""What a case leaves to defaults, and that the command line says so."""

from __future__ import annotations

from pathlib import Path

from typer.testing import CliRunner

from stemwall.cases.case_file.read import default_path, load_case
from stemwall.cases.case_file.stated import settings_of, taken
from stemwall.cases.cli.commands import app
from tests.cases.samples import WALL, changed, read

SHORT = '[detail]\nkind = "slab on grade"\n[indoor.house]\ntemperature = "68 degF"\nhumidity = "45 %"\n'


def test_tables_that_are_left_out_are_shown_with_reasons() -> None:
    shown, others = taken(read(SHORT).base)
    found = {one.path: one for one in shown}
    assert {"weather.file", "site.water_table", "run.start", "run.years", "mesh.finest"} <= set(found)
    assert found["run.start"].origin == "default: autumn: wet season ahead; the year is nominal"
    assert found["site.water_table"].value == "3"
    assert others > 50
    every = [one for one in settings_of(read(SHORT).base) if one.origin.startswith("default")]
    assert len(shown) + others == len([one for one in every if not one.path.startswith("case.")])


def test_tables_that_are_stated_are_not_shown() -> None:
    shown, _ = taken(load_case(default_path()).base)
    assert {one.path.split(".")[0] for one in shown} == {"mesh", "accuracy"}


def _checked(text: str, folder: Path) -> tuple[int, str]:
    path = folder / "wall.toml"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(app, ["check", str(path)], env={"COLUMNS": "300"})
    return result.exit_code, result.output


def test_check_shows_defaults(tmp_path: Path) -> None:
    code, output = _checked(SHORT, tmp_path)
    assert code == 0
    assert "Tables that the case leaves out" in output
    assert "autumn: wet season ahead" in output
    assert "more values are defaults" in output


def test_check_asks_about_what_is_unusual_once_for_all_variants(tmp_path: Path) -> None:
    variant = '[[variant]]\nname = "x"\nchange = { "run.years" = 0.02 }\n'
    text = changed("temperature = 20", "temperature = 50") + variant
    code, output = _checked(text, tmp_path)
    assert code == 0
    assert output.count("unusual:") == 1
    assert 'room.temperature: found 50 °C; expected usually −10 to 40 °C; did you mean "50 degF"?' in output


def test_check_asks_about_materials(tmp_path: Path) -> None:
    text = WALL.replace('"concrete_wc050"', '"mine"') + (
        '[material.mine]\nbase = "concrete_wc050"\nconductivity = { kind = "linear", dry = 39 }\n'
    )
    code, output = _checked(text, tmp_path)
    assert code == 0
    assert "0.039, which is 39 mW/(m K)" in " ".join(output.split())


def test_a_kind_alone_runs_on_stated_defaults(tmp_path: Path) -> None:
    code, output = _checked('[detail]\nkind = "conditioned crawlspace"\n', tmp_path)
    assert code == 0
    for shown in ("indoor.house.temperature", "zone.crawlspace.supply", "zone.crawlspace.outdoor_leakage"):
        assert shown in output
    assert "no air stated; common practice" in output


def test_a_space_whose_name_is_misspelt_is_not_filled_in(tmp_path: Path) -> None:
    code, output = _checked(changed("indoor.house", "indoor.hause", SHORT), tmp_path)
    assert code == 2
    assert "expected the air of house alone, not of 'hause'" in " ".join(output.split())
