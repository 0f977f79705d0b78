"""Decay against values of the published equations (recalled, see the module), computed independently."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.assessment import decay as d

TABLE = [
    (5, 0.95, 4483.64, 0.000755),
    (10, 0.95, 2030.40, 0.001735),
    (20, 0.95, 1012.08, 0.003695),
    (20, 0.97, 574.99, 0.004945),
    (20, 1.00, 220.41, 0.006820),
]


@pytest.mark.parametrize(("temperature", "humidity", "critical", "rate"), TABLE)
def test_critical_time_and_rate(temperature, humidity, critical, rate):
    assert d.critical_hours(temperature, humidity) == pytest.approx(critical, abs=5e-3)
    assert d.loss_rate(temperature, humidity) == pytest.approx(rate, abs=5e-7)


@pytest.mark.parametrize(("temperature", "humidity"), [(20, 0.94), (0, 1.0), (-5, 1.0), (0.5, 0.95)])
def test_no_activation_when_dry_or_cold(temperature, humidity):
    assert d.critical_hours(temperature, humidity) == np.inf


@pytest.mark.parametrize(("temperature", "humidity", "critical", "rate"), TABLE)
def test_loss_starts_at_the_critical_time_and_is_steady(temperature, humidity, critical, rate):
    hours = 6000
    activation, mass_loss = d.decay(np.full(hours, float(temperature)), np.full(hours, humidity))
    onset = int(np.flatnonzero(mass_loss > 0.0)[0])
    assert onset == pytest.approx(critical, abs=1.5)
    assert activation[onset] == 1.0
    assert mass_loss[-1] == pytest.approx((hours - onset) * rate, rel=1e-3)


def test_activation_recedes_over_two_years():
    activation = d.decay(np.full(17521, 20.0), np.full(17521, 0.5), initial=1.0).activation
    assert activation[8759] == pytest.approx(0.5)
    assert activation[-1] == 0.0


def test_loss_pauses_while_activation_recovers():
    humidity = np.repeat([1.0, 0.5, 1.0], [300, 1752, 400])
    activation, mass_loss = d.decay(np.full(len(humidity), 20.0), humidity)
    assert activation[300 + 1752 - 1] == pytest.approx(0.9)
    resumed = int(np.flatnonzero(mass_loss > mass_loss[299])[0])
    # one wet hour each for the last loss before and the first after: a tenth of the critical time to catch up
    assert mass_loss[300:resumed].max() <= mass_loss[299] + d.loss_rate(20.0, 0.5)
    assert resumed - (300 + 1752) == pytest.approx(0.1 * 220.41, abs=1.5)


@given(st.lists(st.tuples(st.floats(-20.0, 60.0), st.floats(0.9, 1.0)), min_size=1, max_size=50))
def test_activation_is_a_fraction_and_loss_never_shrinks(rows):
    activation, mass_loss = d.decay(*np.array(rows).T, step=168.0)
    assert ((activation >= 0.0) & (activation <= 1.0)).all()
    assert (np.diff(mass_loss, prepend=0.0) >= 0.0).all()


@given(st.floats(-10.0, 40.0), st.floats(0.9, 1.0), st.floats(0.9, 1.0))
def test_wetter_is_never_better(temperature, one, other):
    drier, wetter = np.sort([one, other])
    assert d.critical_hours(temperature, wetter) <= d.critical_hours(temperature, drier)
    assert d.loss_rate(temperature, wetter) >= d.loss_rate(temperature, drier)
