"""Thermal conductivity and heat capacity against published and worked values."""

import numpy as np
import pytest

from stemwall.materials.thermal import (
    MoistConductivity,
    SoilConductivity,
    TabulatedConductivity,
    TemperatureFactor,
    WoodConductivity,
    solids_conductivity,
)


def test_wood_handbook_conductivity() -> None:
    """G 0.42 at 12 % moisture content: 0.1206 W/(m K)."""
    wood = WoodConductivity(420.0).conductivity(np.array([0.12 * 420.0]))
    assert float(wood[0]) == pytest.approx(0.1206, abs=5e-5)


def test_sand_conductivity_over_saturation() -> None:
    """Quartz 0.92, n 0.43, kappa 3.55: 1.233, 1.895 and 2.364 W/(m K) at S 0.2, 0.5 and 1."""
    sand = SoilConductivity(0.43, solids_conductivity(0.92), 0.75, 1.2, 3.55)
    value = sand.conductivity(430.0 * np.array([0.2, 0.5, 1.0]))
    np.testing.assert_allclose(value, [1.233, 1.895, 2.364], atol=1e-3)


def test_loam_saturated_and_dry() -> None:
    loam = SoilConductivity(0.43, solids_conductivity(0.40), 0.75, 1.2, 1.90)
    assert loam.saturated == pytest.approx(1.59, abs=5e-3)
    assert loam.dry == pytest.approx(0.229, abs=5e-4)


@pytest.mark.parametrize(
    ("kind", "factor", "growth"), [("exponential-volume", 10.0, 2.718), ("linear-mass", 15.0, 1.882)]
)
def test_supplements_of_brick_at_ten_per_cent_volume(kind: str, factor: float, growth: float) -> None:
    brick = MoistConductivity(0.6, kind, factor, 1700.0, solids=3.5, porosity=0.36)  # type: ignore[arg-type]
    assert float(brick.conductivity(np.array([100.0]))[0]) == pytest.approx(0.6 * growth, rel=1e-3)


def test_wet_foam_does_not_exceed_water_in_parallel() -> None:
    foam = MoistConductivity(0.0245, "exponential-volume", 6.0, 32.0, porosity=0.97)
    value = foam.conductivity(np.array([0.0, 970.0]))
    np.testing.assert_allclose(value, [0.0245, 0.0245 + 0.97 * 0.575], rtol=1e-9)


def test_supplement_goes_on_in_parallel_beyond_its_limit() -> None:
    """Aerated concrete, exp(4 u) up to u 0.25: 0.12 e = 0.326 there, and 0.165 m3/m3 more water adds 0.095."""
    aerated = MoistConductivity(0.12, "exponential-mass", 4.0, 500.0, 3.5, 0.8, limit=0.25)
    np.testing.assert_allclose(aerated.conductivity(np.array([125.0, 290.0])), [0.3262, 0.4211], atol=1e-4)


def test_flooded_fibres_conduct_no_less_than_water_and_fibres_in_series() -> None:
    wool = MoistConductivity(0.0355, "exponential-volume", 4.0, 128.0, 1.0, 0.95, limit=0.15)
    assert float(wool.conductivity(np.array([950.0]))[0]) == pytest.approx(1.0 / (0.05 / 1.0 + 0.95 / 0.6))


def test_water_of_wet_service_raises_conductivity_from_the_start() -> None:
    foam = MoistConductivity(0.0288, "exponential-volume", 2.5, 25.0, porosity=0.97, limit=0.1, service_water=50.0)
    assert float(foam.conductivity(np.array([0.0]))[0]) == pytest.approx(0.0288 * np.exp(0.125))


def test_measured_concrete_points() -> None:
    points = TabulatedConductivity((0.0, 22.0, 44.0), (1.16, 1.89, 2.24))
    np.testing.assert_allclose(points.conductivity(np.array([0.0, 22.0, 99.0])), [1.16, 1.89, 2.24])


def test_temperature_factor_from_a_slope() -> None:
    """EPS type I: 0.0375 W/(m K) at 24 degC and 1.56e-4 W/(m K2) give 0.0346 at 4.4 degC."""
    factor = TemperatureFactor.linear(1.56e-4, 0.0375, 23.9).factor(np.array([23.9, 4.4, -3.9]))
    np.testing.assert_allclose(0.0375 * factor, [0.0375, 0.0346, 0.0332], atol=1.5e-4)
    np.testing.assert_allclose(TemperatureFactor().factor(np.array([-20.0, 30.0])), 1.0)
