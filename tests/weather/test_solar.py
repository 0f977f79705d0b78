"""Sun and clock agree: position, hour convention, planes and obstructions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pvlib
import pytest

from stemwall.weather.climates import kept_file
from stemwall.weather.solar import plane_irradiance, solar_position
from stemwall.weather.year import WeatherYear


def extraterrestrial(year: WeatherYear) -> np.ndarray:
    """Extraterrestrial irradiance on a level plane at the middle of each hour [W/m²], shape (n,)."""
    elevation, _ = solar_position(year)
    normal = pvlib.irradiance.get_extra_radiation(pd.DatetimeIndex(year.times).day_of_year.to_numpy())
    return np.asarray(normal * np.maximum(np.sin(np.radians(elevation)), 0.0))


def test_hours_of_the_default_fit_the_sun(default_year: WeatherYear) -> None:
    """The file gives the extraterrestrial irradiance of each hour; ours agrees, and not if shifted by an
    hour."""
    data, _ = pvlib.iotools.read_tmy3(kept_file("default"))
    given, ours = data["ghi_extra"].to_numpy(), extraterrestrial(default_year)
    error = {shift: float(np.sqrt(np.mean((np.roll(ours, shift) - given) ** 2))) for shift in (-1, 0, 1)}
    assert error[0] < 15
    assert min(error[-1], error[1]) > 100


def test_day_and_night_fit_the_sun(default_year: WeatherYear) -> None:
    """No irradiance while the sun is more than 10° below the horizon, some whenever it is 10° above."""
    elevation, _ = solar_position(default_year)
    assert default_year.ghi[elevation < -10].max() == 0
    assert default_year.ghi[elevation > 10].min() > 0


def test_a_wrong_utc_offset_moves_the_sun(default_year: WeatherYear) -> None:
    right = np.corrcoef(extraterrestrial(default_year), default_year.ghi)[0, 1]
    wrong = np.corrcoef(extraterrestrial(replace(default_year, utc_offset=-7.0)), default_year.ghi)[0, 1]
    assert right > 0.85 > wrong


def test_level_plane_receives_the_global_irradiance(default_year: WeatherYear) -> None:
    """Direct and diffuse of the file add up to its global within 1 % over the year, ours with it."""
    total = plane_irradiance(default_year, 0.0, 180.0).total
    assert total.mean() == pytest.approx(default_year.ghi.mean(), rel=0.01)


@pytest.mark.parametrize("model", ["isotropic", "haydavies", "perez"])
def test_parts_equal_the_direct_call(clear_year: WeatherYear, model: str) -> None:
    """The same numbers as the solar library gives for one noon, sun high."""
    i = 24 * 172 + 11
    elevation, azimuth = solar_position(clear_year)
    expected = pvlib.irradiance.get_total_irradiance(
        60.0,
        150.0,
        90 - elevation[i],
        azimuth[i],
        clear_year.dni[i],
        clear_year.ghi[i],
        clear_year.dhi[i],
        dni_extra=pvlib.irradiance.get_extra_radiation(173),
        albedo=0.3,
        model=model,
    )
    found = plane_irradiance(clear_year, 60.0, 150.0, albedo=0.3, model=model)  # type: ignore[arg-type]
    assert found.direct[i] == pytest.approx(expected["poa_direct"], rel=1e-9)
    assert found.sky[i] == pytest.approx(expected["poa_sky_diffuse"], rel=1e-9)
    assert found.ground[i] == pytest.approx(expected["poa_ground_diffuse"], rel=1e-9)


def test_walls_face_their_sun(clear_year: WeatherYear) -> None:
    """Morning in the east, evening in the west, most in winter on the south, no direct winter sun on the
    north."""
    year = {side: plane_irradiance(clear_year, 90.0, side) for side in (0.0, 90.0, 180.0, 270.0)}
    hour = np.arange(8760) % 24
    assert year[90.0].direct[hour < 11].sum() > 20 * year[270.0].direct[hour < 11].sum()
    assert year[270.0].direct[hour > 13].sum() > 20 * year[90.0].direct[hour > 13].sum()
    winter = clear_year.months == 12
    assert year[180.0].direct[winter].sum() > 3 * year[90.0].direct[winter].sum()
    assert year[0.0].direct[winter].sum() == 0


def test_obstruction_takes_direct_sun_and_its_share_of_the_sky(clear_year: WeatherYear) -> None:
    free = plane_irradiance(clear_year, 90.0, 180.0)
    behind = plane_irradiance(clear_year, 90.0, 180.0, obstruction=30.0)
    np.testing.assert_allclose(behind.sky, free.sky / 2, atol=1e-9)
    elevation, _ = solar_position(clear_year)
    noon = np.arange(8760) % 24 == 11
    assert behind.direct[noon & (elevation < 29)].max() == 0
    high = noon & (elevation > 31)
    np.testing.assert_array_equal(behind.direct[high], free.direct[high])


def test_shading_factor_acts_on_the_direct_part_only(clear_year: WeatherYear) -> None:
    free = plane_irradiance(clear_year, 90.0, 90.0)
    half = plane_irradiance(clear_year, 90.0, 90.0, sunlit=np.full(8760, 0.5))
    np.testing.assert_allclose(half.total, free.direct / 2 + free.sky + free.ground)


def test_ceiling_facing_down_sees_no_sky(clear_year: WeatherYear) -> None:
    found = plane_irradiance(clear_year, 180.0, 0.0, albedo=0.2)
    assert found.direct.max() == 0
    assert found.sky.max() == 0
    np.testing.assert_allclose(found.ground, 0.2 * clear_year.ghi)


def test_house_behind_level_ground_shades_it(clear_year: WeatherYear) -> None:
    """North of a house the winter sun never reaches the ground, south of it the house only takes sky."""
    free = plane_irradiance(clear_year, 0.0, 0.0)
    north = plane_irradiance(clear_year, 0.0, 0.0, behind=80.0)
    south = plane_irradiance(clear_year, 0.0, 180.0, behind=80.0)
    noon = (np.arange(8760) % 24 == 11) & (clear_year.months == 12)
    assert free.direct[noon].min() > 0
    assert north.direct[noon].max() == 0
    np.testing.assert_array_equal(south.direct[noon], free.direct[noon])
    np.testing.assert_allclose(north.sky, free.sky * (1 + np.cos(np.radians(80))) / 2, atol=1e-9)
