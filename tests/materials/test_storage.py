"""Moisture storage against closed values, and its continuity."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import reference
from stemwall.materials.retention import Mode, OpenPores, VanGenuchten
from stemwall.materials.storage import (
    FunctionRetention,
    Hyperbola,
    RetentionCurve,
    Storage,
    TabulatedRetention,
    equilibrium_moisture,
    power_hyperbola,
    sorption_curve,
    wood_curve,
)
from stemwall.materials.water import DRY_SUCTION, GRAVITY, WATER_DENSITY, suction_from_humidity

HUMIDITY = [0.2, 0.4, 0.5, 0.6, 0.8, 0.9, 0.95, 0.98]
CONCRETE = [18.0, 25.0, 30.0, 37.0, 59.0, 76.0, 87.0, 94.0]

CURVES: dict[str, RetentionCurve] = {
    "sorption": sorption_curve(HUMIDITY, CONCRETE, 110.0),
    "wood": wood_curve(430.0, 500.0),
    "power-hyperbola": power_hyperbola(30.0, 59.0, 110.0),
    "hyperbola": Hyperbola.through(59.0, 110.0),
    "sand": VanGenuchten.soil(0.045, 0.43, 14.5, 2.68),
    "clay": VanGenuchten.soil(0.068, 0.38, 0.8, 1.09),
    "bimodal": VanGenuchten(300.0, 0.0, (Mode(0.6, 1e-4, 3.0), Mode(0.4, 1e-7, 1.6))),
    "foam": OpenPores(sorption_curve([0.5, 0.8, 0.98], [0.1, 0.2, 1.0], 1.2), 980.0),
    "function": FunctionRetention(lambda p: 100.0 / (1.0 + p / 1e6)),
}


@pytest.mark.parametrize("name", CURVES)
def test_strictly_decreasing_with_the_slope_it_states(name: str) -> None:
    storage = Storage(CURVES[name])
    suction = np.concatenate([-np.geomspace(1e5, 1.0, 40), np.geomspace(0.1, 9e8, 800)])
    assert np.all(np.diff(storage.water(suction)) < 0.0)
    p_c = np.geomspace(2.0, 8.9e8, 700)
    step = 1e-4 * p_c
    numeric = (storage.water(p_c - step) - storage.water(p_c + step)) / (2.0 * step)
    rounding = 1e-14 * storage.water(p_c) / step
    wrong = np.abs(storage.capacity(p_c) - numeric) > 2e-3 * numeric + rounding
    assert wrong.sum() <= 1  # the difference that straddles the air entry


@pytest.mark.parametrize("name", ["sorption", "wood", "power-hyperbola", "sand", "clay", "bimodal", "foam"])
def test_dry_at_one_gigapascal(name: str) -> None:
    assert float(Storage(CURVES[name]).water(DRY_SUCTION)) == pytest.approx(0.0, abs=1e-6)


def test_elastic_storage_is_smooth_through_zero_suction() -> None:
    storage = Storage(VanGenuchten.soil(0.078, 0.43, 3.6, 1.56), 1e-8)
    suction = np.array([-1e5, -1e-6, 0.0, 1e-6])
    water = storage.water(suction)
    np.testing.assert_allclose(water[1:], 430.001, atol=1e-9)
    assert water[0] - water[2] == pytest.approx(1000.0 * 1e-8 * 1e5)


@pytest.mark.parametrize(
    ("humidity", "temperature", "expected"),
    [
        (0.50, 21.1, 9.24),
        (0.75, 21.1, 14.41),
        (0.95, 21.1, 23.89),
        (0.75, -1.1, 14.91),
        (0.90, 37.8, 19.48),
        (0.80, 20.0, 16.04),
    ],
)
def test_equilibrium_moisture_of_wood(humidity: float, temperature: float, expected: float) -> None:
    assert 100.0 * float(equilibrium_moisture(humidity, temperature)) == pytest.approx(expected, abs=6e-3)


def test_wood_curve_follows_the_isotherm() -> None:
    humidity = np.linspace(0.07, 0.95, 50)
    water = wood_curve(430.0, 500.0).content(suction_from_humidity(humidity))
    np.testing.assert_allclose(water, 430.0 * equilibrium_moisture(humidity), rtol=1e-3)


def test_sorption_points_are_met_and_saturation_reached() -> None:
    curve = CURVES["sorption"]
    np.testing.assert_allclose(curve.content(suction_from_humidity(HUMIDITY)), CONCRETE, rtol=1e-12)
    assert curve.saturation == 110.0


def test_power_hyperbola_keeps_its_points() -> None:
    water = CURVES["power-hyperbola"].content(suction_from_humidity([0.5, 0.8]))
    np.testing.assert_allclose(water, [30.0, 59.0], rtol=1e-9)


def test_loam_in_hydrostatic_equilibrium() -> None:
    height = np.array([0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0])
    expected = [0.40739, 0.36034, 0.30247, 0.24213, 0.19266, 0.17006, 0.14748]
    suction = WATER_DENSITY * GRAVITY * height
    soil = VanGenuchten.soil(0.078, 0.43, 3.6, 1.56)
    closed_form = Storage(replace(soil, junction=None), 1e-8).water(suction)
    np.testing.assert_allclose(closed_form / WATER_DENSITY, expected, atol=7e-6)
    # the dry end touches nothing a building's soil meets: 1e-4 at 5 m
    np.testing.assert_allclose(Storage(soil, 1e-8).water(suction), closed_form, rtol=1e-4)


def test_loam_store_of_two_metres() -> None:
    height = np.linspace(0.0, 2.0, 4001)
    water = CURVES_LOAM.content(WATER_DENSITY * GRAVITY * height) / WATER_DENSITY
    assert trapezoid(water, height) == pytest.approx(0.529451, abs=2e-6)


CURVES_LOAM = VanGenuchten.soil(0.078, 0.43, 3.6, 1.56)


def test_dry_end_is_a_straight_line_in_log_suction() -> None:
    """Sand at 20 and 80 % RH: 10.6 and 24.2 kg/m3 on the line, which the smooth join leaves by 5 %."""
    water = CURVES["sand"].content(suction_from_humidity([0.2, 0.8]))
    np.testing.assert_allclose(water, [10.6, 24.2], rtol=0.05)


def test_air_entry_keeps_the_pores_full_and_is_the_default_for_small_n() -> None:
    clay = VanGenuchten.soil(0.068, 0.38, 0.8, 1.09)
    assert clay.air_entry == pytest.approx(0.02 * 9810.0)
    np.testing.assert_allclose(clay.content(np.array([0.0, 100.0, 196.0])), 380.0)
    assert VanGenuchten.soil(0.045, 0.43, 14.5, 2.68).air_entry == 0.0


def test_isothermal_drying_material() -> None:
    water = reference.hamstad2().water_content(suction_from_humidity([0.95, 0.45, 0.65]))
    np.testing.assert_allclose(water, [84.7687, 19.5356, 30.5059], atol=1e-4)


def test_uptake_material_of_en_15026() -> None:
    material = reference.en15026()
    assert float(material.water_content(suction_from_humidity(0.5))) == pytest.approx(42.9418, abs=2e-3)
    assert float(material.water_content(suction_from_humidity(0.95, 30.0))) == pytest.approx(128.2977, abs=2e-3)


def test_condensate_fills_foam_only_close_to_saturation() -> None:
    water = CURVES["foam"].content(np.array([0.0, 5e3, 1e5, 2.728e6]))
    assert water[0] == pytest.approx(980.0)
    assert 300.0 < water[1] < 800.0
    assert water[2] < 5.0
    assert water[3] == pytest.approx(1.0, abs=0.01)


def test_points_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="increase strictly towards saturation"):
        TabulatedRetention((0.0, 1e3, 1e9), (10.0, 12.0, 0.0))
    with pytest.raises(ValueError, match="start at 0"):
        TabulatedRetention((1.0, 1e3), (10.0, 2.0))
