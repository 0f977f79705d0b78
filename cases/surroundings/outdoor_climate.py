"""The outdoor climates of a section: air, sun, sky, wind, rain and snow on faces, by the direction they look.

The exterior face of the wall looks left; "up" is the ground.  The strip of ground beside the wall has a
climate of its own where eaves, gutters or the house make a difference.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS, cover_ground, split_outdoors
from stemwall.cases.surroundings.site import Site
from stemwall.solver.kernels.support.layout import L_V
from stemwall.solver.model.climate import LEWIS, Climate, Facing, FacingLoads, Leaves
from stemwall.solver.model.section import Section
from stemwall.weather.film import outdoor_convection
from stemwall.weather.moistair import saturation_pressure
from stemwall.weather.plants import leaf_vapour_conductance, shading
from stemwall.weather.rain import (
    StripWater,
    airfield_driving_rain,
    roof_spill,
    strip_water,
    terrain_roughness_coefficient,
    wall_rain_ashrae,
    wall_rain_iso,
)
from stemwall.weather.sky import incoming_longwave
from stemwall.weather.snow import SnowPack, hidden_share, lying_snow, no_snow, snow_pack, snow_resistance
from stemwall.weather.solar import plane_irradiance
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

SECONDS_PER_HOUR = 3600.0


def outdoors(year: WeatherYear, site: Site, start: datetime, hours: int, *, beside: bool = True) -> dict[str, Climate]:
    """Return the outdoor climates of a run: `OUTDOORS` and, if asked for, `BESIDE` the wall.

    Parameters
    ----------
    year : WeatherYear
        Whole years of weather.
    site : Site
        Orientation, surroundings, roof, strip, snow and cover.
    start : datetime
        First hour.
    hours : int
        Length [h].
    beside : bool
        Whether the strip beside the wall is wanted.
    """
    hourly = Hourly.of(year, site, start, hours)
    wall = hourly.wall(site.wall_azimuth, site.shade.horizon)
    facings: dict[Facing, FacingLoads] = {
        "left": wall,
        "right": hourly.wall((site.wall_azimuth + 180.0) % 360.0, 0.0),
        "up": hourly.ground(hourly.open_snow, hourly.open_snow.water, 0.0),
        "down": hourly.loads(180.0, 0.0, np.zeros(hours)),
    }
    note = f"{year.station or year.source}; rain: {year.rain_origin}"
    # stations state humidity over water; the solver takes saturation over ice below 0 degC
    humidity = (year.vapour_pressure / saturation_pressure(year.temperature))[hourly.index]
    climates = {OUTDOORS: Climate(OUTDOORS, hourly.air, humidity, facings, note)}
    if beside:
        own: dict[Facing, FacingLoads] = {**facings, **_beside(hourly, wall)}
        climates[BESIDE] = Climate(BESIDE, hourly.air, humidity, own, note)
    return climates


def _beside(hourly: Hourly, wall: FacingLoads) -> dict[Facing, FacingLoads]:
    """Loads on the strip and on the foot of the wall."""
    strip, pack = hourly.site.strip, hourly.snow(hourly.site.strip.rain_share)
    water = strip_loads(hourly.site, hourly.open_snow, pack)
    house = float(np.degrees(np.arctan2(strip.house_height, strip.width / 2)))
    rain = wall.rain + water.wall / SECONDS_PER_HOUR
    return {"up": hourly.ground(pack, water.ground, house), "left": replace(wall, rain=rain)}


def strip_loads(site: Site, open_snow: SnowPack, pack: SnowPack) -> StripWater:
    """Return the water on strip and foot of the wall.

    Parameters
    ----------
    site : Site
        Roof and strip.
    open_snow, pack : SnowPack
        Snow in the open, which the roof is taken to carry too, and on the strip.
    """
    roof, strip = site.roof, site.strip
    spill = roof_spill(open_snow.water, depth=roof.depth, run_off=roof.run_off, led_away=roof.gutter)
    return strip_water(pack.water, pack.rain, spill, width=strip.width, height=strip.splash_height, splash=strip.splash)


@dataclass(frozen=True, eq=False)
class Hourly:
    """The weather of a run at a site, every array of shape (hours,).

    Parameters
    ----------
    year : WeatherYear
        Whole years of weather.
    site : Site
        The site.
    index : ndarray of int
        Hour of the year that serves each hour of the run.
    open_snow : SnowPack
        Snow in the open.
    """

    year: WeatherYear
    site: Site
    index: NDArray[np.int64]
    open_snow: SnowPack

    @classmethod
    def of(cls, year: WeatherYear, site: Site, start: datetime, hours: int) -> Hourly:
        """Return the weather of a run."""
        index = year.hour_index(hours, start)
        return cls(year, site, index, _snow(year, site, index, 1.0))

    @property
    def air(self) -> Floats:
        """Air temperature [degC]."""
        return np.asarray(self.year.temperature[self.index])

    def snow(self, share: float) -> SnowPack:
        """Return the snow where a share of the precipitation arrives."""
        return _snow(self.year, self.site, self.index, share)

    def albedo(self) -> Floats:
        """Share of the sun that the open ground reflects [-]."""
        hidden = hidden_share(self.open_snow.depth)
        return np.asarray(self.site.ground_albedo * (1 - hidden) + self.site.snow.albedo * hidden)

    def wall(self, azimuth: float, horizon: float) -> FacingLoads:
        """Return the loads on a wall that faces ``azimuth`` [deg], before an obstruction [deg]."""
        return self.loads(90.0, azimuth, self._driven(azimuth), horizon)

    def _driven(self, azimuth: float) -> Floats:
        """Driving rain on a wall [kg/(m2 h)]; snow does not stick to it."""
        year, choice, rain = self.year, self.site.driving_rain, self.open_snow.rain
        speed, direction = year.wind_speed[self.index], year.wind_direction[self.index]
        if choice.method == "ASHRAE 160":
            return wall_rain_ashrae(
                speed, direction, rain, azimuth, exposure=choice.exposure, deposition=choice.deposition
            )
        return wall_rain_iso(
            airfield_driving_rain(speed, direction, rain, azimuth),
            roughness=terrain_roughness_coefficient(choice.height, choice.terrain),
            topography=choice.topography,
            obstruction=choice.obstruction,
            wall=choice.wall,
        )

    def ground(self, pack: SnowPack, water: Floats, house: float) -> FacingLoads:
        """Return the loads on the ground under its cover and snow.

        Parameters
        ----------
        pack : SnowPack
            Snow on it.
        water : Floats
            Water that arrives [mm/h].
        house : float
            Elevation of the house seen from there [deg].
        """
        site = self.site
        loads = self.loads(0.0, site.wall_azimuth, water, site.shade.horizon, house)
        return replace(
            loads,
            leaves=self._leaves(loads, pack),
            resistance=site.cover_resistance + snow_resistance(pack.depth, pack.density),
            vapour_resistance=np.where(pack.depth > 0.0, np.inf, site.cover_vapour_resistance),
            hidden=hidden_share(pack.depth),
            hidden_absorptance=1.0 - site.snow.albedo,
        )

    def _leaves(self, loads: FacingLoads, pack: SnowPack) -> Leaves | None:
        """Plants on the ground; under snow they rest, and all sun stays on top."""
        cover, bare = self.site.cover, pack.depth <= 0.0
        if self.site.cover_leaf_area == 0.0 or self.site.cover_resistance == 0.0:
            return None
        conductance = leaf_vapour_conductance(
            LEWIS * loads.convective, self.air, self.year.ghi[self.index], self.site.cover_leaf_area
        )
        shade = np.where(bare, shading(self.site.cover_leaf_area), 1.0)
        return Leaves(np.where(bare, L_V * conductance, 0.0), shade, cover.root_depth)

    def loads(
        self, tilt: float, azimuth: float, water: Floats, horizon: float = 0.0, house: float = 0.0
    ) -> FacingLoads:
        """Return the loads on a plane: film of ISO 6946 with the wind beside it, all radiation as it arrives.

        ``water`` is in mm/h, ``horizon`` and ``house`` are elevations before and behind the plane [deg].
        """
        year, shade = self.year, self.site.shade
        sun = plane_irradiance(year, tilt, azimuth, albedo=1.0, obstruction=horizon, behind=house, sunlit=shade.sunlit)
        longwave = incoming_longwave(year.sky_longwave, year.temperature, tilt, horizon, house)
        return FacingLoads(
            convective=outdoor_convection(self.site.wind_share * year.wind_speed)[self.index],
            radiative=np.zeros(self.index.size),
            longwave=longwave[self.index],
            solar=(sun.direct + sun.sky)[self.index] + self.albedo() * sun.ground[self.index],
            rain=np.asarray(water / SECONDS_PER_HOUR),
        )


def _snow(year: WeatherYear, site: Site, index: NDArray[np.int64], share: float) -> SnowPack:
    """Snow of a run where a share of the precipitation arrives.

    It begins with what lies there after whole years of this weather.  The depth is that of the weather file
    where it has one; water always follows the model, so that none is lost or made.
    """
    rain = np.zeros(year.hours) if year.rain is None else share * year.rain
    if not site.snow.counted:
        return no_snow(rain[index])
    model = site.snow.model
    before, last = lying_snow(year.temperature, rain, model), index[0] - 1
    pack = snow_pack(
        year.temperature[index],
        rain[index],
        model,
        start=float(before.equivalent[last]),
        start_density=float(before.density[last]),
    )
    return pack if year.snow_depth is None else replace(pack, depth=share * year.snow_depth[index])


def at_site(section: Section, site: Site) -> Section:
    """Return the section with the strip beside the wall and the cover of the ground, where the site has them."""
    if site.strip_differs:
        section = split_outdoors(section, site.strip.width, site.strip.splash_height)
    return cover_ground(section, site.ground_albedo, site.ground_emissivity) if site.covered else section
