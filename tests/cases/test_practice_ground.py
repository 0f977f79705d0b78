"""Common practice: what the ground gives, and what moist soil takes."""

from __future__ import annotations

from stemwall.cases.verification import practice_ground
from stemwall.cases.verification.practice import Check
from tests.cases.practice_samples import checks_of, held


@checks_of(practice_ground)
def test_ground(check: Check) -> None:
    assert held(check)
