"""What is kept of compiled kernels: those that Python calls, not what they are made of."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

KERNELS = """
from stemwall.solver.compiled import kernel

@kernel
def inner(a, b):
    return a * b + 1.0

@kernel
def outer(a, b):
    return inner(a, b) + inner(b, a)
"""


def called(folder: Path, what: str) -> tuple[str, list[str]]:
    """What a call prints in a process of its own, and the kernels that are kept afterwards."""
    code = (
        f"from kernels import inner, outer\nprint({what}, dict(outer.stats.cache_hits), dict(inner.stats.cache_hits))"
    )
    environment = {"NUMBA_CACHE_DIR": str(folder / "kept"), "PYTHONPATH": str(folder)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=folder, env=environment
    )
    kept = {path.name.split("-")[0].split(".")[-1] for path in (folder / "kept").rglob("*.nbi")}
    return done.stdout.strip(), sorted(kept)


def test_a_kernel_is_kept_with_its_parts_and_these_for_themselves_once_python_calls_them(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    first, kept = called(tmp_path, "outer(2.0, 3.0)")
    assert first.startswith("14.0 ")
    assert kept == ["outer"]
    again, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert again.startswith("14.0 7.0 {(float64, float64): 1}")
    assert kept == ["inner", "outer"]
    last, _ = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert last.count("(float64, float64): 1") == 2


def test_python_can_call_what_was_compiled_as_a_part(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    printed, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0), outer(2.0, 3.0), inner(1.0, 3.0)")
    assert printed.startswith("14.0 7.0 14.0 4.0 {} {}")
    assert kept == ["inner", "outer"]
    # and what others were compiled with before
    printed, _ = called(tmp_path, "inner(2, 3), outer(2, 3), inner(2, 3), inner(2.0, 3.0)")
    assert printed.startswith("7.0 14.0 7.0 7.0 ")


def test_what_python_called_before_can_be_a_part_of_others_later(tmp_path: Path) -> None:
    (tmp_path / "kernels.py").write_text(KERNELS)
    printed, kept = called(tmp_path, "inner(2.0, 3.0)")
    assert printed.startswith("7.0 ")
    assert kept == ["inner"]
    printed, kept = called(tmp_path, "outer(2.0, 3.0), inner(2.0, 3.0)")
    assert printed.startswith("14.0 7.0 ")
    assert kept == ["inner", "outer"]
