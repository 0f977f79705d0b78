"""What is kept between runs, damaged: a run goes on as if nothing had been kept, and mends it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stemwall.weather import cache as kept_module
from stemwall.weather.cache import FOLDER_VARIABLE, Entry, kept
from tests.solver.kernels.support.test_jit import KERNELS, called


def damaged(draw: np.random.Generator, content: bytes, others: list[bytes]) -> bytes:
    """Content that is cut, flipped, overwritten, longer, or another's; never as it was."""
    data = bytearray(content)
    at = int(draw.integers(len(data)))
    match draw.choice(["cut", "flip", "zeros", "noise", "longer", "foreign"]):
        case "cut":
            del data[at:]
        case "flip":
            for place in draw.integers(len(data), size=draw.choice([1, 8, 64])):
                data[place] ^= 1 << int(draw.integers(8))
        case "zeros":
            data[at : at + 4096] = bytes(len(data[at : at + 4096]))
        case "noise":
            data = bytearray(draw.bytes(int(draw.integers(200))))
        case "longer":
            data += draw.bytes(1)
        case "foreign":
            data = bytearray(others[draw.integers(len(others))])
    return bytes(data) if data != content else content[:-1]


@pytest.mark.draws(3, 40)
def test_damaged_code_changes_nothing(draw: np.random.Generator, tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    call = "outer(2.0, 3.0), inner(2.0, 3.0)"
    called(tmp_path, call)
    files = sorted((tmp_path / "kept").glob("*/*.kept"))
    whole = [path.read_bytes() for path in files]
    hit = int(draw.integers(len(files)))
    files[hit].write_bytes(damaged(draw, whole[hit], whole[:hit] + whole[hit + 1 :]))
    for loaded in (1, 2):  # the damaged one is compiled, and found the next time
        printed, _ = called(tmp_path, call)
        assert printed.startswith("14.0 7.0 ")
        assert printed.count("(float64, float64): 1") == loaded


@pytest.mark.draws(20, 1000)
def test_a_damaged_year_changes_nothing(
    draw: np.random.Generator, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    monkeypatch.setattr(kept_module, "MOST_IN_MEMORY", 0)
    made: list[int] = []

    def entry(number: int) -> Entry:
        def make() -> Entry:
            made.append(number)
            year = np.random.default_rng(number).normal(size=(3, 2000))
            return Entry(dict(zip("abc", year, strict=True)), {"number": number})

        return kept(("year", number), make)

    years = [entry(number) for number in range(2)]
    files = sorted(tmp_path.iterdir(), key=lambda path: path.stat().st_mtime_ns)
    whole = [path.read_bytes() for path in files]
    files[0].write_bytes(damaged(draw, whole[0], whole[1:]))
    for _ in range(2):
        again = entry(0)
        assert again.facts == years[0].facts
        for name, values in years[0].arrays.items():
            np.testing.assert_array_equal(again.arrays[name], values)
    assert made == [0, 1, 0]
