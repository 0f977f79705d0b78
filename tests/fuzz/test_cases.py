"""Whatever a case file holds: reading it gives a valid case or problems in words, and soon."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType

import numpy as np
import pytest

from stemwall.cases.case_file.read import CaseFile, default_path, load_case
from stemwall.cases.case_file.starter import SHORT_NAMES, starter
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import draw_section
from tests.cases.samples import WALL
from tests.fuzz.mutations import mutated

GOOD = (default_path().read_text(encoding="utf-8"), WALL, *map(starter, SHORT_NAMES.values()))
#: what takes longer hangs: reading a case takes a tenth of a second, and this is no measurement [s]
PATIENCE = 60


class StuckError(BaseException):
    """Reading did not come back."""


@contextmanager
def _patience() -> Iterator[None]:
    def give_up(_: int, __: FrameType | None) -> None:
        raise StuckError

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(PATIENCE)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _read(data: bytes, folder: Path) -> CaseFile | None:
    """Return the case file, or None after a look at its problems."""
    path = folder / "case.toml"
    path.write_bytes(data)
    try:
        return load_case(path)
    except CaseError as error:
        problems = error.problems
    assert problems
    for problem in problems:
        assert problem.found
        assert problem.expected
        assert problem.file
        assert len(str(problem)) < 2000
    return None


@pytest.mark.draws(60, 1500)
def test_a_changed_case_is_valid_or_refused_in_words(draw: np.random.Generator, tmp_path: Path) -> None:
    data = mutated(GOOD[int(draw.integers(len(GOOD)))], draw)
    with _patience():
        file = _read(data, tmp_path)
        for case in file.variants()[:3] if file else ():
            assert all(doubt.found and doubt.expected for doubt in case.doubts)
            with suppress(CaseError):
                section, materials = draw_section(case)
                assert set(section.materials) <= set(materials)


@pytest.mark.draws(10, 300)
def test_bytes_at_random_are_refused_in_words(draw: np.random.Generator, tmp_path: Path) -> None:
    marks = draw.choice([b"[]{}=.\",'#\n a1", bytes(range(256)), '[[]]{}=""é−８\u202e\x00.\n'.encode()])
    data = bytes(draw.choice(np.frombuffer(marks, dtype=np.uint8), int(draw.integers(1, 5000))))
    with _patience():
        assert _read(data, tmp_path) is None
