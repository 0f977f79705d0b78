"""Draws of means and bands: as wide as Student's t, and bands hold as many whole curves as they say."""

import numpy as np
import pytest
from scipy import stats

from stemwall.cases.laboratory.resampling import Band, Scatter, band, mean_of

RNG = np.random.default_rng(3)


def test_a_mean_of_few_spreads_as_students_t() -> None:
    values = (9.0, 10.0, 11.0, 10.0)
    mean = mean_of(values, 0.05, RNG, 20000)
    low, high = mean.band()
    half = float(stats.t.ppf(0.95, 3)) * np.std(values, ddof=1) / 2.0
    assert high - 10.0 == pytest.approx(half, rel=0.06)
    assert 10.0 - low == pytest.approx(half, rel=0.06)


def test_one_value_takes_the_assumed_scatter() -> None:
    mean = mean_of((10.0,), 0.05, RNG, 5000)
    assert mean.scatter.freedom == 0
    assert mean.deviation == pytest.approx(0.05, rel=0.05)


def test_equal_values_take_the_assumed_scatter() -> None:
    assert Scatter.of(np.zeros(5), 1, 0.04).deviation == 0.04


@pytest.mark.parametrize("logarithm", [False, True])
def test_a_band_holds_nine_of_ten_curves_as_wholes(logarithm: bool) -> None:
    x = np.linspace(0.0, 1.0, 30)
    best = 5.0 + x
    curves = best * np.exp(0.1 * RNG.standard_normal((2000, 1)) + 0.1 * RNG.standard_normal((2000, 1)) * x)
    found = band(best, curves[:1000], logarithm=logarithm)
    held = np.mean([found.holds(curve) for curve in curves[1000:]])
    assert 0.86 < held < 0.94


def test_a_band_of_curves_without_spread_is_the_curve() -> None:
    found = band(np.ones(3), np.ones((10, 3)))
    assert found.holds(np.ones(3))
    assert not Band(found.best, found.low, found.high).holds(np.full(3, 1.01))
