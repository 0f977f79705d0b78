"""What the site does to the weather, in words, for the result file and the report."""

from __future__ import annotations

from stemwall.cases.surroundings.site import Site
from stemwall.materials.water import AIR_PERMEABILITY
from stemwall.weather.frost import air_freezing_index
from stemwall.weather.year import WeatherYear


def notes(site: Site, year: WeatherYear) -> dict[str, str]:
    """Return a line by subject; subjects that change nothing are left out."""
    found = {
        "driving_rain": _driving_rain(site),
        "roof_water": _roof_water(site),
        "strip": _strip(site),
        "shade": _shade(site),
        "snow": _snow(site, year),
        "ground_cover": _cover(site),
        "frost": _frost(year),
    }
    return {subject: text for subject, text in found.items() if text}


def _frost(year: WeatherYear) -> str:
    index = air_freezing_index(year.temperature)
    return f"air-freezing index of this weather {index:.0f} K d ({1.8 * index:.0f} degF d)" if index > 0 else ""


def _driving_rain(site: Site) -> str:
    rain = site.driving_rain
    if rain.method == "ASHRAE 160":
        return f"ASHRAE 160, exposure {rain.exposure:g}, deposition {rain.deposition:g}"
    return (
        f"ISO 15927-3, terrain {rain.terrain}, {rain.height:.3g} m above ground, topography {rain.topography:g}, "
        f"obstruction {rain.obstruction:g}, wall {rain.wall:g}"
    )


def _roof_water(site: Site) -> str:
    roof = site.roof
    if not roof.drips:
        return "gutters lead away all water of the roof" if roof.depth > 0 else ""
    return (
        f"{roof.depth:.3g} m of roof drain to the eaves, {roof.run_off:.0%} of the water runs off, gutters lead away "
        f"{roof.gutter:.0%} of it; the rest falls on a strip {site.strip.width:.3g} m wide beside the wall"
    )


def _strip(site: Site) -> str:
    strip = site.strip
    if not site.strip_differs:
        return ""
    return (
        f"{strip.width:.3g} m beside the wall receive {strip.rain_share:.0%} of the rain; {strip.splash:.0%} of "
        f"what falls there strikes the wall up to {strip.splash_height:.3g} m; "
        f"{strip.house_height:.3g} m of house stand in its sky"
    )


def _shade(site: Site) -> str:
    shade = site.shade
    if shade.horizon == 0 and shade.sunlit == 1:
        return ""
    return f"obstruction before the wall up to {shade.horizon:.3g}°, {shade.sunlit:.0%} of the direct sun arrives"


def _snow(site: Site, year: WeatherYear) -> str:
    snow = site.snow
    if not snow.counted:
        return "not counted: all precipitation is rain"
    depth = "depth of the degree-day model" if year.snow_depth is None else "depth of the weather file"
    return (
        f"precipitation below {snow.threshold:.3g} °C, melting {snow.degree_day_factor:g} mm per kelvin and day; "
        f"{depth}; conductivity by density, Sturm 1997 (from memory, to be checked); albedo {snow.albedo:g}; "
        "no vapour passes it"
    )


def _cover(site: Site) -> str:
    if not site.covered and site.cover_resistance == 0 and site.cover_vapour_resistance == 0:
        return ""
    return (
        f"{site.cover.kind}: {site.cover_resistance:.3g} m²K/W, albedo {site.ground_albedo:.3g}, as open to vapour as "
        f"{site.cover_vapour_resistance * AIR_PERMEABILITY * 1000:.3g} mm of still air; {_plants(site)}"
    )


def _plants(site: Site) -> str:
    if site.cover_leaf_area == 0:
        return "no plants"
    return (
        f"leaves {site.cover_leaf_area:.3g} times the ground evaporate what roots draw from its upper "
        f"{site.cover.root_depth:.3g} m (FAO Irrigation and Drainage Paper 56, from memory, to be checked)"
    )
