"""Sky radiation against worked values of the published equations, and its limits."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.weather.moistair import dew_point, vapour_pressure
from stemwall.weather.sky import (
    black_body,
    clear_sky_emissivity,
    cloudy_sky_emissivity,
    incoming_longwave,
    sky_longwave,
    sky_temperature,
    sky_view_factor,
    swinbank_sky_temperature,
)

WORKED = [
    (0, 0.8, -2.6810, 0.69651, -23.6140, 0.73795, -23.954),
    (10, 0.7, 4.7892, 0.73949, -10.5769, 0.78349, -10.145),
    (20, 0.6, 12.0039, 0.78874, 3.1135, 0.83567, 3.910),
    (30, 0.5, 18.4374, 0.83907, 16.9893, 0.88899, 18.207),
]
"""Air °C, RH, dew point °C, clear emissivity, sky °C, emissivity at 5 tenths, Swinbank °C; worked outside
this package."""


@pytest.mark.parametrize(("air", "humidity", "dew", "clear", "sky", "cloudy", "swinbank"), WORKED)
def test_worked_values(
    air: float, humidity: float, dew: float, clear: float, sky: float, cloudy: float, swinbank: float
) -> None:
    found = float(dew_point(vapour_pressure(air, humidity)))
    assert found == pytest.approx(dew, abs=6e-5)
    emissivity = clear_sky_emissivity(found)
    assert float(emissivity) == pytest.approx(clear, abs=6e-6)
    assert float(sky_temperature(air, emissivity)) == pytest.approx(sky, abs=6e-4)
    assert float(cloudy_sky_emissivity(emissivity, 5)) == pytest.approx(cloudy, abs=6e-6)
    assert float(swinbank_sky_temperature(air)) == pytest.approx(swinbank, abs=6e-4)


def test_more_cloud_never_cools_and_never_exceeds_a_black_body() -> None:
    load = sky_longwave(15.0, 14.0, np.arange(11.0))
    assert np.all(np.diff(load) > 0)
    assert float(load[-1]) <= float(black_body(15.0))
    assert float(cloudy_sky_emissivity(0.95, 10)) == 1.0


@pytest.mark.parametrize(
    ("tilt", "obstruction", "expected"),
    [(0, 0, 1.0), (90, 0, 0.5), (180, 0, 0.0), (90, 30, 0.25), (90, 90, 0.0), (180, 45, 0.0)],
)
def test_view_factor(tilt: float, obstruction: float, expected: float) -> None:
    assert sky_view_factor(tilt, obstruction) == pytest.approx(expected, abs=1e-12)


def test_surroundings_as_warm_as_the_sky_hide_the_tilt() -> None:
    sky = black_body(7.0)
    assert float(incoming_longwave(sky, 7.0, 90.0)) == pytest.approx(float(sky))
    assert float(incoming_longwave(200.0, 7.0, 90.0)) == pytest.approx(100.0 + float(sky) / 2)


def test_house_behind_level_ground_takes_half_the_sky() -> None:
    """Ground between an open horizon and a wall that fills the other side sees half the sky; both sides add."""
    assert sky_view_factor(0.0, 0.0, 90.0) == pytest.approx(0.5)
    assert sky_view_factor(0.0, 60.0, 90.0) == pytest.approx(0.25)
    assert sky_view_factor(0.0, 60.0, 60.0) == pytest.approx(0.5)
    assert sky_view_factor(90.0, 0.0, 80.0) == sky_view_factor(90.0)
    assert float(incoming_longwave(300.0, 10.0, 0.0, 0.0, 90.0)) == pytest.approx(150 + float(black_body(10.0)) / 2)
