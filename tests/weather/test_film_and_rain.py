"""Surface films and driving rain against the worked values of the standards' equations."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.weather.film import indoor_convection, indoor_film, outdoor_convection, radiative_coefficient
from stemwall.weather.rain import (
    airfield_driving_rain,
    roof_spill,
    strip_water,
    terrain_roughness_coefficient,
    wall_rain_ashrae,
    wall_rain_iso,
)


@pytest.mark.parametrize(
    ("wind", "rain", "angle", "expected"),
    [(5, 2, 0, 2.05750), (5, 2, 60, 1.02875), (10, 1, 0, 2.22222), (3, 0.5, 30, 0.31179)],
)
def test_airfield_driving_rain(wind: float, rain: float, angle: float, expected: float) -> None:
    """(2/9) v r^(8/9) cos, worked by hand; the wall may face any way and the wind come from either side."""
    for wall in (0.0, 135.0, 350.0):
        for direction in (wall + angle, wall - angle):
            assert float(airfield_driving_rain(wind, direction, rain, wall)) == pytest.approx(expected, abs=6e-6)


@pytest.mark.parametrize("direction", [90, 180, 270])
def test_rain_from_beside_or_behind_stays_off_the_wall(direction: float) -> None:
    assert float(airfield_driving_rain(10.0, direction, 5.0, 0.0)) == 0.0
    assert float(wall_rain_ashrae(10.0, direction, 5.0, 0.0)) == 0.0


@pytest.mark.parametrize(
    ("category", "at_6", "at_10"),
    [("I", 1.08748, 1.17432), ("II", 0.90962, 1.00668), ("III", 0.72235, 0.77144), ("IV", 0.66542, 0.66542)],
)
def test_terrain_roughness(category: str, at_6: float, at_10: float) -> None:
    found = terrain_roughness_coefficient([6.0, 10.0], category)  # type: ignore[arg-type]
    np.testing.assert_allclose(found, [at_6, at_10], atol=6e-6)


def test_unknown_terrain_names_the_known_ones() -> None:
    with pytest.raises(ValueError, match="I, II, III, IV"):
        terrain_roughness_coefficient(10.0, "V")  # type: ignore[arg-type]


def test_wall_factors_multiply() -> None:
    found = wall_rain_iso(2.0, roughness=0.8, topography=1.1, obstruction=0.5, wall=0.4)
    assert float(found) == pytest.approx(2.0 * 0.8 * 1.1 * 0.5 * 0.4)


@pytest.mark.parametrize(
    ("wind", "rain", "angle", "expected"), [(5, 2, 0, 2.0), (5, 2, 60, 1.0), (3, 0.5, 30, 0.25981)]
)
def test_ashrae_driving_rain(wind: float, rain: float, angle: float, expected: float) -> None:
    found = wall_rain_ashrae(wind, angle, rain, 0.0, exposure=1.0, deposition=1.0)
    assert float(found) == pytest.approx(expected, abs=6e-6)
    halved = wall_rain_ashrae(wind, angle, rain, 0.0, exposure=1.4, deposition=0.5)
    assert float(halved) == pytest.approx(0.7 * expected, abs=6e-6)


def test_roof_spill() -> None:
    """10 mm on 4 m of roof, 90 % running off, a quarter caught: 27 kg on each metre of eaves."""
    assert float(roof_spill(10.0, depth=4.0, run_off=0.9, led_away=0.25)) == pytest.approx(27.0)
    assert float(roof_spill(10.0, depth=4.0, led_away=1.0)) == 0.0


def test_strip_water_by_hand() -> None:
    """2 mm, half of it drops, and 6 kg/m on 0.5 m: 10 % of 0.5 + 6 kg/m splashes on 0.25 m of wall."""
    found = strip_water(2.0, 1.0, 6.0, width=0.5, height=0.25, splash=0.1)
    assert float(found.wall) == pytest.approx(0.65 / 0.25)
    assert float(found.ground) == pytest.approx((2.0 * 0.5 + 6.0 - 0.65) / 0.5)


@pytest.mark.parametrize("splash", [0.0, 0.2, 1.0])
def test_strip_loses_and_makes_no_water(splash: float) -> None:
    rng = np.random.default_rng(1)
    seeping, spill = rng.uniform(0, 5, 50), rng.uniform(0, 20, 50)
    found = strip_water(seeping, 0.3 * seeping, spill, width=0.6, height=0.3, splash=splash)
    np.testing.assert_allclose(0.6 * found.ground + 0.3 * found.wall, 0.6 * seeping + spill, rtol=1e-12)
    assert (found.ground >= 0).all()


def test_outdoor_film() -> None:
    """ISO 6946: 4 m/s and 10 °C give h_c 20, h_r about 4.6 and R_se 0.04 m² K/W."""
    np.testing.assert_allclose(outdoor_convection([0.0, 4.0]), [4.0, 20.0])
    assert 1 / float(outdoor_convection(4.0) + radiative_coefficient(10.0)) == pytest.approx(0.04, abs=1e-3)


@pytest.mark.parametrize(("heat_flow", "resistance"), [("up", 0.10), ("horizontal", 0.13), ("down", 0.17)])
def test_indoor_film(heat_flow: str, resistance: float) -> None:
    """The surface resistances of ISO 6946 to their two digits."""
    assert round(1 / float(indoor_film(20.0, heat_flow)), 2) == resistance  # type: ignore[arg-type]


def test_film_refuses_nonsense() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        outdoor_convection([-1.0])
    with pytest.raises(ValueError, match="up, horizontal, down"):
        indoor_convection("sideways")  # type: ignore[arg-type]
