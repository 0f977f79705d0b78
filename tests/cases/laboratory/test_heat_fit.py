"""Conductivity over moisture and temperature: exact laws come back, what is not tested is assumed."""

import numpy as np
import pytest

from stemwall.cases.laboratory.heat_fit import HeatPoints, fit_heat

RNG = np.random.default_rng(6)


def test_moisture_and_temperature_come_back() -> None:
    water, warm = np.array([0.0, 50.0, 100.0, 0.0, 100.0]), np.array([10.0, 10.0, 10.0, 30.0, 30.0])
    value = (0.5 + 2e-3 * water) * (1.0 + 1e-3 * (warm - 10.0))
    fit = fit_heat(HeatPoints(water, warm, value), 4e-3, 0.0, 0.03, RNG, 50)
    assert fit.best == pytest.approx([0.5, 2e-3, 1e-3], rel=1e-5)
    assert fit.fitted == (True, True, True)
    assert fit.written()["slope"] == pytest.approx(5e-4, rel=1e-3)


def test_a_dry_value_alone_takes_the_assumed_growth() -> None:
    fit = fit_heat(HeatPoints(np.zeros(3), np.full(3, 10.0), np.array([0.49, 0.5, 0.51])), 4e-3, 0.0, 0.03, RNG, 200)
    assert fit.best == pytest.approx([0.5, 2e-3, 0.0], rel=1e-3)
    assert fit.fitted == (True, False, False)
    np.testing.assert_allclose(fit.draws[:, 1], 4e-3 * fit.draws[:, 0])
