"""Conductivity of a soil: the law comes back from exact points."""

import numpy as np
import pytest

from stemwall.cases.laboratory.heat_fit import HeatPoints
from stemwall.cases.laboratory.soil_heat_fit import ETA, KAPPA, fit_soil_heat
from stemwall.materials.thermal import SoilConductivity

RNG = np.random.default_rng(7)
TRUE = SoilConductivity(0.43, 3.5, 0.8, ETA, 2.5)


def points(water: list[float]) -> HeatPoints:
    """Exact points."""
    at = np.array(water)
    return HeatPoints(at, np.full(at.size, 10.0), TRUE.conductivity(at))


def test_three_moistures_say_all() -> None:
    fit = fit_soil_heat(points([0.0, 100.0, 250.0, 400.0]), 0.43, 0.05, RNG, 20)
    assert fit.best == pytest.approx([0.8, 3.5, 2.5], rel=1e-4)


def test_two_leave_the_shape_to_mineral_soils() -> None:
    fit = fit_soil_heat(points([0.0, 250.0]), 0.43, 0.05, RNG, 20)
    assert fit.fitted == (True, True, False)
    assert fit.best[2] == pytest.approx(KAPPA)
    np.testing.assert_allclose(fit.curve(fit.points.water), fit.points.value, rtol=1e-4)
