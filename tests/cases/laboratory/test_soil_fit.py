"""Retention of a soil: exact points give the curve back; too few are refused."""

import numpy as np
import pytest

from stemwall.cases.laboratory.soil_fit import fit_soil
from stemwall.materials.retention import VanGenuchten

RNG = np.random.default_rng(8)
SUCTION = np.array([0.0, 1e3, 3e3, 1e4, 3.3e4, 1e5, 5e5, 1.5e6])


def test_exact_points_give_the_curve_back() -> None:
    water = VanGenuchten.soil(0.05, 0.43, 2.0, 1.5).content(SUCTION)
    fit = fit_soil(SUCTION, water, 0.02, RNG, 5)
    assert fit.best == pytest.approx([0.05, 0.43, 2.0, 1.5], rel=1e-3)


def test_three_suctions_are_too_few() -> None:
    with pytest.raises(ValueError, match="four suctions"):
        fit_soil(SUCTION[:3], np.array([430.0, 400.0, 350.0]), 0.02, RNG, 5)
