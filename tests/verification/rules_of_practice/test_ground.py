"""Common practice: what the ground gives, and what moist soil takes."""

from __future__ import annotations

from stemwall.cases.verification.rules_of_practice import ground
from stemwall.cases.verification.rules_of_practice.checks import Check
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(ground)
def test_ground(check: Check) -> None:
    assert held(check)
