"""References of air, sun and assessment against numbers computed or published elsewhere; and that a slip shows."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from stemwall.cases.verification.assessment import mould as assessment_mould
from stemwall.cases.verification.assessment import mould_spells, wood
from stemwall.cases.verification.assessment.mould import CLASSES, Growth
from stemwall.cases.verification.weather import air_properties, climate_loads, sun
from stemwall.solver.assessment import mould


@pytest.mark.parametrize(
    ("t", "percent", "code", "expected"),
    [
        # closed form of the growth equation, computed for the dossier of these cases: 4, 12, 26, 52 weeks
        (20.0, 90.0, "VS", (0.9516, 3.9184, 3.9950, 3.9950)),
        (20.0, 97.0, "S", (1.3728, 3.4291, 4.6746, 4.6762)),
        (10.0, 97.0, "MR", (0.1210, 0.3630, 0.7856, 1.7511)),
        (20.0, 100.0, "R", (0.1343, 0.4009, 0.8552, 1.2649)),
    ],
)
def test_growth_at_constant_conditions(t, percent, code, expected):
    found = Growth.of(CLASSES[code], t, percent).after([28.0, 84.0, 182.0, 364.0])
    np.testing.assert_allclose(found, expected, atol=6e-5)


def test_growth_in_the_original_model():
    found = Growth.of(CLASSES["VS"], 20.0, 90.0, original=True).after([28.0, 84.0, 182.0])
    np.testing.assert_allclose(found, [0.9516, 3.9787, 3.9950], atol=6e-5)


def test_times_by_quadrature():
    growth = Growth.of(CLASSES["S"], 20.0, 97.0)
    to_1 = growth.days_between(0.0, 1.0)
    np.testing.assert_allclose([to_1 / 7, (to_1 + growth.days_between(1.0, 3.0)) / 7], [2.5669, 10.2889], atol=6e-5)


def test_a_slip_in_a_class_constant_shows(monkeypatch):
    slipped = replace(mould.CLASSES["sensitive"], k1_later=0.39)  # 1 % off
    monkeypatch.setitem(mould.CLASSES, "sensitive", slipped)
    missed = [c.name for c in assessment_mould.constant() if not c.holds]
    assert missed
    assert all(": sensitive" in name for name in missed)
    assert any(not c.holds for c in mould_spells.weather())


def test_decay_constants():
    # dossier of these cases
    assert wood.critical(20.0, 97.0) == pytest.approx(574.99, abs=5e-3)
    assert wood.rate(10.0, 95.0) == pytest.approx(0.001735, abs=5e-7)


def test_both_forms_of_the_moisture_of_wood_meet_the_entries_read():
    # Wood Handbook 2021, table 4-2, read in a secondary copy
    for fahrenheit, humidity, expected in ((70, 0.5, 9.2), (70, 0.95, 23.9), (30, 0.75, 14.9), (100, 0.9, 19.5)):
        found = wood.moisture_in_fahrenheit(fahrenheit, np.array(humidity))
        assert found == pytest.approx(expected, abs=0.051)
        row = wood.TABLE[fahrenheit].split()
        assert float(row[round(100 * humidity) // 5 - 1]) == expected


@pytest.mark.parametrize(("t", "ice"), [(-20.0, 103.239), (-10.0, 259.874)])
def test_ice_against_the_sublimation_curve(t, ice):
    # IAPWS R14-08, computed for the dossier of these cases
    assert float(air_properties.over_ice(np.array(t))) == pytest.approx(ice, rel=3e-4)


@pytest.mark.parametrize(("t", "water"), [(5.0, 872.575), (20.0, 2339.215), (40.0, 7384.427)])
def test_water_against_if97(t, water):
    assert float(air_properties.over_water(np.array(t))) == pytest.approx(water, rel=3e-4)


def test_water_and_ice_meet_at_the_triple_point():
    # 611.657 Pa at 273.16 K
    both = [float(f(np.array(0.01))) for f in (air_properties.over_water, air_properties.over_ice)]
    np.testing.assert_allclose(both, 611.657, rtol=2e-5)


def test_sun_over_greenwich_at_an_equinox():
    # equinox of March 2001 at 13:31 UTC: declination zero, so noon stands at 90 less the latitude
    elevation, azimuth = sun.sun_by_almanac(datetime(2001, 3, 20, 12, 7, 30), 51.48, 0.0)
    assert elevation == pytest.approx(90.0 - 51.48, abs=0.03)
    assert azimuth == pytest.approx(180.0, abs=0.1)


def test_driving_rain_of_the_dossier():
    rain = {c.name: c for c in climate_loads.driving_rain() if c.quantity.startswith("airfield")}
    assert rain["5 m/s, 2 mm/h"].expected[[0, 4]] == pytest.approx([2.05750, 1.02875], abs=1e-5)


def test_a_missing_library_says_so():
    with pytest.raises(air_properties.NotRun, match="no_such_library is not installed"):
        air_properties.library("no_such_library")
