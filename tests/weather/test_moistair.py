"""Saturation pressure, dew point and vapour film against worked values and an independent implementation."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.weather.moistair import (
    air_density,
    dew_point,
    dew_point_over_water,
    relative_humidity,
    saturation_pressure,
    saturation_pressure_over_water,
    vapour_film_coefficient,
    vapour_pressure,
)

ISO_13788 = {
    -20: 102.740,
    -10: 259.333,
    0: 610.500,
    5: 871.865,
    10: 1227.310,
    15: 1704.407,
    20: 2336.951,
    25: 3165.920,
    30: 4240.505,
    40: 7370.928,
}
"""Pa; computed from the equation of ISO 13788:2012, Annex E, outside this package."""


@pytest.mark.parametrize(("temperature", "pressure"), ISO_13788.items())
def test_saturation_pressure(temperature: float, pressure: float) -> None:
    assert float(saturation_pressure(temperature)) == pytest.approx(pressure, abs=6e-4)


@pytest.mark.parametrize(("temperature", "tolerance"), [(-20, 5.5e-3), (-5, 2.5e-3), (5, 1.7e-3), (30, 1.7e-3)])
def test_saturation_pressure_near_hyland_wexler(temperature: float, tolerance: float) -> None:
    """Two correlations agree within 0.17 % above freezing and 0.5 % at -20 °C."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    other = psychrolib.GetSatVapPres(float(temperature))
    assert float(saturation_pressure(temperature)) == pytest.approx(other, rel=tolerance)


@pytest.mark.parametrize(
    ("temperature", "humidity", "expected"), [(20, 0.5, 9.26903), (20, 0.8, 16.44486), (10, 0.9, 8.43754)]
)
def test_dew_point(temperature: float, humidity: float, expected: float) -> None:
    """ISO 13788 equation inverted by hand."""
    assert float(dew_point(vapour_pressure(temperature, humidity))) == pytest.approx(expected, abs=6e-6)


@given(st.floats(-50, 80))
def test_dew_point_inverts_saturation(temperature: float) -> None:
    assert float(dew_point(saturation_pressure(temperature))) == pytest.approx(temperature, abs=1e-9)
    over_water = saturation_pressure_over_water(temperature)
    assert float(dew_point_over_water(over_water)) == pytest.approx(temperature, abs=1e-9)


@given(st.floats(-50, 60), st.floats(0.01, 1.0))
def test_relative_humidity_round_trip(temperature: float, humidity: float) -> None:
    assert float(relative_humidity(temperature, vapour_pressure(temperature, humidity))) == pytest.approx(humidity)


def test_saturation_is_smooth_at_freezing_and_ice_lies_below_water() -> None:
    assert float(saturation_pressure(-1e-9)) == pytest.approx(float(saturation_pressure(0.0)), rel=1e-9)
    cold = np.array([-30.0, -10.0, -1.0])
    assert np.all(saturation_pressure(cold) < saturation_pressure_over_water(cold))


def test_dew_point_of_dry_air_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0 Pa"):
        dew_point([1000.0, 0.0])


@pytest.mark.parametrize(
    ("convection", "lewis", "expected"),
    [
        (2.5, 1.0, 1.5259e-8),
        (8.0, 1.0, 4.8829e-8),
        (25.0, 1.0, 1.5259e-7),
        (2.5, 0.87, 1.67435e-8),
        (8.0, 0.87, 5.35791e-8),
        (25.0, 0.87, 1.67435e-7),
    ],
)
def test_vapour_film(convection: float, lewis: float, expected: float) -> None:
    """Lewis relation worked by hand for rho_a 1.205, c_p 1005, 20 °C; five digits are given."""
    assert float(vapour_film_coefficient(convection, lewis=lewis)) == pytest.approx(expected, rel=3e-5)


def test_air_density() -> None:
    """Ideal gas at 20 °C, 101 325 Pa: 1.204 kg/m³."""
    assert float(air_density(20.0)) == pytest.approx(1.2041, abs=1e-4)
