"""Courses of a day against what their rules say exactly."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from stemwall.weather.clock import Sun
from stemwall.weather.daily_rules import cloud_cover, humidity_course, sun_course, sun_profile, temperature_course
from stemwall.weather.moistair import FloatArray
from stemwall.weather.unit_conversion import Site

SITE = Site("nowhere", 40.0, -75.0, 0.0, -5.0)
INDEX = pd.date_range("2001-01-01", periods=8760, freq="h")


@pytest.fixture(scope="module")
def profile() -> FloatArray:
    return sun_profile(INDEX, Sun.of(INDEX, SITE).sine, SITE)


def test_temperature_keeps_extremes_and_mean(profile: FloatArray) -> None:
    """Property, for means anywhere between the extremes; equal extremes and odd means included."""
    rng = np.random.default_rng(1)
    low = 5.0 + rng.uniform(-2.0, 2.0, 365)
    high = low + rng.uniform(5.0, 20.0, 365)
    mean = low + (high - low) * rng.uniform(0.2, 0.8, 365)
    high[7] = mean[7] = low[7]
    found, moved = temperature_course(low, high, mean, profile)
    assert moved == 0
    np.testing.assert_allclose(found.mean(axis=1), mean, atol=1e-9)
    np.testing.assert_allclose(found.min(axis=1), low, atol=1e-9)
    np.testing.assert_allclose(found.max(axis=1), high, atol=1e-9)
    found, moved = temperature_course(low, high, low + 0.999 * (high - low), profile)
    assert moved == 364
    np.testing.assert_allclose(found.mean(axis=1), low + 0.999 * (high - low), atol=1e-9)


def test_warmest_and_coldest_hour(profile: FloatArray) -> None:
    same = np.zeros(365)
    found, _ = temperature_course(same, same + 10, same + 5, profile)
    assert set(np.argmax(found, axis=1)) <= {13, 14}
    sunrise = np.argmax(profile > 0, axis=1)
    assert np.all(np.abs(np.argmin(found, axis=1) - sunrise) <= 1)


def test_sun_sums_and_noon(profile: FloatArray) -> None:
    sums = np.random.default_rng(2).uniform(0.5, 25.0, 365)
    course = sun_course(sums, profile)
    np.testing.assert_allclose(course.sum(axis=1) * 0.0036, sums, rtol=1e-12)
    assert np.all(course >= 0)
    middle = (course * (np.arange(24) + 0.5)).sum(axis=1) / course.sum(axis=1)
    # 75° W at UTC - 5 h: noon by the clock but for the equation of time, at most 17 minutes
    assert np.all(np.abs(middle - 12) < 17 / 60 + 0.05)


def test_course_is_that_of_collares_pereira_and_rabl(profile: FloatArray) -> None:
    """At the equinox, w_s = 90°: r = pi/24 (a + b cos w) cos w, a + b at noon 1.082."""
    share = sun_course(np.full(365, 3.6), profile)[79] / 1000
    a, b = 0.409 + 0.5016 * 0.5, 0.6609 - 0.4767 * 0.5
    for hour in (9, 11, 12, 14):
        angle = np.radians(15 * (hour + 0.5 - 12 - 7.5 / 60))
        exact = np.pi / 24 * (a + b * np.cos(angle)) * np.cos(angle)
        assert share[hour] == pytest.approx(exact, rel=0.02)


def test_cloud_of_clear_and_dark_days() -> None:
    sine = Sun.of(INDEX, SITE).sine
    assert np.all(cloud_cover(np.full(365, 50.0), sine) == 0)
    np.testing.assert_allclose(cloud_cover(np.zeros(365), sine), 10.0)


def test_humidity_of_one_vapour_pressure_a_day() -> None:
    warm = np.array([np.linspace(5.0, 20.0, 24)] * 3)
    found, guessed = humidity_course(warm, np.full(3, 5.0), np.array([0.6, 1.0, np.nan]))
    np.testing.assert_allclose(found.mean(axis=1)[:2], [0.6, 1.0], atol=1e-12)
    assert guessed == 1
    assert found[2, 0] == 1.0
    assert np.all(np.diff(found[0]) < 0)
