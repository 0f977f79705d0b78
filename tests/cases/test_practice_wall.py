"""Common practice: insulation on wall and rim."""

from __future__ import annotations

from stemwall.cases.verification import practice_rim, practice_wall
from stemwall.cases.verification.practice import Check
from tests.cases.practice_samples import checks_of, held


@checks_of(practice_wall, practice_rim)
def test_wall(check: Check) -> None:
    assert held(check)
