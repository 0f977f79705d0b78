"""Common practice: foam under slabs, their edge, and the frost beside them."""

from __future__ import annotations

from stemwall.cases.verification import practice_slab
from stemwall.cases.verification.practice import Check
from tests.cases.practice_samples import checks_of, held


@checks_of(practice_slab)
def test_slab(check: Check) -> None:
    assert held(check)
