"""How the program ends, whatever happens: a documented exit code, a line, no trace."""

from __future__ import annotations

import importlib.metadata
import subprocess
import sys
from pathlib import Path

import pytest

from stemwall.cases.cli import commands, entry
from stemwall.solver.model.errors import DiskFullError, PlaceError
from stemwall.solver.results.stored_result import ResultError

MAIN = [sys.executable, "-c", "from stemwall.cases.cli.entry import main; main()"]


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (ValueError("odd\nindeed"), 3, "internal error, please report it: ValueError: odd indeed"),
        (PlaceError("there: cannot be written"), 2, "there: cannot be written"),
        (DiskFullError("there: cannot be written"), 3, "there: cannot be written"),
        (ResultError(Path("x.nc"), "nothing"), 2, "x.nc: found nothing"),
        (PermissionError(13, "Permission denied", "x"), 3, "x: Permission denied"),
        (MemoryError(), 3, "memory"),
        (KeyboardInterrupt(), 130, "interrupted"),
        (BrokenPipeError(32, "Broken pipe"), 0, ""),
    ],
    ids=lambda one: type(one).__name__ if isinstance(one, BaseException) else "",
)
def test_whatever_is_raised_ends_in_a_line_and_a_code(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], error: BaseException, code: int, said: str
) -> None:
    def fail() -> None:
        raise error

    monkeypatch.setattr(commands, "app", fail)
    monkeypatch.setattr(sys, "argv", ["stemwall"])
    assert entry.run() == code
    written = capsys.readouterr().err
    assert said in written
    assert len(written.splitlines()) == bool(said)


def test_an_interruption_that_a_library_wraps_is_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> None:
        try:
            entry._interrupt(2, None)
        except KeyboardInterrupt as error:
            raise ImportError("initialization failed") from error

    monkeypatch.setattr(commands, "app", fail)
    monkeypatch.setattr(entry, "_heard", [])
    assert entry.run() == 130
    assert capsys.readouterr().err == "interrupted\n"


def test_the_trace_is_shown_when_it_is_asked_for(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> None:
        raise ValueError("odd")

    monkeypatch.setattr(commands, "app", fail)
    monkeypatch.setattr(sys, "argv", ["stemwall", "--debug", "check"])
    assert entry.run() == 3
    assert "Traceback" in capsys.readouterr().err


def test_version_is_that_of_the_package(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "argv", ["stemwall", "--version"])
    assert entry.run() == 0
    assert capsys.readouterr().out == f"stemwall {importlib.metadata.version('stemwall')}\n"


@pytest.mark.parametrize("arguments", [["materials", "list"], ["--help"]], ids=" ".join)
def test_who_stops_reading_hears_nothing_more(arguments: list[str]) -> None:
    process = subprocess.Popen([*MAIN, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert (process.wait(), said) == (0, "")
