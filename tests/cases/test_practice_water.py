"""Common practice: water that climbs into wall and sill, and a flood that dries."""

from __future__ import annotations

from stemwall.cases.verification import practice_water
from stemwall.cases.verification.practice import Check
from tests.cases.practice_samples import checks_of, held


@checks_of(practice_water)
def test_water(check: Check) -> None:
    assert held(check)
