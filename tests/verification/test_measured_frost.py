"""Depth of frost from temperatures at a few depths, and how far the known misses go."""

import numpy as np
import pytest

from stemwall.cases.verification.measured.frost import coldest_days, depth_of_frost, frost_depth

DEPTHS = np.array([0.05, 0.1, 0.2, 0.5, 1.0])


def test_depth_of_frost_lies_where_the_temperature_passes_the_limit():
    assert frost_depth(DEPTHS, np.array([-2.1, -1.5, -0.6, 0.4, 1.1])) == pytest.approx(0.35)


def test_no_frost_is_no_depth():
    assert frost_depth(DEPTHS, np.array([-0.1, 0.2, 0.3, 0.7, 1.4])) == 0.0


def test_frost_beyond_the_last_depth_counts_as_the_last_depth():
    assert frost_depth(DEPTHS, np.array([-8.0, -7.1, -5.9, -2.4, -1.1])) == 1.0


def test_frost_below_warmer_soil_counts():
    assert frost_depth(DEPTHS, np.array([0.2, 0.1, -0.4, -0.2, 0.3])) == pytest.approx(0.6)


@pytest.mark.slow
def test_coldest_days_are_no_further_from_the_measured_than_known():
    sandstone, with_snow, dakota, with_little = coldest_days()
    assert with_snow.holds
    assert with_little.holds
    assert sandstone.error < 4.5
    assert dakota.error < 11.5


@pytest.mark.slow
def test_depth_misses_at_one_station_alone():
    found = {c.name: c for c in depth_of_frost()}
    assert found.pop("Sandstone MN").error < 0.9
    assert all(c.holds for c in found.values())
