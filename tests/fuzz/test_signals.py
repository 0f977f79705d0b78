"""Ctrl-C and SIGTERM at any moment: what was computed is kept, what is complete is replaced by nothing less."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import FrameType
from typing import Any

import numpy as np
import pytest

from stemwall.cases.batch.single_run import slug
from tests.cases.samples import setup
from tests.fuzz.command import DONE, INTERRUPTED
from tests.fuzz.runs import SHORT, assert_nothing_is_lost, short_run, with_checkpoints

COMMAND = [sys.executable, "-c", "from stemwall.cases.cli.entry import main; main()", "run", "wall.toml"]
#: modules in which the moments of the first test lie
WRITING = tuple(
    os.path.join("solver", f"{name}.py") for name in ("result", "staged", "interrupts", "result_files", "simulate")
)


@pytest.fixture(scope="module")
def older(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A complete result."""
    return short_run(tmp_path_factory.mktemp("older") / "wall.nc").read_bytes()


class Lines:
    """Counts the lines of the writing that are carried out, and sends a signal before one of them."""

    def __init__(self, at: int, number: int) -> None:
        self.at, self.number, self.count, self.where = at, number, 0, ""

    def __call__(self, frame: FrameType, event: str, _: Any) -> Any:
        if event == "call":
            return self if frame.f_code.co_filename.endswith(WRITING) else None
        self.count += event == "line"
        if event == "line" and self.count == self.at:
            self.where = f"{frame.f_code.co_filename}:{frame.f_lineno}"
            signal.raise_signal(self.number)
        return self


def traced(lines: Lines, path: Path) -> None:
    before = sys.gettrace()
    sys.settrace(lines)
    try:
        short_run(path)
    finally:
        sys.settrace(before)


@pytest.fixture(scope="module")
def moments(tmp_path_factory: pytest.TempPathFactory) -> int:
    """Number of lines of the writing that a run carries out."""
    lines = Lines(-1, signal.SIGINT)
    with pytest.MonkeyPatch.context() as patch:
        with_checkpoints(patch)
        traced(lines, tmp_path_factory.mktemp("moments") / "wall.nc")
    return lines.count


@pytest.mark.draws(5, 80)
def test_an_interruption_at_any_line_costs_nothing(
    draw: np.random.Generator, moments: int, older: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_checkpoints(monkeypatch)
    path = tmp_path / "wall.nc"
    path.write_bytes(older)
    before = signal.getsignal(signal.SIGINT)
    lines = Lines(int(draw.integers(1, moments + 1)), signal.SIGINT)
    try:
        traced(lines, path)
        interrupted = False
    except KeyboardInterrupt:
        interrupted = True
    assert signal.getsignal(signal.SIGINT) is before
    for one in path.parent.glob("*.partial"):  # before the writer was entered, or after it was left
        assert one.stat().st_size == 0
        one.unlink()
    assert_nothing_is_lost(path, older)
    # at the very last lines signals are the caller's again, and what Python raises in a destructor is lost
    assert interrupted or lines.count <= lines.at + 1, lines.where


@pytest.mark.skipif(sys.platform == "win32", reason="no such signals on this system")
@pytest.mark.draws(1, 10)
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM], ids=["ctrl-c", "term"])
def test_a_command_that_is_interrupted_ends_in_order(
    draw: np.random.Generator, number: int, older: bytes, tmp_path: Path
) -> None:
    case = tmp_path / "wall.toml"
    case.write_text(SHORT.replace("years = 0.0021", "years = 0.2"))
    path = tmp_path / f"{slug(setup(SHORT).case)}.nc"
    path.write_bytes(older)
    started = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); " + COMMAND[2]
    process = subprocess.Popen(
        [*COMMAND[:2], started, *COMMAND[3:]], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    time.sleep(draw.uniform(0.4, 2.5))
    process.send_signal(number)
    _, said = process.communicate()
    assert process.returncode in (INTERRUPTED, DONE), said
    assert "Traceback" not in said
    assert "ignored" not in said
    case.unlink()
    if process.returncode == INTERRUPTED:
        assert len(said.splitlines()) <= 1
        assert_nothing_is_lost(path, older)
