"""Series of uptake: slope, knee, what a specimen holds, and the conditions of the test."""

import numpy as np
import pytest

from stemwall.cases.laboratory.liquid_fit import capillary_contents, fit_series, fit_uptake_tests, specimens
from stemwall.cases.laboratory.sheet import UptakeTest

RNG = np.random.default_rng(4)
TIME = np.array([0.0, 60, 240, 540, 960, 1500, 2160, 3600, 5400, 9000])


def test_a_straight_series_gives_its_slope() -> None:
    found = fit_series(TIME.tolist(), (2.0 + 0.01 * 0.15 * np.sqrt(TIME)).tolist(), 0.01)
    assert found.coefficient == pytest.approx(0.15, rel=1e-6)
    assert found.knee is None


def test_a_knee_ends_the_first_stage() -> None:
    gain = 0.15 * np.minimum(np.sqrt(TIME), 50.0) + 0.01 * np.maximum(np.sqrt(TIME) - 50.0, 0.0)
    test = UptakeTest.model_validate(
        {"time": TIME.tolist(), "mass": [(0.01 * gain).tolist()], "area": 0.01, "height": 0.03}
    )
    found = specimens([test])[0][0]
    assert found.coefficient == pytest.approx(0.15, rel=0.02)
    assert found.knee == pytest.approx(50.0, rel=0.05)
    assert capillary_contents([test]) == pytest.approx([250.0], rel=0.03)


def test_other_conditions_are_brought_to_the_standard_ones() -> None:
    tests = [UptakeTest.model_validate({"coefficient": [0.1, 0.11], "start": 0.0, "temperature": 20})]
    fit = fit_uptake_tests(tests, 0.05, RNG, 50, lambda a, phi, t: a * 1.05)
    assert fit.best == pytest.approx(0.1)
    assert fit.ratio == pytest.approx(1.0 / 1.05)


def test_mass_that_falls_is_refused() -> None:
    test = UptakeTest.model_validate({"time": [0, 60, 120, 180], "mass": [[1.0, 0.9, 0.8, 0.7]], "area": 0.01})
    with pytest.raises(ValueError, match="rises"):
        specimens([test])
