"""Common practice: crawlspaces whose air is computed, and summer air by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.verification.rules_of_practice import air, psychrometry
from stemwall.cases.verification.rules_of_practice.checks import Check
from stemwall.cases.verification.rules_of_practice.runs import VENTED, YEAR, run
from tests.verification.rules_of_practice.practice_samples import checks_of, held


@checks_of(air, psychrometry)
def test_air(check: Check) -> None:
    assert held(check)


@pytest.mark.slow
def test_a_year_closes_its_balances() -> None:
    year = run(VENTED, YEAR, warmer=air.HOT)
    assert year.attrs["balance_water_relative"] < 1e-6
    assert year.attrs["balance_heat_relative"] < 1e-6
    assert np.isfinite(year["stored_water"].values).all()
