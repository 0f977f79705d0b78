"""The checks of common practice, as parameters of tests, by the module that runs them."""

from __future__ import annotations

from types import ModuleType

import pytest

from stemwall.cases.verification.rules_of_practice import checks


def checks_of(*modules: ModuleType) -> pytest.MarkDecorator:
    """Return the parametrisation ``check`` over the checks that modules run; slow ones are marked."""
    names = {module.__name__ for module in modules}
    chosen = [check for check in checks.CHECKS if check.run.__module__ in names]
    marks = {True: [pytest.mark.slow], False: []}
    return pytest.mark.parametrize("check", [pytest.param(c, id=c.id, marks=marks[c.slow]) for c in chosen])


def held(check: checks.Check) -> bool:
    """Run a check and print what it compares; whether all of it holds."""
    comparisons = check.run()
    for c in comparisons:
        word = "holds" if c.holds else "MISSED"
        print(f"{word}: {c.name}: {c.quantity}: {c.computed} {c.norm} {c.expected}: {c.error:.4g}, limit {c.limit:g}")
    return bool(comparisons) and all(c.holds for c in comparisons)
