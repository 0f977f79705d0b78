"""Monotone cubics against scipy's, the trapezoid rule and the root against known values."""

import math

import numpy as np
import pytest
import scipy.integrate
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from stemwall.materials.interpolation import MonotoneCubic, root, trapezoid


@pytest.mark.parametrize("count", [2, 3, 4, 12])
@pytest.mark.parametrize("shape", ["rising", "any", "steps"])
def test_cubic_is_that_of_scipy(count: int, shape: str, rng: np.random.Generator) -> None:
    for _ in range(20):
        x = np.cumsum(rng.uniform(0.1, 2.0, count))
        y = rng.normal(size=count)
        y = {"rising": np.sort(y), "any": y, "steps": np.round(y)}[shape]
        at = rng.uniform(x[0] - 0.1, x[-1] + 0.1, 200)
        ours, theirs = MonotoneCubic(x, y), PchipInterpolator(x, y)
        np.testing.assert_allclose(ours(at), theirs(at), rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(ours.slope(at), theirs.derivative()(at), rtol=1e-11, atol=1e-11)
        np.testing.assert_allclose(ours(x), y, rtol=1e-13, atol=1e-13)


def test_cubic_takes_arrays_of_any_shape() -> None:
    curve = MonotoneCubic([0.0, 1.0, 3.0], [0.0, 1.0, 9.0])
    assert curve(0.5).shape == ()
    assert curve(np.zeros((2, 3))).shape == (2, 3)


def test_trapezoid_is_that_of_scipy(rng: np.random.Generator) -> None:
    x, y = np.sort(rng.normal(size=50)), rng.normal(size=50)
    assert trapezoid(y, x) == pytest.approx(float(scipy.integrate.trapezoid(y, x)), rel=1e-14)


@given(st.floats(-5.0, 5.0), st.floats(0.01, 20.0), st.floats(0.01, 20.0))
def test_root_lies_within_the_tolerance(zero: float, below: float, above: float) -> None:
    def curve(x: float) -> float:
        return math.expm1(0.5 * (x - zero)) + 0.2 * (x - zero) ** 3

    assert root(curve, zero - below, zero + above, 1e-7) == pytest.approx(zero, abs=1e-7)
    assert root(lambda x: -curve(x), zero - below, zero + above, 1e-7) == pytest.approx(zero, abs=1e-7)


def test_root_takes_few_steps_and_known_ends() -> None:
    asked: list[float] = []

    def curve(x: float) -> float:
        asked.append(x)
        return math.cos(x) - x

    # cos x = x at 0.739085133215
    assert root(curve, 0.0, 1.0, 1e-10, (1.0, math.cos(1.0) - 1.0)) == pytest.approx(0.739085133215, abs=1e-10)
    assert len(asked) <= 10
    assert min(asked) > 0.0


def test_root_at_an_end_and_without_a_change_of_sign() -> None:
    assert root(lambda x: x, 0.0, 1.0, 1e-9) == 0.0
    with pytest.raises(ValueError, match="no change of sign"):
        root(lambda x: x + 2.0, 0.0, 1.0, 1e-9)
