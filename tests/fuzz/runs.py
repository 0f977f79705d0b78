"""A run of a few hours for the fuzz tests, and what may lie in its folder after it was disturbed."""

from __future__ import annotations

from pathlib import Path

import pytest
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.solver.results import result_file
from stemwall.solver.results.result_names import failed_path, interrupted_path
from stemwall.solver.results.stored_result import read_result
from tests.cases.samples import changed, setup

#: 18 hours on a coarse mesh, fields every three hours
SHORT = changed("years = 0.01", 'years = 0.0021\nfield_every = "3 h"') + '[mesh]\nfinest = "50 mm"\n'


def short_run(path: Path) -> Path:
    """Compute the short run."""
    return simulate_setup(setup(SHORT), path)


def with_checkpoints(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the short run write what it has every five hours."""
    monkeypatch.setattr(result_file, "CHUNK", 5)


def assert_nothing_is_lost(path: Path, older: bytes) -> xr.Dataset | None:
    """Look at a folder after a run into ``path``, where a complete result lay: all there is is whole.

    Returns
    -------
    Dataset or None
        What the run has left beside the older result, which then is what it was; None if it left nothing, or is
        complete.
    """
    beside = [one for one in (interrupted_path(path), failed_path(path)) if one.exists()]
    others = {one.name for one in path.parent.iterdir()} - {path.name, *(one.name for one in beside)}
    assert not others
    assert len(beside) <= 1
    assert read_result(path).attrs["completed"] == "yes"
    if not beside:
        return None
    assert path.read_bytes() == older
    left = read_result(beside[0])
    assert left.attrs["completed"] == ("interrupted" if beside[0] == interrupted_path(path) else "failed")
    assert left.attrs["hour"] == left.sizes["time"] > 0
    assert left.attrs["reason"]
    return left
