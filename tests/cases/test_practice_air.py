"""Common practice: crawlspaces whose air is computed, and summer air by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.verification import practice_air, practice_psychrometry
from stemwall.cases.verification.practice import Check
from stemwall.cases.verification.practice_runs import VENTED, YEAR, run
from tests.cases.practice_samples import checks_of, held


@checks_of(practice_air, practice_psychrometry)
def test_air(check: Check) -> None:
    assert held(check)


@pytest.mark.slow
def test_a_year_closes_its_balances() -> None:
    year = run(VENTED, YEAR, warmer=practice_air.HOT)
    assert year.attrs["balance_water_relative"] < 1e-6
    assert year.attrs["balance_heat_relative"] < 1e-6
    assert np.isfinite(year["stored_water"].values).all()
