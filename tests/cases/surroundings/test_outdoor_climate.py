"""Outdoor climates: water is neither lost nor made, and each setting acts in its direction."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
import pytest

from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.cases.surroundings.outdoor_climate import outdoors
from stemwall.cases.surroundings.site import Site
from stemwall.cases.surroundings.site_notes import notes
from stemwall.materials.water import AIR_PERMEABILITY
from stemwall.solver.model.climate import Climate, Facing
from stemwall.weather.read import read_weather
from stemwall.weather.snow import snow_conductivity
from stemwall.weather.year import WeatherYear

START, HOURS = datetime(2001, 10, 1), 8760


@pytest.fixture(scope="module")
def year() -> WeatherYear:
    """The embedded year, 8 K colder, so that snow lies; without a measured depth."""
    found = read_weather("default")
    return replace(found, temperature=found.temperature - 8.0, snow_depth=None)


def site(**table: Any) -> Site:
    return Site.model_validate(table)


def climates(year: WeatherYear, **table: Any) -> dict[str, Climate]:
    return outdoors(year, site(**table), START, HOURS)


def total(climate: Climate, facing: Facing) -> float:
    """Water of a whole year [kg/m2]."""
    return float(climate.facings[facing].rain.sum() * 3600)


def annual(year: WeatherYear) -> float:
    assert year.rain is not None
    return float(year.rain.sum())


def test_without_settings_the_strip_is_as_the_rest(year: WeatherYear) -> None:
    made = climates(year)
    for facing, loads in made[OUTDOORS].facings.items():
        other = made[BESIDE].facings[facing]
        np.testing.assert_array_equal(other.rain, loads.rain)
        np.testing.assert_array_equal(other.solar, loads.solar)
        np.testing.assert_array_equal(other.longwave, loads.longwave)


def test_snow_keeps_the_water_of_the_year_and_delays_it(year: WeatherYear) -> None:
    snow, none = climates(year)[OUTDOORS], climates(year, snow=False)[OUTDOORS]
    assert total(none, "up") == pytest.approx(annual(year))
    assert total(snow, "up") == pytest.approx(annual(year), rel=1e-9)
    frost = year.temperature[year.hour_index(HOURS, START)] < 0
    assert snow.facings["up"].rain[frost].sum() == 0
    assert none.facings["up"].rain[frost].sum() > 0
    # snow does not drive onto the wall
    assert 0 < total(snow, "left") < total(none, "left")


def test_snow_shields_the_ground(year: WeatherYear) -> None:
    snow, none = climates(year)[OUTDOORS].facings["up"], climates(year, snow=False)[OUTDOORS].facings["up"]
    assert snow.resistance is not None
    assert none.resistance is not None
    assert none.resistance.max() == 0
    lies = snow.resistance > 0
    assert 0.02 < lies.mean() < 0.8
    # the same sun arrives; what deep snow hides takes in 1 - 0.7 of it, whatever the ground below absorbs
    np.testing.assert_array_equal(snow.solar, none.solar)
    assert snow.hidden is not None
    assert none.hidden is not None
    assert none.hidden.max() == 0
    assert snow.hidden.max() == 1
    np.testing.assert_array_equal(snow.hidden > 0, lies)
    assert snow.hidden_absorptance == pytest.approx(0.3)
    assert snow.vapour_resistance is not None
    np.testing.assert_array_equal(np.isinf(snow.vapour_resistance), lies)


def test_snow_brightens_the_wall(year: WeatherYear) -> None:
    snow, none = climates(year)[OUTDOORS].facings["left"], climates(year, snow=False)[OUTDOORS].facings["left"]
    assert (snow.solar >= none.solar - 1e-9).all()
    assert snow.solar.sum() > none.solar.sum()


def test_measured_depth_comes_first_and_water_follows_the_model(year: WeatherYear) -> None:
    deep = replace(year, snow_depth=np.full(year.hours, 0.5))
    made, modelled = climates(deep)[OUTDOORS].facings["up"], climates(year)[OUTDOORS].facings["up"]
    assert made.resistance is not None
    assert made.resistance.max() <= 0.5 / float(snow_conductivity(100.0))
    assert made.resistance.min() >= 0.5 / float(snow_conductivity(300.0)) - 1e-12
    np.testing.assert_array_equal(made.rain, modelled.rain)


def test_snow_of_the_start_is_that_of_a_year_before(year: WeatherYear) -> None:
    """A run from mid-winter begins on snow, and ends on the same after a year."""
    made = outdoors(year, site(), datetime(2001, 1, 25), HOURS)[OUTDOORS].facings["up"].resistance
    autumn = climates(year)[OUTDOORS].facings["up"].resistance
    assert made is not None
    assert autumn is not None
    day = (datetime(2002, 1, 25) - START).days * 24
    assert made[0] == pytest.approx(autumn[day])


WITHOUT = {"depth": 4.0, "run_off": 0.9, "gutter": False}


@pytest.mark.parametrize("snow", [True, False])
@pytest.mark.parametrize("splash", [0.0, 0.15])
def test_water_of_roof_and_rain_is_all_accounted_for(year: WeatherYear, snow: bool, splash: float) -> None:
    """Strip and splash take in the rain of the strip and what the roof sheds; the rest wets the roof."""
    strip = {"width": 0.5, "rain_share": 0.4, "splash": splash, "splash_height": 0.25}
    made = climates(year, roof=WITHOUT, strip=strip, snow=snow)
    driven = total(made[OUTDOORS], "left")
    arrives = 0.5 * total(made[BESIDE], "up") + 0.25 * (total(made[BESIDE], "left") - driven)
    shed, wets, held = 4.0 * 0.9 * annual(year), 4.0 * 0.1 * annual(year), (1 - 0.4) * 0.5 * annual(year)
    assert arrives == pytest.approx(0.5 * 0.4 * annual(year) + shed, rel=1e-9)
    assert arrives + wets + held == pytest.approx((4.0 + 0.5) * annual(year), rel=1e-9)
    if splash:
        assert total(made[BESIDE], "left") > driven


def test_a_missing_gutter_wets_the_strip_only(year: WeatherYear) -> None:
    good, none = climates(year), climates(year, roof=WITHOUT)
    half = climates(year, roof={**WITHOUT, "gutter": 0.5})
    strip = [total(made[BESIDE], "up") for made in (good, half, none)]
    assert strip[2] - strip[1] == pytest.approx(strip[1] - strip[0])
    assert strip[2] > 5 * strip[0]
    assert total(none[OUTDOORS], "up") == total(good[OUTDOORS], "up")
    np.testing.assert_array_equal(none[BESIDE].facings["left"].rain, good[BESIDE].facings["left"].rain)


def test_eaves_shelter_the_strip(year: WeatherYear) -> None:
    made = climates(year, strip={"rain_share": 0.25}, snow=False)
    assert total(made[BESIDE], "up") == pytest.approx(0.25 * annual(year))
    assert total(made[OUTDOORS], "up") == pytest.approx(annual(year))


def test_house_takes_sky_and_sun_from_the_strip(year: WeatherYear) -> None:
    made = climates(year, wall_azimuth=0, strip={"house_height": "6 m"}, snow=False)
    strip, rest = made[BESIDE].facings["up"], made[OUTDOORS].facings["up"]
    assert strip.solar.sum() < 0.7 * rest.solar.sum()
    assert strip.longwave.mean() > rest.longwave.mean()
    np.testing.assert_array_equal(made[BESIDE].facings["left"].solar, made[OUTDOORS].facings["left"].solar)


def test_horizon_and_trees_take_sun(year: WeatherYear) -> None:
    free, hills, trees = (
        climates(year, snow=False, shade=shade)[OUTDOORS].facings
        for shade in ({}, {"horizon": "30 deg"}, {"sunlit": "50 %"})
    )
    for facing in ("left", "up"):
        assert hills[facing].solar.sum() < free[facing].solar.sum()  # type: ignore[index]
        assert trees[facing].solar.sum() < free[facing].solar.sum()  # type: ignore[index]
        assert hills[facing].longwave.mean() > free[facing].longwave.mean()  # type: ignore[index]
    np.testing.assert_array_equal(hills["right"].solar, free["right"].solar)


def test_driving_rain_of_iso_15927(year: WeatherYear) -> None:
    """One hour by hand: 2/9 v r^(8/9) cos at the wall, times C_R 0.22 ln(8/0.3), O and W."""
    still = replace(
        year.with_rain(np.full(year.hours, 2.0), "artificial", ""),
        wind_speed=np.full(year.hours, 5.0),
        wind_direction=np.full(year.hours, 240.0),
        temperature=np.full(year.hours, 10.0),
    )
    choice = {"method": "ISO 15927-3", "obstruction": 0.5}
    iso = climates(still, driving_rain=choice)[OUTDOORS].facings["left"].rain * 3600
    np.testing.assert_allclose(iso, 1.02875 * 0.22 * np.log(8 / 0.3) * 0.5 * 0.4, rtol=1e-5)
    ashrae = climates(still, driving_rain={"exposure": 1.4})[OUTDOORS].facings["left"].rain * 3600
    np.testing.assert_allclose(ashrae, 1.4 * 0.35 * 1.0, rtol=1e-9)


def test_cover_is_a_resistance_under_the_snow(year: WeatherYear) -> None:
    bare, mulch = climates(year), climates(year, cover={"kind": "mulch"})
    for key in (OUTDOORS, BESIDE):
        over, under = mulch[key].facings["up"].resistance, bare[key].facings["up"].resistance
        assert over is not None
        assert under is not None
        np.testing.assert_allclose(over - under, 0.5)


@pytest.mark.parametrize(("kind", "sd"), [("bare", 0.0), ("grass", 0.005), ("mulch", 0.05), ("gravel", 0.05)])
def test_vapour_passes_a_cover_where_no_snow_lies(year: WeatherYear, kind: str, sd: float) -> None:
    faces = climates(year, cover={"kind": kind})[OUTDOORS].facings["up"]
    snow = climates(year)[OUTDOORS].facings["up"].vapour_resistance
    assert faces.vapour_resistance is not None
    assert snow is not None
    np.testing.assert_allclose(faces.vapour_resistance[np.isfinite(snow)], sd / AIR_PERMEABILITY)
    assert np.all(np.isinf(faces.vapour_resistance[np.isinf(snow)]))


def test_notes_name_what_counts(year: WeatherYear) -> None:
    plain = notes(site(), year)
    assert set(plain) == {"driving_rain", "roof_water", "snow", "frost"}
    assert "K d" in plain["frost"]
    assert "model" in plain["snow"]
    assert "file" in notes(site(), replace(year, snow_depth=np.zeros(year.hours)))["snow"]
    full = notes(site(roof=WITHOUT, shade={"sunlit": 0.5}, cover={"kind": "grass"}, snow=False), year)
    assert set(full) == {"driving_rain", "roof_water", "strip", "shade", "snow", "ground_cover", "frost"}
    assert "not counted" in full["snow"]
    assert "4 m of roof" in full["roof_water"]
