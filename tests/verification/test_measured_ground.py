"""What holds of the measured ground beside what is known not to, and the fit of a yearly wave."""

import numpy as np
import pytest

from stemwall.cases.verification.measured.ground import PLACES, conduction, excess_over_air, harmonic, soil_temperatures


def test_a_wave_is_found_with_days_missing():
    day = np.arange(366) + 0.5
    daily = 10.0 + 8.0 * np.cos(2.0 * np.pi * (day - 210.0) / 365.25)
    daily[[5, 100, 101, 300]] = np.nan
    assert harmonic(daily) == pytest.approx((10.0, 8.0, 210.0))


def test_durham_misses_by_its_mean_alone():
    found = {c.name: c for c in soil_temperatures("durham_nc")}
    assert found["Wave"].holds
    assert found["Lag"].holds
    assert found["Mean"].error < 1.5


def test_conduction_damps_as_measured():
    amplitude, lag = conduction()
    assert amplitude.holds
    assert lag.error < 8.0


@pytest.mark.slow
def test_no_station_is_colder_than_its_air_or_far_from_what_was_measured():
    found = {c.name: c for c in excess_over_air()}
    assert found["Not colder than the air"].holds
    assert found["Not more than 4 K warmer"].holds
    assert found["Each"].error < 1.5
    for station, _, _ in PLACES:
        mean, wave, lag = soil_temperatures(station)
        assert mean.error < 1.5
        assert wave.error < 0.25
        assert lag.error < 14.0
