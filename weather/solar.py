"""Solar irradiance on inclined surfaces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.cache import Entry, digest, kept
from stemwall.weather.moistair import FloatArray
from stemwall.weather.sky import sky_view_factor
from stemwall.weather.year import WeatherYear

DiffuseModel = Literal["isotropic", "haydavies", "perez"]

GROUND_ALBEDO = 0.2
"""Share of the solar irradiance that bare ground and grass reflect [-] (handbook value, from memory, to be
checked)."""


@dataclass(frozen=True)
class PlaneIrradiance:
    """Irradiance on a surface, mean of each hour, shape (n,) each [W/m²].

    Parameters
    ----------
    direct : ndarray
        From the sun itself.
    sky : ndarray
        Scattered by the sky.
    ground : ndarray
        Reflected by the ground.
    """

    direct: FloatArray
    sky: FloatArray
    ground: FloatArray

    @property
    def total(self) -> FloatArray:
        """Sum of the three parts [W/m²]."""
        return np.asarray(self.direct + self.sky + self.ground)


@lru_cache(maxsize=4)
def solar_position(year: WeatherYear) -> tuple[FloatArray, FloatArray]:
    """Elevation and azimuth from north [deg] of the sun at the middle of each hour, shape (n,) each."""
    import pandas as pd
    import pvlib

    middle = pd.DatetimeIndex(year.times).tz_localize("UTC") + pd.Timedelta(hours=0.5 - year.utc_offset)
    position = pvlib.solarposition.get_solarposition(middle, year.latitude, year.longitude, year.elevation)
    return position["elevation"].to_numpy(dtype=np.float64), position["azimuth"].to_numpy(dtype=np.float64)


def plane_irradiance(
    year: WeatherYear,
    tilt: float,
    azimuth: float,
    *,
    albedo: float = GROUND_ALBEDO,
    obstruction: float = 0.0,
    behind: float = 0.0,
    sunlit: ArrayLike = 1.0,
    model: DiffuseModel = "perez",
) -> PlaneIrradiance:
    """Irradiance on a plane, hour by hour.

    Parameters
    ----------
    year : WeatherYear
        Weather with n hours.
    tilt : float
        0 level and facing up, 90 a wall [deg].
    azimuth : float
        Where the surface faces, clockwise from north [deg].
    albedo : float
        Of the ground in front [-].
    obstruction : float
        Elevation of a long obstruction in front, parallel to the surface [deg]. It hides the sun while that
        stands lower, takes its share of the sky, and reflects nothing.
    behind : float
        The same on the other side [deg]; the house, for level ground beside it.
    sunlit : array_like
        Further share of the direct irradiance that arrives, a scalar or shape (n,) [-]; eaves, trees.
    model : str
        Sky model: "isotropic", "haydavies", or "perez" (Perez et al., Solar Energy 44 (1990) 271).

    Notes
    -----
    The sun stands where it is at the middle of the hour. In the hours of sunrise and sunset with the sun then
    below the horizon the direct part is left out.
    """
    share = np.asarray(sunlit, dtype=np.float64)
    entry = kept(
        (
            "plane", digest(year.dni, year.ghi, year.dhi, share), year.start, year.latitude, year.longitude,
            year.elevation, year.utc_offset, tilt, azimuth, albedo, obstruction, behind, model,
        ),
        lambda: _irradiance(year, tilt, azimuth, albedo, obstruction, behind, share, model),
    )  # fmt: skip
    return PlaneIrradiance(**entry.arrays)


def _irradiance(
    year: WeatherYear,
    tilt: float,
    azimuth: float,
    albedo: float,
    obstruction: float,
    behind: float,
    sunlit: FloatArray,
    model: DiffuseModel,
) -> Entry:
    """Parts of `PlaneIrradiance`, computed."""
    import pandas as pd
    import pvlib

    elevation, sun_azimuth = solar_position(year)
    parts = pvlib.irradiance.get_total_irradiance(
        tilt,
        azimuth,
        90.0 - elevation,
        sun_azimuth,
        year.dni,
        year.ghi,
        year.dhi,
        dni_extra=pvlib.irradiance.get_extra_radiation(pd.DatetimeIndex(year.times).day_of_year.to_numpy()),
        albedo=albedo,
        model=model,
    )
    direct = _clean(parts["poa_direct"]) * _above(elevation, sun_azimuth, azimuth, obstruction)
    direct = direct * _above(elevation, sun_azimuth, azimuth + 180.0, behind)
    open_sky = sky_view_factor(tilt)
    seen = sky_view_factor(tilt, obstruction, behind) / open_sky if open_sky > 0 else 0.0
    return Entry(
        {
            "direct": np.asarray(direct * sunlit),
            "sky": _clean(parts["poa_sky_diffuse"]) * seen,
            "ground": _clean(parts["poa_ground_diffuse"]),
        },
        {},
    )


def profile_angle(elevation: FloatArray, sun_azimuth: FloatArray, azimuth: float) -> FloatArray:
    """Elevation of the sun projected on the vertical plane across a surface [deg]; 90 where it stands behind it."""
    in_front = np.cos(np.radians(sun_azimuth - azimuth))
    angle = np.degrees(np.arctan2(np.tan(np.radians(elevation)), in_front))
    return np.asarray(np.where(in_front > 0, angle, 90.0))


def _above(elevation: FloatArray, sun_azimuth: FloatArray, azimuth: float, obstruction: float) -> FloatArray:
    """1 while the sun is above the horizon and above the obstruction, else 0."""
    lit = elevation > 0
    if obstruction > 0:
        lit = lit & (profile_angle(elevation, sun_azimuth, azimuth) > obstruction)
    return lit.astype(np.float64)


def _clean(values: ArrayLike) -> FloatArray:
    """Non-negative values; the sky models give nan at night."""
    return np.maximum(np.nan_to_num(np.asarray(values, dtype=np.float64)), 0.0)
