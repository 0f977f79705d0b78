"""The command `why`: runs kept, gone on with, told in words and on a page; what cannot be asked is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from stemwall.cases.cli import commands
from tests.cases.samples import changed

runner = CliRunner()
TEXT = changed("years = 0.01", "years = 0.0006\nstart = 2001-12-03") + '[mesh]\nfinest = "60 mm"\ncoarsest = "2 m"\n'


@pytest.fixture
def wall(tmp_path: Path) -> Path:
    path = tmp_path / "wall.toml"
    path.write_text(TEXT)
    return path


def test_why_answers_keeps_its_runs_and_goes_on(wall: Path) -> None:
    asked = ["why", str(wall), "--place", "inner face", "-s", "summer_air", "-s", "construction_water", "-w", "1",
             "--out", str(wall.parent)]  # fmt: skip
    first = runner.invoke(commands.app, asked)
    assert first.exit_code == 0, first.output
    told = " ".join(first.output.split())
    assert "4 of 4 runs are complete" in told
    assert "construction water +" in told
    folder = wall.parent / "wall-base-why"
    assert len(list(folder.glob("*.nc"))) == 4
    page = (folder / "why.html").read_text()
    for part in ("<svg", "construction water", "What crossed the faces of wall", "How each source is switched off"):
        assert part in page
    assert "http" not in page.replace("http://www.w3.org", "")
    again = runner.invoke(commands.app, [*asked, "--no-ledger"])
    assert "4 of them were complete before" in " ".join(again.output.split())


def test_a_case_without_the_source_asked_about_says_so(wall: Path) -> None:
    asked = ["why", str(wall), "--place", "inner face", "-s", "leaks", "-w", "1", "--no-ledger", "-o", str(wall.parent)]
    found = runner.invoke(commands.app, asked)
    assert found.exit_code == 0, found.output
    assert "None of the sources asked about is in this case" in " ".join(found.output.split())
    assert "not in this case" in (wall.parent / "wall-base-why" / "why.html").read_text()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--place", "inner fase"], "did you mean 'inner face'"),
        (["--place", "inner face", "-s", "rein"], '--source: found "rein"'),
        (["--place", "inner face", "--part", "wal"], '--part: found "wal"'),
        (["--place", "inner face", "--variant", "dry"], "no variant 'dry'"),
    ],
)
def test_what_cannot_be_asked_is_refused(wall: Path, arguments: list[str], said: str) -> None:
    result = runner.invoke(commands.app, ["why", str(wall), *arguments])
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())
