"""Common practice: foam under slabs, their edge, and the frost beside them."""

from __future__ import annotations

from stemwall.cases.verification.rules_of_practice import slab
from stemwall.cases.verification.rules_of_practice.checks import Check
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(slab)
def test_slab(check: Check) -> None:
    assert held(check)
