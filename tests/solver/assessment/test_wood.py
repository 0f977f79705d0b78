"""Wood moisture against the Wood Handbook's table and its formula."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stemwall.solver.assessment import wood


@pytest.mark.parametrize(
    ("temperature", "humidity", "expected"),
    [
        # Wood Handbook 2021, table 4-2 (read in a secondary copy), one decimal
        (21.1, 0.50, 9.2),
        (21.1, 0.75, 14.4),
        (21.1, 0.95, 23.9),
        (-1.1, 0.75, 14.9),
        (37.8, 0.90, 19.5),
    ],
)
def test_equilibrium_moisture_of_the_handbook_table(temperature, humidity, expected):
    assert wood.equilibrium_moisture_content(temperature, humidity) == pytest.approx(expected, abs=0.051)


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [
        # values of the formula, computed independently
        (20.0, (6.188, 9.271, 11.996, 16.037, 20.531, 23.941)),
        (0.0, (6.316, 9.519, 12.373, 16.533, 21.026, 24.343)),
    ],
)
def test_equilibrium_moisture_of_the_formula(temperature, expected):
    humidity = [0.30, 0.50, 0.65, 0.80, 0.90, 0.95]
    np.testing.assert_allclose(wood.equilibrium_moisture_content(temperature, humidity), expected, atol=6e-4)


@given(st.floats(-1.0, 60.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_equilibrium_moisture_rises_with_humidity(temperature, one, other):
    low, high = wood.equilibrium_moisture_content(temperature, np.sort([one, other]))
    assert 0.0 <= low <= high


def test_moisture_content_of_dry_mass():
    np.testing.assert_allclose(wood.moisture_content([0.0, 43.0, 129.0], 430.0), [0.0, 10.0, 30.0])
    with pytest.raises(ValueError, match="positive"):
        wood.moisture_content([1.0], 0.0)


def test_days_above():
    moisture = np.repeat([15.0, 18.0, 27.0], [24, 48, 12])
    assert [wood.days_above(moisture, line) for line in wood.MOISTURE_LINES] == [2.5, 0.5, 0.5]
    assert wood.days_above(moisture, 15.0, step=2.0) == 5.0
    np.testing.assert_allclose(wood.days_above(np.column_stack([moisture, moisture - 10.0]), 16.0), [2.5, 0.5])
