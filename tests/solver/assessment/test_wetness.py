"""Wetness, frost and the plain statistics of a series, against counts made by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.assessment import series_statistics, wetness

SINE = -1.0 + 3.0 * np.sin(2.0 * np.pi * np.arange(240) / 24.0)
START = np.datetime64("2001-01-01T00:00", "m")


def clock(hours, step=1):
    return START + np.arange(hours) * np.timedelta64(60 * step, "m")


def test_time_of_wetness():
    temperature = np.array([5.0, -1.0, 5.0, 5.0])
    humidity = np.array([0.9, 0.9, 0.8, 0.81])
    assert wetness.wet(temperature, humidity).tolist() == [True, False, False, True]
    assert wetness.time_of_wetness(temperature, humidity) == 4380.0
    two = wetness.time_of_wetness(temperature[:, None], np.column_stack([humidity, 0.5 * humidity]))
    np.testing.assert_allclose(two, [4380.0, 0.0])


@pytest.mark.parametrize(
    ("hours", "tau"), [(0, 1), (10, 1), (11, 2), (250, 2), (2500, 3), (2501, 4), (5500, 4), (8760, 5)]
)
def test_wetness_class(hours, tau):
    assert wetness.wetness_class(hours) == tau


def test_dew_point_hours():
    condition = wetness.at_dew_point([0.98, 0.99, 1.0])
    assert series_statistics.hours(condition, step=0.5) == 1.0


def test_frost_of_a_daily_sine():
    # T = -1 + 3 sin(2 pi t / 24 h), ten days from below zero
    assert wetness.downward_crossings(SINE) == 10
    assert wetness.frost_cycles(SINE) == 9
    assert series_statistics.hours(SINE < 0.0) == 150
    assert series_statistics.hours(SINE < -2.0) == 90


def test_frost_thresholds_make_a_hysteresis():
    wobble = np.array([3.0, -0.5, 0.5, -0.5, 0.5, -3.0, 0.5, -3.0, 3.0])
    assert wetness.frost_cycles(wobble) == 4
    assert wetness.frost_cycles(wobble, freeze=-2.0, thaw=2.0) == 1
    with pytest.raises(ValueError, match="freeze must not be above"):
        wetness.frost_cycles(wobble, freeze=1.0, thaw=0.0)


def test_frost_counts_only_in_full_pores():
    filled = np.where(np.arange(240) < 120, 0.5, 0.95)
    # frozen each day from hour 11 to hour 1 of the next: the frost of hours 107 to 121 ends with full pores
    assert wetness.frost_cycles(SINE, saturation=filled, critical=0.91) == 5
    assert wetness.frost_cycles(SINE, saturation=filled, critical=0.4) == 9
    both = wetness.frost_cycles(np.column_stack([SINE, SINE + 9.0]))
    assert both.tolist() == [9, 0]


def test_drying_time():
    water = [9.0, 4.0, 6.0, 5.0, 3.0]
    assert wetness.drying_time(water, 5.0) == 4.0
    assert wetness.drying_time(water, 5.0, lasting=False) == 2.0
    assert wetness.drying_time(water, 9.0, step=2.0) == 2.0
    assert np.isnan(wetness.drying_time(water, 2.0))
    assert np.isnan(wetness.drying_time(water, 2.0, lasting=False))


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=80), st.integers(1, 90))
def test_running_mean_is_the_mean_of_the_window(values, window):
    series = np.array(values)
    mean = series_statistics.running_mean(series, window)
    for k, value in enumerate(mean):
        if k + 1 < window:
            assert np.isnan(value)
        else:
            assert value == pytest.approx(series[k + 1 - window : k + 1].mean(), abs=1e-12)


@given(st.lists(st.booleans(), min_size=1, max_size=60))
def test_longest_spell_by_splitting(flags):
    text = "".join("x" if flag else " " for flag in flags)
    spell = series_statistics.longest_spell(np.array(flags))
    runs = text.split()
    assert spell.length == max(map(len, runs), default=0)
    assert text.find("x" * spell.length) == spell.start


def test_monthly_mean_of_complete_months():
    time = clock((31 + 28 + 10) * 24)
    humidity = np.where(time < np.datetime64("2001-02-01"), 0.6, 0.9)
    mean = series_statistics.monthly_mean(time, humidity)
    at = np.flatnonzero(~np.isnan(mean))
    assert at.tolist() == [31 * 24 - 1, (31 + 28) * 24 - 1]
    np.testing.assert_allclose(mean[at], [0.6, 0.9])


def test_extremes_carry_their_dates():
    series = np.array([2.0, np.nan, 7.0, 7.0, 1.0])
    time = clock(5)
    assert series_statistics.maximum(time, series) == (7.0, time[2])
    assert series_statistics.minimum(time, series) == (1.0, time[4])


def test_step_must_be_constant():
    assert series_statistics.step_hours(clock(4, step=3)) == 3.0
    with pytest.raises(ValueError, match="constant"):
        series_statistics.step_hours(np.delete(clock(5), 2))
