"""Frost design: freezing indices, the winter of so many years, and the wave that has its index."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stemwall.cases.steady.frost import amplitude_for, design_winter, freezing_indices, index_of_wave
from stemwall.weather.read import read_weather


@pytest.mark.parametrize(("mean", "amplitude"), [(5.0, 15.0), (-3.0, 12.0), (8.0, 4.0), (-10.0, 2.0)])
def test_the_index_of_a_wave_is_its_sum_below_zero(mean: float, amplitude: float) -> None:
    day = (np.arange(365 * 24) + 0.5) / 24.0
    wave = mean - amplitude * np.cos(2 * np.pi * day / 365.0)
    summed = np.maximum(-wave, 0.0).sum() / 24.0
    assert index_of_wave(mean, amplitude) == pytest.approx(summed, rel=1e-4, abs=1e-9)
    if amplitude > abs(mean):
        assert amplitude_for(summed, mean) == pytest.approx(amplitude, rel=1e-3)


def test_no_frost_takes_no_wave() -> None:
    assert amplitude_for(0.0, 5.0) == 0.0


def test_freezing_indices_are_those_of_winters() -> None:
    year = read_weather("default")
    one = freezing_indices(year)
    daily = year.temperature.reshape(365, 24).mean(axis=1)
    assert one == pytest.approx([np.maximum(-daily, 0.0).sum()])
    # two years with a winter that begins in the first and ends in the second: cold in December of one, January of next
    cold = np.full(2 * 8760, 10.0)
    cold[334 * 24 : (365 + 31) * 24] = -2.0
    arrays = {name: np.tile(values, 2) for name, values in year.arrays().items()}
    double = replace(year, **{**arrays, "temperature": cold})
    assert sorted(freezing_indices(double)) == pytest.approx([0.0, 2.0 * 62])


def test_the_winter_of_so_many_years_follows_the_extreme_value_distribution() -> None:
    rng = np.random.default_rng(3)
    many = rng.gumbel(500.0, 80.0, 4000)
    found = design_winter(many, 50)
    assert found.index == pytest.approx(500.0 - 80.0 * np.log(-np.log(1.0 - 1.0 / 50.0)), rel=0.02)
    assert "once in 50 years by 4000 winters" in found.origin


def test_few_winters_make_no_distribution_and_a_stated_index_stands() -> None:
    few = design_winter(np.array([100.0, 300.0]), 100)
    assert few.index == 300.0
    assert "no 100-year winter" in few.origin
    assert design_winter(np.array([100.0]), 100, 900.0).index == 900.0
    with pytest.raises(ValueError, match="two years"):
        design_winter(np.array([100.0]), 1)
