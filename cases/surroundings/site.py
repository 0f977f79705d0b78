"""What a site makes of the weather on wall and ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BeforeValidator

from stemwall.cases.inputs.field_types import PRACTICE, Spelling, Strict, described
from stemwall.cases.inputs.quantities import (
    WATER_TABLE,
    Amplitude,
    Angle,
    CoverResistance,
    DegreeDay,
    Diffusivity,
    Elevation,
    Exposure,
    Fraction,
    GroundTemperature,
    HouseHeight,
    Kind,
    LeafArea,
    RainHeight,
    RoofDepth,
    RootDepth,
    SdValue,
    SnowDensity,
    SnowTemperature,
    SplashHeight,
    StripWidth,
    Topography,
    read,
)
from stemwall.materials.ranges import Quantity
from stemwall.materials.water import AIR_PERMEABILITY
from stemwall.weather.plants import LEAF_AREA
from stemwall.weather.rain import TerrainCategory
from stemwall.weather.snow import SnowModel

MEMORY = "(from memory, to be checked)"


def _or_false(value: object, kind: Kind) -> object:
    return None if value is None or value is False else read(value, kind)


class DrivingRain(Strict):
    """Rain that the wind drives on walls."""

    method: Literal["ASHRAE 160", "ISO 15927-3"] = described("ASHRAE 160", '"ASHRAE 160" or "ISO 15927-3"')
    exposure: Exposure = described(
        1.0, "ASHRAE 160: exposure factor; about 0.7 sheltered, 1.4 severe", f"medium, walls up to 10 m high {MEMORY}"
    )
    deposition: Fraction = described(
        0.35,
        "ASHRAE 160: deposition factor; 0.5 below a low-slope roof, 1 with run-off",
        f"below a steep roof {MEMORY}",
    )
    terrain: TerrainCategory = described(
        "III", "ISO 15927-3: I open sea or flat, II farmland, III suburb, IV city", "suburb; a plain choice"
    )
    height: RainHeight = described(
        "2 m", "ISO 15927-3: height above ground", "the foot of a wall; the law is constant below 8 m in a suburb"
    )
    topography: Topography = described(1.0, "ISO 15927-3: topography factor", f"flat ground {MEMORY}")
    obstruction: Fraction = described(
        1.0, "ISO 15927-3: obstruction factor; 0.2 sheltered", f"none within 120 m {MEMORY}"
    )
    wall: Fraction = described(0.4, "ISO 15927-3: wall factor", f"two-storey wall {MEMORY}")


class Shade(Strict):
    """What stands between the sky and the section."""

    horizon: Elevation = described(
        0.0, "elevation of a long obstruction parallel to the wall, before it, in degrees", "open horizon"
    )
    sunlit: Fraction = described(
        1.0, "share of the direct sun that reaches wall and ground, e.g. past trees", "no trees"
    )


def _gutter(value: object) -> object:
    return float(value) if isinstance(value, bool) else value


class Roof(Strict):
    """The roof that drains to the eaves above the section."""

    depth: RoofDepth = described(
        "4 m", "level depth of the roof that drains here", "half of a house 8 m wide; common practice, no source"
    )
    run_off: Fraction = described(0.9, "share of rain and meltwater that runs off", f"pitched roof; {PRACTICE}")
    gutter: Annotated[Fraction, BeforeValidator(_gutter)] = described(
        1.0, "share of the run-off that gutters lead away: true for all, false for none", "a gutter that works"
    )

    @property
    def drips(self) -> bool:
        """Whether any water falls from the eaves."""
        return self.depth * self.run_off * (1.0 - self.gutter) > 0


class Strip(Strict):
    """The strip of ground beside the wall, on which the roof drips; drawn only where it differs."""

    width: StripWidth = described("2 ft", "width of the strip", PRACTICE)
    rain_share: Fraction = described(1.0, "share of rain and snow that falls past the eaves on the strip", "no eaves")
    splash: Fraction = described(
        0.0, "share of what falls on the strip that strikes the foot of the wall", "0: none by default; 0.1 is a guess"
    )
    splash_height: SplashHeight = described("1 ft", "height to which it splashes", "splash zone of 0.3 m; " + PRACTICE)
    house_height: HouseHeight = described(
        0.0, "height of the house that takes sky and sun from the strip; 0 for none", "0: not counted by default"
    )


class Snow(Strict):
    """Snow on the ground: a degree-day model, and the depth of the weather file where it has one."""

    counted: bool = described(True, "whether cold precipitation lies as snow; without frost it changes nothing")
    threshold: SnowTemperature = described(
        1.0,
        "precipitation below this air temperature is snow",
        f"mean of the northern hemisphere, Jennings 2018 {MEMORY}",
    )
    degree_day_factor: DegreeDay = described(
        3.0,
        "melt per kelvin above 0 °C and day, in mm/(K d)",
        f"2–6 in the open, Hock 2003 {MEMORY}",
    )
    fresh_density: SnowDensity = described(100.0, "density of new snow in kg/m3", f"Verseghy 1991 {MEMORY}")
    settled_density: SnowDensity = described(
        300.0, "density towards which snow settles, in kg/m3", f"Verseghy 1991 {MEMORY}"
    )
    albedo: Fraction = described(
        0.7, "share of the sun that snow reflects", f"between new 0.85 and old 0.5; {PRACTICE}"
    )

    @property
    def model(self) -> SnowModel:
        """Parameters of the degree-day model."""
        return SnowModel(
            threshold=self.threshold,
            degree_day_factor=self.degree_day_factor,
            fresh_density=self.fresh_density,
            settled_density=self.settled_density,
        )


@dataclass(frozen=True)
class CoverData:
    """Thermal resistance [m2 K/W], albedo, emissivity, equivalent air-layer thickness [m], leaf area of a cover [-]."""

    resistance: float
    albedo: float
    emissivity: float
    sd: float
    leaf_area: float = 0.0


COVERS: dict[str, CoverData] = {
    # a decimetre of standing grass; albedo and leaf area of the reference crop of FAO Irrigation and Drainage Paper
    # 56 (from memory, to be checked).  Between ground and leaves air resists heat and vapour by some 200 s/m (Norman,
    # Kustas, Humes 1995: 1/(0.004 + 0.012 u) s/m in air of 0.1 m/s; from memory, to be checked): 0.17 m2K/W, 5 mm of
    # still air.  Longwave of 5 W/(m2 K) beside it leaves 0.10 m2K/W
    "grass": CoverData(0.10, 0.23, 0.95, 0.005, LEAF_AREA),
    # 50 mm of coarse bark at 0.1 W/(m K), as open to vapour as air; common practice, no source
    "mulch": CoverData(0.50, 0.15, 0.95, 0.05),
    # 50 mm of dry gravel at 0.7 W/(m K), as open to vapour as air; common practice, no source
    "gravel": CoverData(0.07, 0.30, 0.95, 0.05),
}


class GroundCover(Strict):
    """What grows or lies on the ground outdoors."""

    kind: Literal["bare", "grass", "mulch", "gravel"] = described("bare", '"bare", "grass", "mulch" or "gravel"')
    resistance: CoverResistance | None = described(
        None, "thermal resistance of the cover; by default 0.10 m2K/W for grass, 0.50 for mulch, 0.07 for gravel"
    )
    sd: SdValue | None = described(
        None,
        "equivalent air-layer thickness of the cover, or its permeance; by default 5 mm for grass, 50 mm for mulch "
        "and gravel; snow on it lets no vapour pass",
    )
    albedo: Fraction | None = described(
        None,
        "share of the sun that it reflects; by default 0.23 for grass, 0.15 for mulch, 0.30 for gravel, site.albedo "
        "for bare ground",
    )
    emissivity: Fraction | None = described(None, "longwave emissivity; by default 0.95 for grass, mulch and gravel")
    leaf_area: LeafArea | None = described(
        None,
        "leaf area index: leaves evaporate what roots draw from the soil, and shade it; by default 2.88 for grass, 0 "
        "for others",
    )
    root_depth: RootDepth = described(
        0.5, "depth that roots draw water from", f"turf 0.5 to 1.0 m, FAO Irrigation and Drainage Paper 56 {MEMORY}"
    )


def _snow(value: object) -> object:
    return {"counted": value} if isinstance(value, bool) else value


class Site(Strict):
    """Where the section stands."""

    wall_azimuth: Angle = described(
        180.0, "direction the exterior face looks, clockwise from north", "south; a plain choice"
    )
    soil: str = described("soil_loam", "material of the native soil")
    water_table: Annotated[
        float | None,
        Quantity(WATER_TABLE, _or_false, read),
        Spelling(f"{WATER_TABLE.name}, e.g. {WATER_TABLE.examples}, or false"),
    ] = described("3 m", "depth of the water table below grade, or false for free drainage", PRACTICE)
    albedo: Fraction = described(
        0.2,
        "share of the sun that bare ground outside reflects on the wall; what the ground itself takes in follows the "
        "absorptance of its material",
        "grass and soil; common practice, no source",
    )
    wind_share: Fraction = described(0.4, "wind speed near the ground as a share of the station's 10 m wind", PRACTICE)
    ground_from: Literal["surface balance", "air"] = described(
        "surface balance",
        '"surface balance": the ground begins, and is held at the lower edge, as a column of the site\'s soil settles '
        'under its weather and cover; "air": the yearly wave of the air, which is often 1 to 3 K too cold',
    )
    ground_mean: GroundTemperature | None = described(
        None, "yearly mean temperature of the ground surface; by default what ground_from says"
    )
    ground_amplitude: Amplitude | None = described(
        None, "yearly amplitude of the ground surface; by default what ground_from says"
    )
    ground_diffusivity: Diffusivity = described(
        0.05,
        "thermal diffusivity of the ground, m2/day, for a stated wave and that of the air",
        "moist loam, about 0.6 mm2/s; common practice, no source",
    )
    driving_rain: DrivingRain = described(DrivingRain(), "rain that the wind drives on walls")
    roof: Roof = described(Roof(), "the roof that drains to the eaves above the section")
    strip: Strip = described(Strip(), "the strip of ground beside the wall")
    shade: Shade = described(Shade(), "what stands between the sky and the section")
    snow: Annotated[Snow, BeforeValidator(_snow)] = described(Snow(), "snow on the ground; or true, or false")
    cover: GroundCover = described(GroundCover(), "what grows or lies on the ground outdoors")

    @property
    def strip_differs(self) -> bool:
        """Whether the strip beside the wall has loads of its own."""
        strip = self.strip
        return self.roof.drips or strip.rain_share < 1 or strip.splash > 0 or strip.house_height > 0

    @property
    def covered(self) -> bool:
        """Whether the ground has other radiative properties than the soil itself."""
        return self.cover.kind != "bare" or self.cover.albedo is not None or self.cover.emissivity is not None

    @property
    def cover_resistance(self) -> float:
        """Thermal resistance of the ground cover [m2 K/W]."""
        return self._of_cover(self.cover.resistance, "resistance", 0.0)

    @property
    def cover_vapour_resistance(self) -> float:
        """Vapour resistance of the ground cover [m2 s Pa/kg]."""
        return self._of_cover(self.cover.sd, "sd", 0.0) / AIR_PERMEABILITY

    @property
    def cover_leaf_area(self) -> float:
        """Leaf area index of the ground cover [-]."""
        return self._of_cover(self.cover.leaf_area, "leaf_area", 0.0)

    @property
    def ground_albedo(self) -> float:
        """Share of the sun that the ground outside reflects [-]."""
        return self._of_cover(self.cover.albedo, "albedo", self.albedo)

    @property
    def ground_emissivity(self) -> float:
        """Longwave emissivity of the ground outside [-]; 0.95 if bare, not used then."""
        return self._of_cover(self.cover.emissivity, "emissivity", 0.95)

    def _of_cover(self, stated: float | None, name: str, bare: float) -> float:
        if stated is not None:
            return stated
        return float(getattr(COVERS[self.cover.kind], name)) if self.cover.kind in COVERS else bare
