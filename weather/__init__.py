"""What the outside does: hourly weather, its readers and checks, sun, sky, rain, ground temperature, surface
films."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stemwall.weather.columns import COLUMNS
    from stemwall.weather.daily import MeasuredDays, read_days
    from stemwall.weather.epw import read_epw
    from stemwall.weather.errors import Problem, WeatherError
    from stemwall.weather.film import indoor_convection, indoor_film, outdoor_convection, radiative_coefficient
    from stemwall.weather.ground import GroundWave, fit_ground_wave
    from stemwall.weather.moistair import (
        air_density,
        dew_point,
        relative_humidity,
        saturation_pressure,
        vapour_film_coefficient,
        vapour_pressure,
    )
    from stemwall.weather.netcdf import read_netcdf, to_dataset, write_netcdf
    from stemwall.weather.rain import (
        airfield_driving_rain,
        roof_spill,
        strip_water,
        terrain_roughness_coefficient,
        wall_rain_ashrae,
        wall_rain_iso,
    )
    from stemwall.weather.read import read_weather
    from stemwall.weather.sky import (
        clear_sky_emissivity,
        cloudy_sky_emissivity,
        incoming_longwave,
        sky_longwave,
        sky_temperature,
        sky_view_factor,
    )
    from stemwall.weather.snow import SnowModel, SnowPack, snow_conductivity, snow_pack, snow_resistance
    from stemwall.weather.solar import PlaneIrradiance, plane_irradiance, solar_position
    from stemwall.weather.synthetic import scaled_rain, synthetic_rain
    from stemwall.weather.table import read_csv, write_csv
    from stemwall.weather.tmy3 import read_tmy3
    from stemwall.weather.year import WeatherYear

__all__ = [
    "COLUMNS",
    "GroundWave",
    "MeasuredDays",
    "PlaneIrradiance",
    "Problem",
    "SnowModel",
    "SnowPack",
    "WeatherError",
    "WeatherYear",
    "air_density",
    "airfield_driving_rain",
    "clear_sky_emissivity",
    "cloudy_sky_emissivity",
    "dew_point",
    "fit_ground_wave",
    "incoming_longwave",
    "indoor_convection",
    "indoor_film",
    "outdoor_convection",
    "plane_irradiance",
    "radiative_coefficient",
    "read_csv",
    "read_days",
    "read_epw",
    "read_netcdf",
    "read_tmy3",
    "read_weather",
    "relative_humidity",
    "roof_spill",
    "saturation_pressure",
    "scaled_rain",
    "sky_longwave",
    "sky_temperature",
    "sky_view_factor",
    "snow_conductivity",
    "snow_pack",
    "snow_resistance",
    "solar_position",
    "strip_water",
    "synthetic_rain",
    "terrain_roughness_coefficient",
    "to_dataset",
    "vapour_film_coefficient",
    "vapour_pressure",
    "wall_rain_ashrae",
    "wall_rain_iso",
    "write_csv",
    "write_netcdf",
]

#: module of each public name; the modules are imported when they are asked for, some of them are slow
_HOMES = {
    "columns": ("COLUMNS",),
    "daily": ("MeasuredDays", "read_days"),
    "epw": ("read_epw",),
    "errors": ("Problem", "WeatherError"),
    "film": ("indoor_convection", "indoor_film", "outdoor_convection", "radiative_coefficient"),
    "ground": ("GroundWave", "fit_ground_wave"),
    "moistair": (
        "air_density",
        "dew_point",
        "relative_humidity",
        "saturation_pressure",
        "vapour_film_coefficient",
        "vapour_pressure",
    ),
    "netcdf": ("read_netcdf", "to_dataset", "write_netcdf"),
    "rain": (
        "airfield_driving_rain",
        "roof_spill",
        "strip_water",
        "terrain_roughness_coefficient",
        "wall_rain_ashrae",
        "wall_rain_iso",
    ),
    "read": ("read_weather",),
    "sky": (
        "clear_sky_emissivity",
        "cloudy_sky_emissivity",
        "incoming_longwave",
        "sky_longwave",
        "sky_temperature",
        "sky_view_factor",
    ),
    "snow": ("SnowModel", "SnowPack", "snow_conductivity", "snow_pack", "snow_resistance"),
    "solar": ("PlaneIrradiance", "plane_irradiance", "solar_position"),
    "synthetic": ("scaled_rain", "synthetic_rain"),
    "table": ("read_csv", "write_csv"),
    "tmy3": ("read_tmy3",),
    "year": ("WeatherYear",),
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for."""
    for module, names in _HOMES.items():
        if name in names:
            value = globals()[name] = getattr(import_module(f"stemwall.weather.{module}"), name)
            return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
