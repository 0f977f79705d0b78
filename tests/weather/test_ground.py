"""Annual ground wave against worked values, and recovery of a known wave from hourly temperatures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.weather.ground import GroundWave, fit_ground_wave
from stemwall.weather.year import WeatherYear

DAYS = (20, 110, 202, 320)
WORKED = {
    0.0: (1.0000, 11.7633, 22.9996, 7.1968),
    0.5: (3.2525, 9.9711, 20.7314, 9.8367),
    1.0: (5.3519, 8.9293, 18.6227, 11.7315),
    2.0: (8.7616, 8.3916, 15.2078, 13.7703),
    5.0: (12.6670, 10.8044, 11.3226, 13.3800),
    10.0: (12.0927, 12.1487, 11.9086, 11.9085),
}
"""°C by depth [m] and day; Kusuda and Achenbach's equation for T_m 12, A 11, d_0 20, a 0.05 m²/d, worked
outside this package and equal to the exact solution for a sinusoidal surface (Carslaw and Jaeger 1959,
section 2.6)."""


@pytest.mark.parametrize(("depth", "expected"), WORKED.items())
def test_worked_values(depth: float, expected: tuple[float, ...]) -> None:
    wave = GroundWave(12.0, 11.0, 20.0)
    np.testing.assert_allclose(wave.temperature(depth, DAYS), expected, atol=6e-5)


@given(st.floats(-5, 25), st.floats(0.5, 20), st.floats(0, 364.9))
def test_fit_recovers_a_wave(mean: float, amplitude: float, coldest: float) -> None:
    day = (np.arange(8760) + 0.5) / 24
    surface = GroundWave(mean, amplitude, coldest).temperature(0.0, day)
    found = fit_ground_wave(day, surface)
    assert found.mean == pytest.approx(mean, abs=1e-9)
    assert found.amplitude == pytest.approx(amplitude, abs=1e-9)
    assert abs((found.coldest_day - coldest + 182.5) % 365 - 182.5) < 1e-6


def test_daily_cycle_does_not_disturb_the_fit(clear_year: WeatherYear) -> None:
    """The artificial year has its minimum at the start of day 20, amplitude 10 K, mean 10 °C."""
    wave = clear_year.ground_wave()
    assert wave.mean == pytest.approx(10.0, abs=1e-6)
    assert wave.amplitude == pytest.approx(10.0, abs=1e-6)
    assert wave.coldest_day == pytest.approx(20.0, abs=1e-6)


def test_soil_without_diffusivity_is_refused() -> None:
    with pytest.raises(ValueError, match="diffusivity 0"):
        GroundWave(10.0, 8.0, 20.0, 0.0)
