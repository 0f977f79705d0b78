"""Open ground that has settled: against a wave in a linear soil, against more years, and its form on disk."""

from datetime import datetime

import numpy as np
import pytest

from stemwall.materials.catalogue import catalogue
from stemwall.solver.model.climate import Climate, FacingLoads
from stemwall.solver.model.ground import from_kept_form, kept_form
from stemwall.solver.open_ground import DEPTH, SETTLED, GroundColumn, OpenGround, settle_open_ground
from stemwall.weather.ground import GroundWave

START = datetime(2001, 1, 1)
MEAN, AMPLITUDE, COLDEST = 12.0, 9.0, 20.0


def ground(sun: float = 0.0, guess: float = MEAN) -> OpenGround:
    """Clayey loam in a climate that swings once a year, far from frost and without water that moves."""
    day = (np.arange(8760) + 0.5) / 24.0
    one = np.ones(day.size)
    air = GroundWave(MEAN, AMPLITUDE, COLDEST).temperature(0.0, day)
    up = FacingLoads(
        0.0 * one, 20.0 * one, 0.0 * one, sun * one, 0.0 * one, resistance=1e-6 * one, vapour_resistance=np.inf * one
    )
    climate = Climate("outdoors", air, 0.8 * one, {"up": up})
    soil = catalogue().material("soil_clay_loam")
    return OpenGround(soil, climate, START, -3.0, (1.0, 0.9), GroundWave(guess, AMPLITUDE, COLDEST))


@pytest.fixture(scope="module")
def warmed() -> tuple[OpenGround, object]:
    """Ground that the sun warms by 60 W/m2 over a film of 20 W/(m2 K): 3 K above the air it began from."""
    given = ground(sun=60.0)
    return given, settle_open_ground(given)


def test_the_mean_is_that_of_the_surface_at_every_depth(warmed) -> None:
    _, profile = warmed
    np.testing.assert_allclose(profile.mean, MEAN + 3.0, atol=0.05)
    assert profile.surface.mean == pytest.approx(MEAN + 3.0, abs=0.02)
    assert profile.left < SETTLED


def test_the_wave_is_damped_as_in_a_linear_soil(warmed) -> None:
    """Conductivity changes with moisture, so within 10 %; a film of 20 W/(m2 K) damps the surface by some 8 %."""
    _, profile = warmed
    wave = GroundWave(0.0, 1.0, 0.0, profile.diffusivity)
    for depth in (0.5, 1.0, 2.0, 4.0):
        parts = (np.interp(depth, profile.depth, part) for part in (profile.wave.real, profile.wave.imag))
        share = np.hypot(*parts)
        assert share / profile.surface.amplitude == pytest.approx(np.exp(-depth / wave.damping_depth), rel=0.10)
    assert 0.85 * AMPLITUDE < profile.surface.amplitude < AMPLITUDE
    assert COLDEST < profile.surface.coldest_day < COLDEST + 8.0


def test_another_year_changes_nothing(warmed) -> None:
    given, profile = warmed
    column = GroundColumn(given)
    column.begin_from(profile)
    before = column.temperature
    mean, _ = column.march_year()
    np.testing.assert_allclose(column.temperature, before, atol=0.1)
    np.testing.assert_allclose(mean, profile.mean, atol=0.1)


def test_a_guess_3_k_off_ends_at_the_same(warmed) -> None:
    _, profile = warmed
    other = settle_open_ground(ground(sun=60.0, guess=MEAN + 6.0))
    np.testing.assert_allclose(other.mean, profile.mean, atol=0.1)


def test_below_the_column_the_wave_goes_on(warmed) -> None:
    _, profile = warmed
    day = np.arange(0.0, 365.0, 5.0)
    above, below = (np.ptp(profile.temperature(depth, day)) for depth in (DEPTH, DEPTH + 3.0))
    assert below < 0.5 * above
    assert profile.temperature(DEPTH + 30.0, 50.0) == pytest.approx(profile.mean[-1], abs=1e-3)
    assert profile.at_start(DEPTH + 30.0, 0.0)[0] == pytest.approx(profile.mean[-1], abs=1e-3)


def test_suction_at_the_start_ends_at_the_water_table(warmed) -> None:
    _, profile = warmed
    suction = profile.at_start(np.array([1.0, 3.0, 5.0]), 0.0)[1]
    assert suction[0] > 5e3
    np.testing.assert_allclose(suction[1:], 9810.0 * np.array([0.0, -2.0]), atol=1500.0)


def test_it_comes_back_from_its_kept_form(warmed) -> None:
    _, profile = warmed
    again = from_kept_form(*kept_form(profile))
    day = np.arange(0.0, 365.0, 30.0)
    np.testing.assert_array_equal(again.temperature(2.0, day), profile.temperature(2.0, day))
    assert (again.years, again.left) == (profile.years, profile.left)
