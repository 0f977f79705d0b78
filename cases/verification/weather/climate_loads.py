"""What the outside and the rooms do: driving rain, undisturbed ground, published relations of indoor air."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from stemwall.cases.surroundings.indoor_relations import (
    ashrae_160_humidity,
    ashrae_160_temperature,
    en_15026_humidity,
    en_15026_temperature,
    iso_13788_excess,
)
from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.solver.forcing.hour_ends import at_hour_ends
from stemwall.weather.ground import GroundWave
from stemwall.weather.rain import (
    TerrainCategory,
    airfield_driving_rain,
    terrain_roughness_coefficient,
    wall_rain_ashrae,
)

Floats = NDArray[np.float64]
RAIN = "ISO 15927-3:2009, hourly method (equation read in a public weather script, exponent there 0.88)"
TERRAIN_SOURCE = "ISO 15927-3:2009, terrain (factors of I to III read in a public weather script, rest from memory)"
ASHRAE_RAIN = "ANSI/ASHRAE 160, rain on walls (from memory, to be checked)"
KUSUDA = "Kusuda & Achenbach 1965, ASHRAE Trans. 71 (from memory)"
INDOOR = "{} (from memory, to be checked); straight lines written again"


def driving_rain() -> list[Comparison]:
    """Rain through a vertical plane and on a wall, over wind direction, wind speed and height.

    ISO: (2/9) v r^(8/9) cos(D - theta), not below zero; C_R = K_R ln(z/z_0) from z_min up.
    ASHRAE 160: 0.2 F_E F_D U cos(theta) r with F_E = F_D = 1.
    """
    direction = np.arange(0.0, 360.0, 15.0)
    angle = np.minimum(direction, 360.0 - direction)
    facing = np.where(angle < 90.0, np.cos(np.radians(angle)), 0.0)
    found = []
    for v, r in ((5.0, 2.0), (10.0, 1.0), (3.0, 0.5)):
        amount = np.exp(8.0 * np.log(r) / 9.0)
        found += [
            compare(f"{v:g} m/s, {r:g} mm/h", RAIN, "airfield driving rain [kg/(m² h)]", direction,
                    airfield_driving_rain(v, direction, r, 0.0), 2.0 * v * amount * facing / 9.0, 1e-12,
                    axis="wind direction less wall azimuth [°]"),
            compare(f"{v:g} m/s, {r:g} mm/h", ASHRAE_RAIN, "rain on a wall, ASHRAE 160 [kg/(m² h)]", direction,
                    wall_rain_ashrae(v, direction, r, 0.0, deposition=1.0), 0.2 * v * r * facing, 1e-12,
                    axis="wind direction less wall azimuth [°]"),
        ]  # fmt: skip
    height = np.array([1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 16.0, 30.0])
    terrain: tuple[tuple[TerrainCategory, float, float, float], ...] = (
        ("I", 0.17, 0.01, 2.0), ("II", 0.19, 0.05, 4.0), ("III", 0.22, 0.3, 8.0), ("IV", 0.24, 1.0, 16.0),
    )  # fmt: skip
    for name, factor, roughness, lowest in terrain:
        expected = [factor * (np.log(max(z, lowest)) - np.log(roughness)) for z in height]
        found.append(
            compare(f"terrain {name}", TERRAIN_SOURCE, "roughness coefficient [-]", height,
                    terrain_roughness_coefficient(height, name), expected, 1e-12, axis="height [m]")
        )  # fmt: skip
    return found


def ground_wave() -> list[Comparison]:
    """Undisturbed ground over depth and season, against the heat equation solved by finite differences.

    Surface 12 - 11 cos(2 pi (d - 20)/365) °C, diffusivity 0.05 m²/d.  The wave in time makes the heat equation
    i w u = a u'' of a complex amplitude u, solved on 6000 equal cells down to 30 m, closed there.
    """
    a, mean, amplitude, coldest = 0.05, 12.0, 11.0, 20.0
    cells, reach = 6000, 30.0
    z = np.linspace(0.0, reach, cells + 1)
    couple = a / (reach / cells) ** 2
    bands = np.full((3, cells), -couple, dtype=complex)
    bands[1] = 2 * couple + 2j * np.pi / 365.0
    bands[2, -2] = -2 * couple
    right = np.zeros(cells, dtype=complex)
    right[0] = couple
    damped = np.concatenate([[1.0], solve_banded((1, 1), bands, right)])
    depth = np.array([0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0])
    wave = GroundWave(mean, amplitude, coldest, a)
    found = []
    for day in (20.0, 110.0, 202.0, 320.0):
        turn = np.exp(2j * np.pi * (day - coldest) / 365.0)
        own = mean - amplitude * (turn * damped).real
        found.append(
            compare(f"day {day:g}", f"{KUSUDA}; heat equation solved here", "ground temperature [°C]", depth,
                    wave.temperature(depth, day), own[np.rint(depth / reach * cells).astype(int)], 1e-3,
                    axis="depth [m]", curve=(z[: cells // 3], own[: cells // 3]))
        )  # fmt: skip
    return found


def hourly_means() -> list[Comparison]:
    """A daily wave and a day's sun given as exact hourly means, and the straight lines that the march gets for them.

    First harmonic of sin(w t) over eight of ten days, at a thousand points a day; sum of a sun of half a sine, 600 W/m²
    for twelve hours, whose lines do not go below zero.
    """
    edges, w = np.arange(241.0), 2.0 * np.pi / 24.0
    t = np.linspace(24.0, 216.0, 8000, endpoint=False)
    wave = -np.diff(np.cos(w * edges)) / w
    line = np.interp(t, edges, at_hour_ends(wave, slice(0, 240)))
    lit = np.clip(np.mod(edges, 24.0), 6.0, 18.0) - 6.0
    day = 600.0 / w * (1.0 - np.cos(w * lit)) + 1200.0 / w * (edges // 24.0)
    sun = np.diff(day)
    ends = at_hour_ends(sun, slice(0, 240), bounded=True)
    whole = float(0.5 * (ends[1:] + ends[:-1]).sum())
    source = "integrals in closed form"
    return [
        compare("daily wave", source, "amplitude [-]", 0.0, float(2.0 * np.mean(line * np.sin(w * t))), 1.0, 5e-3),
        compare("daily wave", source, "value [-]", t[::50], line[::50], np.sin(w * t[::50]), 1e-2, axis="time [h]"),
        compare("sun", source, "ten days [Wh/m²]", 0.0, whole, 10 * 600.0 * 24.0 / np.pi, 1e-9, RELATIVE),
        compare("sun", source, "least value [W/m²]", 0.0, float(ends.min()), 0.0, 1e-9),
    ]


def indoor_air() -> list[Comparison]:
    """Temperature and humidity of rooms by the published relations to the air outdoors, -20 to 30 °C.

    EN 15026 Annex C: 20 to 25 °C between 10 and 20 °C outdoors; 30 to 60 % between -10 and 20 °C, high occupancy
    10 % more.  ISO 13788 Annex A: upper vapour excess of the humidity classes at 0 °C and below, none from 20 °C.
    ASHRAE 160, simplified: 21.1 °C heated, 2.8 K above outdoors from 18.3 °C, at most 23.9 °C; 40 to 70 %.
    """
    out = np.arange(-20.0, 31.0, 2.5)
    en, iso, us = (INDOOR.format(name) for name in ("EN 15026:2007, Annex C", "ISO 13788:2012, Annex A", "ASHRAE 160"))
    ramp = np.clip((out + 10.0) / 30.0, 0.0, 1.0)
    axis, humidity = "outdoor temperature [°C]", "relative humidity [-]"
    return [
        compare("EN 15026", en, "temperature [°C]", out, en_15026_temperature(out),
                20.0 + 0.5 * np.clip(out - 10.0, 0.0, 10.0), 1e-12, axis=axis),
        compare("ASHRAE 160, cooled", us, "temperature [°C]", out, ashrae_160_temperature(out),
                np.clip(out + 2.8, 21.1, 23.9), 1e-12, axis=axis),
        compare("EN 15026, normal", en, humidity, out, en_15026_humidity(out), 0.3 + 0.3 * ramp, 1e-12, axis=axis),
        compare("EN 15026, high", en, humidity, out, en_15026_humidity(out, "high"), 0.4 + 0.3 * ramp, 1e-12,
                axis=axis),
        compare("ASHRAE 160", us, humidity, out, ashrae_160_humidity(out), 0.4 + 0.3 * ramp, 1e-12, axis=axis),
        *(
            compare(f"class {k}", iso, "vapour excess [Pa]", out, iso_13788_excess(out, 270.0 * k),
                    270.0 * k * np.clip(1.0 - out / 20.0, 0.0, 1.0), 1e-9, axis=axis)
            for k in (1, 2, 3, 4)
        ),
    ]  # fmt: skip
