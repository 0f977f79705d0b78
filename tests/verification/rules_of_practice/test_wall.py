"""Common practice: insulation on wall and rim."""

from __future__ import annotations

from stemwall.cases.verification.rules_of_practice import rim, wall
from stemwall.cases.verification.rules_of_practice.checks import Check
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(wall, rim)
def test_wall(check: Check) -> None:
    assert held(check)
