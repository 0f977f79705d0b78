"""Every verification case within its limits."""

import pytest

from stemwall.cases.verification.comparison import NotRun
from stemwall.cases.verification.suite import CASES, PRACTICE

#: those of common practice are run by tests/verification/rules_of_practice
PARAMETERS = [
    pytest.param(case, id=case.id, marks=[pytest.mark.slow] if case.slow else [])
    for case in CASES
    if case.group != PRACTICE
]


@pytest.mark.parametrize("case", PARAMETERS)
def test_case_holds(case):
    try:
        comparisons = case.run()
    except NotRun as reason:
        pytest.skip(str(reason))
    assert comparisons
    for c in comparisons:
        print(f"{c.name}: {c.quantity}: {c.norm} {c.error:.4g}, limit {c.limit:g}")
    missed = [f"{c.name}: {c.quantity}: {c.error:.4g} > {c.limit:g}" for c in comparisons if not c.holds]
    if case.known:
        assert missed, "it holds: it is not known not to hold any more"
        return
    assert not missed


def test_identifiers_are_unique():
    assert len({case.id for case in CASES}) == len(CASES)
