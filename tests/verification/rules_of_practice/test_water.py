"""Common practice: water that climbs into wall and sill, and a flood that dries."""

from __future__ import annotations

from stemwall.cases.verification.rules_of_practice import water
from stemwall.cases.verification.rules_of_practice.checks import Check
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(water)
def test_water(check: Check) -> None:
    assert held(check)
