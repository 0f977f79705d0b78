"""Result files that are none: cut, foreign, damaged."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.fuzz.command import BAD_INPUT, stemwall


@pytest.mark.draws(3, 50)
def test_findings_of_refinement_that_are_noise_are_refused(draw: np.random.Generator, tmp_path: Path) -> None:
    (tmp_path / "a.nc").touch()
    path = tmp_path / "found.json"
    path.write_text("".join(draw.choice(list('{}[]":,0a findings'), 40)))
    result = stemwall("report", tmp_path / "a.nc", "--refined", path, codes=[BAD_INPUT])
    assert "found.json" in result.output
