"""Rain on walls and on the ground.

Wind direction is where the wind comes from and wall azimuth where the wall faces, both in degrees clockwise
from north. Rain is in mm/h, i.e. kg/(m² h) on level ground. Only rain driven towards the wall counts; the
rest is zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import FloatArray

TerrainCategory = Literal["I", "II", "III", "IV"]

ASHRAE_LAW_FACTOR = 0.2
"""F_L [kg s/(m³ mm)], ASHRAE 160 (from memory, to be checked)."""


@dataclass(frozen=True)
class Terrain:
    """Roughness of the terrain upwind: terrain factor [-], roughness length [m], lowest height of the law [m]."""

    factor: float
    roughness: float
    lowest: float


TERRAIN: dict[TerrainCategory, Terrain] = {
    "I": Terrain(0.17, 0.01, 2.0),
    "II": Terrain(0.19, 0.05, 4.0),
    "III": Terrain(0.22, 0.3, 8.0),
    "IV": Terrain(0.24, 1.0, 16.0),
}
"""I rough open sea or flat ground, II farmland, III suburb, IV city: ISO 15927-3:2009, table of terrain
categories (factor and roughness of I-III as quoted in a public weather script, the rest from memory, to be
checked)."""


def facing_wind(wind_speed: ArrayLike, wind_direction: ArrayLike, wall_azimuth: float) -> FloatArray:
    """Part of the wind that blows towards a wall, v cos(D - theta), never negative [m/s]."""
    angle = np.radians(np.asarray(wind_direction, dtype=np.float64) - wall_azimuth)
    towards = np.asarray(wind_speed, dtype=np.float64) * np.cos(angle)
    return np.asarray(np.where(towards > 1e-12, towards, 0.0))


def airfield_driving_rain(
    wind_speed: ArrayLike, wind_direction: ArrayLike, rain: ArrayLike, wall_azimuth: float
) -> FloatArray:
    """Hourly driving rain through a vertical plane in open country, 10 m above ground [kg/(m² h)].

    (2/9) v r^(8/9) cos(D - theta) [1]_.

    Parameters
    ----------
    wind_speed, wind_direction, rain : array_like
        [m/s], [deg], [mm/h].
    wall_azimuth : float
        [deg].

    References
    ----------
    .. [1] ISO 15927-3:2009, hourly method (equation from memory, confirmed in a public weather script).

    Examples
    --------
    >>> round(float(airfield_driving_rain(5.0, 0.0, 2.0, 60.0)), 5)
    1.02875
    """
    facing = facing_wind(wind_speed, wind_direction, wall_azimuth)
    return np.asarray(2 / 9 * facing * np.asarray(rain, dtype=np.float64) ** (8 / 9))


def terrain_roughness_coefficient(height: ArrayLike, category: TerrainCategory) -> FloatArray:
    """C_R = K_R ln(z/z_0), constant below the category's lowest height [-]; height above ground [m].

    ISO 15927-3:2009 (equation from memory, to be checked).
    """
    if category not in TERRAIN:
        raise ValueError(f"terrain category {category!r}: expected one of {', '.join(TERRAIN)}")
    terrain = TERRAIN[category]
    z = np.maximum(np.asarray(height, dtype=np.float64), terrain.lowest)
    return np.asarray(terrain.factor * np.log(z / terrain.roughness))


def wall_rain_iso(
    airfield: ArrayLike,
    *,
    roughness: ArrayLike,
    topography: float = 1.0,
    obstruction: float = 1.0,
    wall: float = 0.4,
) -> FloatArray:
    """Rain that strikes a wall, airfield amount times C_R C_T O W [kg/(m² h)].

    Parameters
    ----------
    airfield : array_like
        From `airfield_driving_rain` [kg/(m² h)].
    roughness : array_like
        C_R, from `terrain_roughness_coefficient` [-].
    topography, obstruction, wall : float
        C_T (1 on flat ground), O (0.2 sheltered to 1 without obstacle within 120 m), W (0.4 for a two-storey
        gable or eaves wall) [-]; ISO 15927-3:2009 (from memory, to be checked).
    """
    factors = np.asarray(roughness, dtype=np.float64) * topography * obstruction * wall
    return np.asarray(np.asarray(airfield, dtype=np.float64) * factors)


def wall_rain_ashrae(
    wind_speed: ArrayLike,
    wind_direction: ArrayLike,
    rain: ArrayLike,
    wall_azimuth: float,
    *,
    exposure: float = 1.0,
    deposition: float = 0.35,
) -> FloatArray:
    """Rain that strikes a wall, F_E F_D F_L U cos(theta) r_h [kg/(m² h)] [1]_.

    Parameters
    ----------
    wind_speed, wind_direction, rain : array_like
        [m/s], [deg], [mm/h].
    wall_azimuth : float
        [deg].
    exposure : float
        F_E, for walls up to 10 m high about 0.7 sheltered, 1.0 medium, 1.4 severe (from memory, to be
        checked) [-].
    deposition : float
        F_D: 0.35 below a steep roof, 0.5 below a low-slope roof, 1.0 with run-off from above (from memory, to
        be checked) [-].

    References
    ----------
    .. [1] ANSI/ASHRAE Standard 160, section on rain loads on walls (from memory, to be checked).
    """
    facing = facing_wind(wind_speed, wind_direction, wall_azimuth)
    return np.asarray(exposure * deposition * ASHRAE_LAW_FACTOR * facing * np.asarray(rain, dtype=np.float64))


@dataclass(frozen=True, eq=False)
class StripWater:
    """Where the water of a strip of ground beside a wall goes, shape (n,) each.

    Parameters
    ----------
    ground : ndarray
        Water on the strip [mm/h].
    wall : ndarray
        Water that splashes on the lowest part of the wall [kg/(m² h)].
    """

    ground: FloatArray
    wall: FloatArray


def roof_spill(water: ArrayLike, *, depth: float, run_off: float = 1.0, led_away: float = 0.0) -> FloatArray:
    """Water that falls from the eaves [kg/(m h)].

    Parameters
    ----------
    water : array_like
        Rain and meltwater of level ground [mm/h].
    depth : float
        Level depth of the roof that drains to these eaves [m²/m].
    run_off : float
        Share of that water which runs off the roof [-].
    led_away : float
        Share of the run-off that gutters lead away [-].
    """
    return np.asarray(np.asarray(water, dtype=np.float64) * depth * run_off * (1.0 - led_away))


def strip_water(
    seeping: ArrayLike, falling: ArrayLike, spill: ArrayLike, *, width: float, height: float, splash: float
) -> StripWater:
    """Water of a strip of ground and of the wall that it splashes.

    Parameters
    ----------
    seeping : array_like
        Rain and meltwater of the strip itself [mm/h].
    falling : array_like
        The part of it that falls in drops [mm/h], at most all of it.
    spill : array_like
        Water from the eaves, from `roof_spill` [kg/(m h)].
    width : float
        Of the strip [m].
    height : float
        Of the splashed part of the wall [m].
    splash : float
        Share of what falls on the strip that strikes the wall [-].

    Notes
    -----
    Nothing is lost: width x ground + height x wall = width x seeping + spill.
    """
    drops, eaves = np.asarray(falling, dtype=np.float64), np.asarray(spill, dtype=np.float64)
    thrown = splash * (drops * width + eaves)
    ground = np.asarray(seeping, dtype=np.float64) + (eaves - thrown) / width
    return StripWater(np.asarray(ground), np.asarray(thrown / height))
