"""Snow: mass, melting and settling against closed forms and hand-worked numbers."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.weather.snow import (
    SnowModel,
    hidden_share,
    lying_snow,
    no_snow,
    snow_conductivity,
    snow_pack,
    snow_resistance,
    split_precipitation,
)
from stemwall.weather.year import WeatherYear


def test_precipitation_is_split_at_the_threshold() -> None:
    rain, snow = split_precipitation([1.0, 2.0, 3.0], [0.99, 1.0, -5.0], 1.0)
    np.testing.assert_array_equal(rain, [0.0, 2.0, 0.0])
    np.testing.assert_array_equal(snow, [1.0, 0.0, 3.0])


@pytest.mark.parametrize("start", [0.0, 40.0])
def test_mass_is_kept_hour_by_hour(start: float, rng: np.random.Generator) -> None:
    """What falls is rain, or lies, or has melted; nothing melts that was not there."""
    temperature = rng.uniform(-10, 8, 2000)
    falling = np.where(rng.uniform(size=2000) < 0.2, rng.exponential(1.0, 2000), 0.0)
    pack = snow_pack(temperature, falling, start=start)
    before = np.concatenate([[start], pack.equivalent[:-1]])
    np.testing.assert_allclose(pack.rain + pack.snowfall, falling, atol=1e-12)
    np.testing.assert_allclose(before + pack.snowfall - pack.melt, pack.equivalent, atol=1e-9)
    assert pack.equivalent.min() == 0.0
    assert pack.equivalent.max() > 0
    assert pack.melt.min() >= 0
    assert start + falling.sum() == pytest.approx(pack.water.sum() + pack.equivalent[-1], rel=1e-12)


def test_degree_day_melt_by_hand() -> None:
    """3 mm/(K d) at 4 K: 12 mm a day, 0.5 mm an hour; 3.2 mm last six hours and a part."""
    pack = snow_pack(np.full(10, 4.0), np.zeros(10), SnowModel(degree_day_factor=3.0), start=3.2)
    np.testing.assert_allclose(pack.melt, [0.5] * 6 + [0.2] + [0.0] * 3, atol=1e-12)


def test_matches_the_step_by_step_balance(rng: np.random.Generator) -> None:
    model = SnowModel()
    temperature, falling = rng.uniform(-6, 6, 500), rng.exponential(0.3, 500)
    pack = snow_pack(temperature, falling, model, start=5.0)
    lying = 5.0
    for i in range(500):
        new = falling[i] if temperature[i] < 1.0 else 0.0
        lying = max(0.0, lying + new - 3.0 / 24 * max(temperature[i], 0.0))
        assert pack.equivalent[i] == pytest.approx(lying, abs=1e-9)


def test_cold_melts_nothing_and_warmth_leaves_nothing() -> None:
    assert snow_pack(np.full(50, -3.0), np.ones(50)).water.sum() == 0.0
    warm = snow_pack(np.full(50, 5.0), np.ones(50))
    assert warm.equivalent.max() == 0.0
    np.testing.assert_array_equal(warm.water, np.ones(50))


def test_new_snow_settles_exponentially() -> None:
    """One fall of 100 kg/m3 then frost: 300 - 200 exp(-t/100 h)."""
    falling = np.zeros(201)
    falling[0] = 10.0
    pack = snow_pack(np.full(201, -5.0), falling)
    hours = np.arange(201)
    np.testing.assert_allclose(pack.density, 300 - 200 * np.exp(-hours / 100), rtol=1e-12)
    assert pack.depth[0] == pytest.approx(0.1)
    np.testing.assert_allclose(pack.depth * pack.density, 10.0)


def test_new_snow_mixes_by_volume() -> None:
    """10 mm settled and 10 mm new: 20 mm in 1/30 + 1/10 m, 150 kg/m3."""
    pack = snow_pack([-5.0], [10.0], start=10.0)
    assert pack.density[0] == pytest.approx(150.0)
    assert pack.depth[0] == pytest.approx(10 / 300 + 10 / 100)


@pytest.mark.parametrize(
    ("density", "expected"), [(100.0, 0.0464), (200.0, 0.06532), (300.0, 0.12597), (500.0, 0.44125)]
)
def test_conductivity(density: float, expected: float) -> None:
    """0.023 + 0.0234; 0.138 - 0.202 + 0.12932; 0.138 - 0.303 + 0.29097; 0.138 - 0.505 + 0.80825."""
    assert float(snow_conductivity(density)) == pytest.approx(expected, abs=1e-9)
    assert float(snow_resistance(0.2, density)) == pytest.approx(0.2 / expected)


def test_conductivity_has_no_jump() -> None:
    below, above = snow_conductivity([155.999, 156.001])
    assert above == pytest.approx(below, rel=0.02)


def test_shallow_snow_hides_part_of_the_ground() -> None:
    np.testing.assert_allclose(hidden_share([0.0, 0.05, 0.1, 0.5]), [0.0, 0.5, 1.0, 1.0])


def test_lying_snow_closes_the_year() -> None:
    """Snow of December lies on 1 January: passing the weather again from there changes nothing."""
    temperature = np.where((np.arange(8760) < 1000) | (np.arange(8760) > 8000), -2.0, 10.0)
    falling = np.full(8760, 0.1)
    lying = lying_snow(temperature, falling)
    end = float(lying.equivalent[-1])
    again = snow_pack(temperature, falling, start=end, start_density=float(lying.density[-1]))
    np.testing.assert_allclose(again.equivalent, lying.equivalent)
    np.testing.assert_allclose(again.depth, lying.depth, rtol=1e-6)
    assert lying.equivalent[0] == pytest.approx(0.1 * (8760 - 8001) + 0.1)
    assert again.water.sum() == pytest.approx(falling.sum())


def test_no_snow_is_all_rain(default_year: WeatherYear) -> None:
    rain = np.zeros(8760) if default_year.rain is None else default_year.rain
    pack = no_snow(rain)
    np.testing.assert_array_equal(pack.water, rain)
    assert pack.depth.max() == 0.0
