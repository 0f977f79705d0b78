"""A file that changes on disk when told to: the same bytes as a plain file, and nothing half done."""

from __future__ import annotations

import errno
import hashlib
import io
import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.results.staged_file import PAGE, SEAL, SEALED_BYTES, StagedFile

#: what is done: write so many bytes at a place, or commit
STEPS = st.lists(
    st.one_of(st.tuples(st.integers(0, 3 * PAGE), st.integers(1, PAGE + 100)), st.none()), min_size=1, max_size=12
)


@given(STEPS)
def test_it_holds_what_a_plain_file_would_hold(tmp_path_factory: pytest.TempPathFactory, steps: list[object]) -> None:
    plain, path = io.BytesIO(), tmp_path_factory.mktemp("staged") / "a"
    random = np.random.default_rng(1)
    with StagedFile(path) as staged:
        for step in steps:
            if isinstance(step, tuple):
                data = random.bytes(step[1])
                for file in (plain, staged):
                    file.seek(step[0])
                    file.write(data)
            else:
                staged.commit()
        staged.seek(0)
        assert staged.read(staged.seek(0, os.SEEK_END) or 1) == b""
        staged.seek(0)
        assert staged.read(10 * PAGE) == plain.getvalue()
        staged.commit()
        staged.seal()
    assert path.read_bytes() == plain.getvalue() + SEAL + hashlib.sha256(plain.getvalue()).digest()
    assert path.stat().st_size == len(plain.getvalue()) + SEALED_BYTES


@pytest.mark.parametrize("room", [0, 100, PAGE, 3 * PAGE - 1])
def test_a_full_disk_leaves_what_was_committed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room: int) -> None:
    write, left = os.write, [room]

    def small(fd: int, data: memoryview) -> int:
        if not left[0]:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        done = write(fd, data[: left[0]])
        left[0] -= done
        return done

    with StagedFile(tmp_path / "a") as staged:
        staged.write(b"first" * 1000)
        staged.commit()
        monkeypatch.setattr(os, "write", small)
        staged.seek(0)
        staged.write(b"other" * PAGE)
        with pytest.raises(OSError, match="No space"):
            staged.commit()
        assert not staged.torn
        staged.trim()
    assert (tmp_path / "a").read_bytes() == b"first" * 1000


def test_nothing_is_on_disk_before_it_is_committed(tmp_path: Path) -> None:
    with StagedFile(tmp_path / "a") as staged:
        staged.write(b"a" * 10)
        assert (tmp_path / "a").stat().st_size == 0
    assert (tmp_path / "a").read_bytes() == b""
