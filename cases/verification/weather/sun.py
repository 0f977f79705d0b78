"""Sun and sky: position, inclined irradiance, longwave of the sky, against formulas and integrals written down here.

The package asks a library of solar engineering for position and sky models.  What is
compared here does not: the position by the low-precision formulas of the Astronomical
Almanac, inclined surfaces by vectors and by the published models, view factors by
integration over the hemisphere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.weather import sky as longwave
from stemwall.weather.moistair import dew_point, vapour_pressure
from stemwall.weather.solar import DiffuseModel, plane_irradiance, solar_position
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]
ALMANAC = "Astronomical Almanac, low-precision formulas, within 0.01° from 1950 to 2050 (from memory)"
SPA = (
    "Reda & Andreas 2004, Solar Energy 76, 577-589, worked example: elevation without refraction and azimuth "
    "(from memory, to be checked)"
)
MODELS = {
    "isotropic": "Liu & Jordan 1963, isotropic sky (from memory)",
    "haydavies": "Hay & Davies 1980, circumsolar and isotropic sky (from memory)",
    "perez": "Perez et al. 1990, Solar Energy 44, 271-289, coefficients of all sites (from memory)",
}
PLACES = {
    "equator": (0.0, 0.0),
    "40° N 105° W": (40.0, -105.0),
    "60° N 25° E": (60.0, 25.0),
    "34° S 151° E": (-34.0, 151.0),
}
SIGMA = 2 * np.pi**5 * 1.380649e-23**4 / (15 * 6.62607015e-34**3 * 299792458.0**2)
ALBEDO = 0.2


def sun_by_almanac(moment: datetime, latitude: float, longitude: float) -> tuple[float, float]:
    """Elevation without refraction and azimuth from north [deg] at a moment (UTC)."""
    days = (moment - datetime(2000, 1, 1, 12)) / timedelta(days=1)
    mean_longitude, anomaly = 280.460 + 0.9856474 * days, np.radians(357.528 + 0.9856003 * days)
    ecliptic = np.radians(mean_longitude + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    tilt = np.radians(23.439 - 4e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    hours = moment.hour + moment.minute / 60.0 + (moment.second + 1e-6 * moment.microsecond) / 3600.0
    midnight = (datetime(moment.year, moment.month, moment.day) - datetime(2000, 1, 1, 12)) / timedelta(days=1)
    sidereal = 6.697375 + 0.0657098242 * midnight + 1.00273790935 * hours
    angle = np.radians(15.0 * sidereal + longitude) - ascension
    phi = np.radians(latitude)
    east = -np.cos(declination) * np.sin(angle)
    north = np.sin(declination) * np.cos(phi) - np.cos(declination) * np.sin(phi) * np.cos(angle)
    up = np.sin(declination) * np.sin(phi) + np.cos(declination) * np.cos(phi) * np.cos(angle)
    return float(np.degrees(np.arcsin(up))), float(np.degrees(np.arctan2(east, north)) % 360.0)


def _year(
    start: datetime, hours: int, place: tuple[float, float], offset: float, irradiance: Sequence[Floats] = ()
) -> WeatherYear:
    """Weather of which only the sun matters; irradiance is global, direct normal, diffuse [W/m²]."""
    zero = np.zeros(hours)
    ghi, dni, dhi = irradiance or (zero, zero, zero)
    return WeatherYear(
        start=start, temperature=zero, relative_humidity=zero + 0.5, wind_speed=zero, wind_direction=zero,
        pressure=zero + 101_325.0, sky_longwave=zero + 300.0, latitude=place[0], longitude=place[1], elevation=0.0,
        utc_offset=offset, ghi=ghi, dni=dni, dhi=dhi,
    )  # fmt: skip


def position() -> list[Comparison]:
    """Elevation and azimuth of the sun at mid-hour, four places, days near solstices and equinox.

    Times are local standard time at the middle of the hour, offset from UTC by the longitude over 15.
    Limit 0.02°: twice the accuracy stated for the formulas.  Azimuths are compared where the sun stands between
    3° and 70° above the horizon, to 0.05°, as the same arc on the sky is a larger angle there.
    """
    found = []
    for place, (latitude, longitude) in PLACES.items():
        for day in (datetime(2001, 3, 20), datetime(2001, 6, 21), datetime(2001, 12, 21)):
            offset = round(longitude / 15.0)
            elevation, azimuth = solar_position(_year(day, 24, (latitude, longitude), offset))
            middle = [day + timedelta(hours=h + 0.5 - offset) for h in range(24)]
            own = np.array([sun_by_almanac(m, latitude, longitude) for m in middle])
            hour = np.arange(24) + 0.5
            name, high = f"{day:%d %b}", (own[:, 0] > 3.0) & (own[:, 0] < 70.0)
            turn = (azimuth - own[:, 1] + 180.0) % 360.0 - 180.0
            round_the_sky = np.unwrap(own[high, 1], period=360.0)
            found += [
                compare(name, ALMANAC, f"elevation, {place} [°]", hour, elevation, own[:, 0], 0.02,
                        axis="local standard time [h]"),
                compare(name, ALMANAC, f"azimuth, {place} [°]", hour[high], round_the_sky + turn[high],
                        round_the_sky, 0.05, axis="local standard time [h]"),
            ]  # fmt: skip
    example = _year(datetime(2003, 10, 17, 12), 1, (39.742476, -105.1786), -7.0 - 30.0 / 3600.0)
    elevation, azimuth = solar_position(example)
    return [
        *found,
        compare("17 Oct 2003, 12:30:30", SPA, "elevation and azimuth [°]", [1, 2], [elevation[0], azimuth[0]],
                [39.872046, 194.340241], 2e-3, labels=("elevation", "azimuth"), axis="",
                note="run at sea level instead of 1830 m: parallax 1e-6°"),
    ]  # fmt: skip


@dataclass(frozen=True)
class Beam:
    """Sun and irradiance of one hour: elevation, azimuth [deg], direct normal, diffuse, global [W/m²], day."""

    elevation: float
    azimuth: float
    dni: float
    dhi: float
    ghi: float
    day: int

    def incidence(self, tilt: float, facing: float) -> float:
        """Cosine between sun and surface normal, by vectors; not below zero."""
        e, a, b, f = np.radians([self.elevation, self.azimuth, tilt, facing])
        sun = np.array([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)])
        normal = np.array([np.sin(b) * np.sin(f), np.sin(b) * np.cos(f), np.cos(b)])
        return max(float(sun @ normal), 0.0)

    @property
    def extraterrestrial(self) -> float:
        """Normal irradiance outside the atmosphere, Spencer 1971, 1366.1 W/m²."""
        d = 2 * np.pi * (self.day - 1) / 365.0
        swing = 1.00011 + 0.034221 * np.cos(d) + 0.00128 * np.sin(d) + 7.19e-4 * np.cos(2 * d) + 7.7e-5 * np.sin(2 * d)
        return float(1366.1 * swing)

    def on(self, tilt: float, facing: float, model: str) -> float:
        """Irradiance of a surface [W/m²] by a sky model."""
        towards, view = self.incidence(tilt, facing), (1.0 + np.cos(np.radians(tilt))) / 2.0
        ground = self.ghi * ALBEDO * (1.0 - np.cos(np.radians(tilt))) / 2.0
        return float(self.dni * towards + getattr(self, f"_{model}")(towards, view, tilt) + ground)

    def _isotropic(self, towards: float, view: float, tilt: float) -> float:
        return self.dhi * view

    def _haydavies(self, towards: float, view: float, tilt: float) -> float:
        share = self.dni / self.extraterrestrial
        ratio = towards / max(np.sin(np.radians(self.elevation)), 0.01745)
        return float(self.dhi * (share * ratio + (1.0 - share) * view))

    def _perez(self, towards: float, view: float, tilt: float) -> float:
        zenith = 90.0 - self.elevation
        z = np.radians(zenith)
        mass = 1.0 / (np.cos(z) + 0.50572 * (96.07995 - zenith) ** -1.6364)
        brightness = self.dhi * mass / self.extraterrestrial
        clearness = ((self.dhi + self.dni) / self.dhi + 1.041 * z**3) / (1.0 + 1.041 * z**3)
        f11, f12, f13, f21, f22, f23 = PEREZ[int(np.searchsorted(PEREZ_BINS, clearness, side="right"))]
        f1 = max(f11 + f12 * brightness + f13 * z, 0.0)
        f2 = f21 + f22 * brightness + f23 * z
        ratio = towards / max(np.cos(z), np.cos(np.radians(85.0)))
        return float(max(self.dhi * ((1 - f1) * view + f1 * ratio + f2 * np.sin(np.radians(tilt))), 0.0))


PEREZ_BINS = (1.065, 1.230, 1.500, 1.950, 2.800, 4.500, 6.200)
#: F11, F12, F13, F21, F22, F23 by sky clearness, Perez et al. 1990, table 6 (from memory)
PEREZ = (
    (-0.008, 0.588, -0.062, -0.060, 0.072, -0.022),
    (0.130, 0.683, -0.151, -0.019, 0.066, -0.029),
    (0.330, 0.487, -0.221, 0.055, -0.064, -0.026),
    (0.568, 0.187, -0.295, 0.109, -0.152, -0.014),
    (0.873, -0.392, -0.362, 0.226, -0.462, 0.001),
    (1.132, -1.237, -0.412, 0.288, -0.823, 0.056),
    (1.060, -1.600, -0.359, 0.264, -1.127, 0.131),
    (0.678, -0.327, -0.250, 0.156, -1.377, 0.251),
)


def inclined() -> list[Comparison]:
    """Irradiance on walls and roofs by the three sky models, a half-clear day in spring and one in winter.

    40° N, 105° W.  Direct normal 700 and diffuse 120 W/m² scaled by the sine of the sun's elevation to the power
    0.3 and 0.8, global from both.  Surfaces: level; roof 30° south; walls south, east, north.
    Albedo 0.2.  The sun's place is the package's, the geometry and the models are written down here.
    """
    surfaces = {"level": (0.0, 180.0), "roof 30°, south": (30.0, 180.0), "wall, south": (90.0, 180.0),
                "wall, east": (90.0, 90.0), "wall, north": (90.0, 0.0)}  # fmt: skip
    found = []
    for day in (datetime(2001, 4, 10), datetime(2001, 12, 5)):
        place = PLACES["40° N 105° W"]
        elevation, azimuth = solar_position(_year(day, 24, place, -7.0))
        sine = np.maximum(np.sin(np.radians(elevation)), 0.0)
        dni, dhi = 700.0 * sine**0.3, 120.0 * sine**0.8
        ghi = dni * sine + dhi
        year = _year(day, 24, place, -7.0, (ghi, dni, dhi))
        lit = np.flatnonzero(elevation > 1.0)
        number = day.timetuple().tm_yday
        beams = [Beam(elevation[k], azimuth[k], dni[k], dhi[k], ghi[k], number) for k in lit]
        models: tuple[DiffuseModel, ...] = ("isotropic", "haydavies", "perez")
        for model in models:
            for name, (tilt, facing) in surfaces.items():
                computed = plane_irradiance(year, tilt, facing, albedo=ALBEDO, model=model).total[lit]
                expected = [beam.on(tilt, facing, model) for beam in beams]
                found.append(
                    compare(name, MODELS[model], f"irradiance, {model}, {day:%d %b} [W/m²]", lit + 0.5, computed,
                            expected, 1e-6, axis="local standard time [h]")
                )  # fmt: skip
    return found


def view_factors() -> list[Comparison]:
    """Share of the sky that inclined surfaces see past long obstructions, against the integral over the hemisphere.

    F = 1/pi times the integral of the cosine over the part of the upper hemisphere that is visible; the profile
    angle of each direction decides whether an obstruction hides it.  Integrated over the profile plane and across it.
    """
    tilts = np.linspace(0.0, 180.0, 13)
    found = []
    for name, front, behind in (("open horizon", 0.0, 0.0), ("30° in front", 30.0, 0.0), ("90° behind", 0.0, 90.0)):
        computed = [longwave.sky_view_factor(float(t), front, behind) for t in tilts]
        expected = [_sky_seen(float(t), front, behind) for t in tilts]
        found.append(
            compare(name, "integral over the hemisphere, computed here", "sky view factor [-]", tilts, computed,
                    expected, 1e-5, axis="slope of the surface [°]")
        )  # fmt: skip
    return found


def _sky_seen(tilt: float, front: float, behind: float, parts: int = 1080) -> float:
    """Integral in profile angle p (from the front horizon) and angle q out of the profile plane."""
    p = np.pi * (np.arange(parts) + 0.5) / parts
    nodes, weights = np.polynomial.legendre.leggauss(40)
    q = 0.5 * np.pi * nodes
    seen = (p > np.radians(front)) & (p < np.pi - np.radians(behind))
    b = np.radians(tilt)
    # the direction (cos q cos p, cos q sin p, sin q), normal (sin b, cos b, 0): solid angle cos q dq dp
    towards = np.maximum(np.sin(b) * np.cos(p) + np.cos(b) * np.sin(p), 0.0)
    across = 0.5 * np.pi * float(weights @ np.cos(q) ** 2)
    return float(across * np.sum(towards * seen) * np.pi / parts / np.pi)


def sky() -> list[Comparison]:
    """Emissivity, temperature and longwave of the sky over humidity and cloud, by the equations written again.

    Clear: 0.711 + 0.56 x + 0.73 x², x dew point over 100 °C.  Cloud N tenths: times 1 + 0.0224 N - 0.0035 N²
    + 0.00028 N³, at most 1.  The black body that radiates as much: T_sky = eps^(1/4) T.  A second published
    correlation (Swinbank, air temperature alone) shows how far such fits lie apart; it has no limit.
    """
    clear_source = "Berdahl & Martin 1984, Solar Energy 32, 663 (from memory)"
    cloud_source = "Walton 1983, NBSIR 83-2655 (from memory)"
    air = np.linspace(-20.0, 35.0, 12)
    found = []
    for rh in (0.5, 0.8):
        dew = dew_point(vapour_pressure(air, rh))
        clear = np.polyval([0.73e-4, 0.56e-2, 0.711], dew)
        computed = longwave.sky_temperature(air, longwave.clear_sky_emissivity(dew))
        apart = longwave.swinbank_sky_temperature(air) - computed
        found.append(
            compare(f"clear, {rh:.0%}", clear_source, "sky temperature [°C]", air, computed,
                    np.sqrt(np.sqrt(clear)) * (air + 273.15) - 273.15, 1e-9, axis="air temperature [°C]",
                    extra={"Swinbank less this, least [K]": float(apart.min()),
                           "Swinbank less this, largest [K]": float(apart.max())})
        )  # fmt: skip
    tenths = np.arange(11.0)
    for t in (-10.0, 10.0, 25.0):
        point = float(dew_point(vapour_pressure(t, 0.7)))
        bare = float(np.polyval([0.73e-4, 0.56e-2, 0.711], point))
        cloudy = np.minimum(bare * np.polyval([0.00028, -0.0035, 0.0224, 1.0], tenths), 1.0)
        found.append(
            compare(f"{t:g} °C, 70 %", f"{cloud_source}; {clear_source}; sigma from h, k, c of CODATA 2018",
                    "longwave of the sky [W/m²]", tenths, longwave.sky_longwave(t, point, tenths),
                    cloudy * SIGMA * (t + 273.15) ** 4, 1e-5, axis="cloud [tenths]")
        )  # fmt: skip
    return found
