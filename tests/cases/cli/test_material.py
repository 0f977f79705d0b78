"""The command `material`, from a commented sheet to a file for cases."""

from pathlib import Path

from typer.testing import CliRunner

from stemwall.cases.cli.commands import app

RUNNER = CliRunner()


def test_a_sheet_becomes_a_file_and_a_page(tmp_path: Path) -> None:
    sheet, file, page = tmp_path / "s.toml", tmp_path / "m.toml", tmp_path / "m.html"
    assert RUNNER.invoke(app, ["new", "membrane-sheet", "--out", str(sheet)]).exit_code == 0
    found = RUNNER.invoke(app, ["material", str(sheet), "--out", str(file), "--page", str(page)])
    assert found.exit_code == 0, found.output
    assert "90 % band" in found.output
    assert file.exists()
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_all_problems_of_a_sheet_end_with_code_2(tmp_path: Path) -> None:
    sheet = tmp_path / "s.toml"
    sheet.write_text('[sheet]\nid = "a b"\n[porosity]\nvalue = 15\n', encoding="utf-8")
    found = RUNNER.invoke(app, ["material", str(sheet)])
    assert found.exit_code == 2
    assert "s.toml:4" in found.output
    assert "Traceback" not in found.output


def test_the_tables_of_a_sheet_are_explained() -> None:
    found = RUNNER.invoke(app, ["explain", "sheet.uptake.coefficient"])
    assert found.exit_code == 0
    assert "water absorption coefficient" in found.output
    assert "[[cup]]" in RUNNER.invoke(app, ["explain", "sheet"]).output
