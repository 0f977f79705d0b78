"""Constants and functions of water against published and independently computed values."""

import numpy as np
import pytest

from stemwall.materials import water


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [
        (-20.0, 102.740),
        (-10.0, 259.333),
        (0.0, 610.500),
        (10.0, 1227.310),
        (20.0, 2336.951),
        (40.0, 7370.928),
    ],
)
def test_saturation_pressure_of_iso_13788(temperature: float, expected: float) -> None:
    assert float(water.saturation_pressure(temperature)) == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("humidity", "suction"),
    [
        (0.3, 1.6288e8),
        (0.5, 9.3775e7),
        (0.8, 3.0189e7),
        (0.95, 6.9394e6),
        (0.99, 1.3597e6),
        (0.999, 1.3536e5),
    ],
)
def test_kelvin_relation_both_ways(humidity: float, suction: float) -> None:
    assert float(water.suction_from_humidity(humidity)) == pytest.approx(suction, rel=1e-4)
    assert float(water.humidity_from_suction(suction)) == pytest.approx(humidity, rel=1e-4)


def test_kelvin_relation_with_the_density_at_20_degrees() -> None:
    """The soil-physics values 2.728 and 93.61 MPa are for 998.2 kg/m3 instead of 1000."""
    suction = water.suction_from_humidity(np.array([0.98, 0.50])) * 998.2 / water.WATER_DENSITY
    np.testing.assert_allclose(suction, [2.728e6, 93.61e6], rtol=2e-4)


def test_dry_is_one_gigapascal() -> None:
    assert float(water.suction_from_humidity(0.0)) == water.DRY_SUCTION


@pytest.mark.parametrize(
    ("temperature", "expected"), [(0.0, 185.7e-12), (10.0, 191.2e-12), (20.0, 196.6e-12), (23.0, 198.3e-12)]
)
def test_still_air_permeability(temperature: float, expected: float) -> None:
    assert float(water.still_air_permeability(temperature)) == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize(("perms", "sd"), [(1.0, 3.451), (0.06, 57.5)])
def test_perm_to_equivalent_air_layer(perms: float, sd: float) -> None:
    """1 perm at 23 degC is 57.4525e-12 kg/(s m2 Pa)."""
    assert float(water.still_air_permeability(23.0)) / (perms * 57.4525e-12) == pytest.approx(sd, rel=1e-3)


def test_viscosity_against_iapws() -> None:
    iapws = pytest.importorskip("iapws")
    temperatures = np.array([0.01, 10.0, 20.0, 40.0, 60.0, 90.0])
    expected = [iapws.IAPWS97(T=t + 273.15, P=0.101325).mu for t in temperatures]
    np.testing.assert_allclose(water.viscosity(temperatures), expected, rtol=0.025)


def test_fluidity_is_held_below_freezing() -> None:
    ratio = water.fluidity_ratio(np.array([-10.0, 0.0, 20.0]))
    assert ratio[2] == 1.0
    assert ratio[0] == ratio[1] == pytest.approx(1.002 / 1.792, rel=0.03)
