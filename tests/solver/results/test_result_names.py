"""Names of results and what lies beside them."""

from __future__ import annotations

import os
from pathlib import Path

from stemwall.solver.results.result_names import being_written, clear, partials, salvage
from stemwall.solver.results.staged_file import StagedFile

OTHERS = [
    "wall-base.html", "wall-base.nc", "wall-base-b.0a1b2c3d.nc.partial", "wall-base.v2.nc", "wall-base.v2.nc.partial",
]  # fmt: skip


def test_what_is_being_written_is_told_from_results(tmp_path: Path) -> None:
    target = tmp_path / "wall-base.nc"
    for name in (*OTHERS, "wall-base.ffffffff.nc.partial"):
        (tmp_path / name).touch()
    assert [path.name for path in partials(target)] == ["wall-base.ffffffff.nc.partial"]
    assert not being_written(target)
    salvage(target)
    assert sorted(os.listdir(tmp_path)) == sorted(OTHERS)


def test_what_somebody_writes_now_is_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "wall-base.nc"
    with StagedFile(tmp_path / "wall-base.0a1b2c3d.nc.partial"):
        assert being_written(target)
        salvage(target)
        clear(target)
        assert partials(target)
    assert not being_written(target)
    clear(target)
    assert not partials(target)
