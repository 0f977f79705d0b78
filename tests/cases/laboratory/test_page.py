"""The page holds all there is to see and needs no other file; the files are written where they are wanted."""

from pathlib import Path

import pytest

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.page import material_of_sheet, page_text
from stemwall.cases.laboratory.starter_sheet import starter_sheet
from stemwall.cases.laboratory.summary import numbers, residuals


def test_the_page_shows_everything_and_needs_nothing_else(brick: Evaluation) -> None:
    page = page_text(brick, (), (), "the file", "own.toml", "<the sheet>")
    for heading in ("Moisture storage", "Vapour", "Uptake of water", "Thermal conductivity", "What was assumed"):
        assert heading in page
    assert page.count("<svg") == 4
    assert "&lt;the sheet&gt;" in page
    assert "http" not in page.replace("http://www.w3.org", "")
    for row in residuals(brick):
        assert row.condition in page
    assert all(row.name in page for row in numbers(brick))


@pytest.mark.parametrize("name", ["soil", "membrane"])
def test_pages_of_the_other_kinds(name: str, request: pytest.FixtureRequest) -> None:
    page = page_text(request.getfixturevalue(name), (), (), "", "own.toml", "")
    assert ("The tests, simulated" in page) == (name == "soil")


def test_files_are_written_by_the_id_of_the_sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("tests.toml").write_text(starter_sheet("membrane-sheet"), encoding="utf-8")
    answer = material_of_sheet("tests.toml")
    assert answer.material.read_text(encoding="utf-8").count("[[material.membrane_example.spread]]") == 20
    assert answer.page == Path("membrane_example.html")
    with pytest.raises(CaseError, match="another name"):
        material_of_sheet("tests.toml", Path("tests.toml"))
    assert "[[cup]]" in Path("tests.toml").read_text(encoding="utf-8")
