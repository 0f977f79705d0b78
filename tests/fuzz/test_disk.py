"""Disks that are full, and places that cannot be written: an error in words, and what is complete stays."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from stemwall.cases.batch.single_run import slug
from stemwall.solver.model.errors import DiskFullError, PlaceError
from stemwall.solver.results.output_places import partial_path
from stemwall.solver.results.result_file import ResultWriter
from stemwall.solver.results.staged_file import StagedFile
from tests.cases.samples import setup
from tests.fuzz.command import BAD_INPUT, FAILED, stemwall
from tests.fuzz.runs import SHORT, assert_nothing_is_lost, short_run, with_checkpoints

#: runs a command with files of at most so many bytes
LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]),) * 2)
del sys.argv[1]
from stemwall.cases.cli.entry import main
main()
"""


@pytest.fixture(scope="module")
def older(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A complete result."""
    return short_run(tmp_path_factory.mktemp("older") / "wall.nc").read_bytes()


@pytest.mark.draws(3, 20)
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO])
def test_a_disk_that_fails_costs_no_result(
    draw: np.random.Generator, error: int, older: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_checkpoints(monkeypatch)
    path = tmp_path / "wall.nc"
    path.write_bytes(older)
    room = [int(draw.integers(6 * len(older)))]
    write = os.write

    def limited(descriptor: int, data: memoryview) -> int:
        if not room[0]:
            raise OSError(error, os.strerror(error))
        done = write(descriptor, data[: room[0]])
        room[0] -= done
        return done

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", limited)
        try:
            short_run(path)
            failed = None
        except OSError as caught:
            failed = caught
    left = assert_nothing_is_lost(path, older)
    if failed is None:
        assert left is None
        assert path.read_bytes() != older
        return
    assert os.strerror(error) in str(failed)
    assert isinstance(failed, DiskFullError) == (error == errno.ENOSPC)
    assert path.read_bytes() == older
    assert ("what was computed" in " ".join(getattr(failed, "__notes__", ()))) == (left is not None)


def test_a_checkpoint_outlives_the_disk_and_the_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_checkpoints(monkeypatch)
    path = tmp_path / "wall.nc"
    older = short_run(path).read_bytes()
    flush, copies = ResultWriter.flush, []

    def kept(self: ResultWriter) -> None:
        flush(self)
        copies.append(self.partial.read_bytes())

    monkeypatch.setattr(ResultWriter, "flush", kept)
    short_run(path)
    assert len(copies) == 3
    for number, copy in enumerate(copies, start=1):
        (tmp_path / "wall.0a1b2c3d.nc.partial").write_bytes(copy)
        path.write_bytes(older)
        with monkeypatch.context() as patch:
            # the next run keeps what the killed one has left
            patch.setattr("stemwall.solver.simulate.prepare", _none)
            with pytest.raises(RuntimeError, match="none"):
                short_run(path)
        left = assert_nothing_is_lost(path, older)
        assert left is not None
        assert left.sizes["time"] == 5 * number


def _none(*_: object, **__: object) -> None:
    raise RuntimeError("none")


@pytest.mark.skipif(sys.platform == "win32", reason="no such limit on this system")
@pytest.mark.draws(1, 5)
def test_a_command_ends_with_a_line_when_its_file_may_not_grow(draw: np.random.Generator, tmp_path: Path) -> None:
    (tmp_path / "wall.toml").write_text(SHORT)
    command = [sys.executable, "-c", LIMITED, str(draw.integers(1000, 60_000)), "run", "wall.toml"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == FAILED, done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "wall-base.nc: cannot be written" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["wall.toml"]


@pytest.fixture
def places(tmp_path: Path) -> dict[str, Path]:
    """Places that cannot be written, by what is wrong with them."""
    (tmp_path / "file").write_text("in the way")
    found = {"a file": tmp_path / "file" / "x", "long": tmp_path / ("n" * 300)}
    if hasattr(os, "geteuid") and os.geteuid() != 0:
        (tmp_path / "locked").mkdir(mode=0o500)
        found["locked"] = tmp_path / "locked" / "x"
    return found


def test_places_are_looked_at_before_anything_is_computed(
    places: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("stemwall.solver.simulate.prepare", _none)
    case = tmp_path / "wall.toml"
    case.write_text(SHORT)
    for place in places.values():
        with pytest.raises(PlaceError):
            ResultWriter(place / "a.nc")
        stemwall("run", case, "--out", place, codes=[BAD_INPUT])
        stemwall("run", case, "--out", tmp_path, "--report", place / "r.html", codes=[BAD_INPUT])
        stemwall("refine", case, "--out", place, codes=[BAD_INPUT])
        stemwall("draw", case, "--out", place, codes=[BAD_INPUT])
        stemwall("new", "slab", "--out", place / "x.toml", codes=[BAD_INPUT])
        stemwall("verify", "--quick", "--out", place / "x.html", codes=[BAD_INPUT])
    (tmp_path / f"{slug(setup(SHORT).case)}.nc").mkdir()
    assert "found a folder" in stemwall("run", case, "--out", tmp_path, codes=[BAD_INPUT]).output


@pytest.mark.skipif(sys.platform == "win32", reason="no locks that are looked at on this system")
def test_two_runs_do_not_write_one_result(tmp_path: Path) -> None:
    case = tmp_path / "wall.toml"
    case.write_text(SHORT)
    with StagedFile(partial_path(tmp_path / f"{slug(setup(SHORT).case)}.nc")):
        assert "another run" in stemwall("run", case, "--out", tmp_path, codes=[BAD_INPUT]).output


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names on this system")
def test_pipes_and_devices_are_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.nc"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero"), Path("/dev/null")):
        assert "no regular file" in stemwall("report", path, codes=[BAD_INPUT]).output
        stemwall("check", path, codes=[BAD_INPUT])
        stemwall("report", path, "--refined", path, "--out", tmp_path / "r.html", codes=[BAD_INPUT])
