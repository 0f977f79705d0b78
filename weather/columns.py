"""The hourly quantities of a weather year: name, unit, meaning, and the range beyond which a value is an error."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One hourly quantity.

    Parameters
    ----------
    unit : str
        Unit in which it is kept, as written in files.
    low, high : float
        Accepted range, in `unit`; a value outside cannot be weather at the ground.
    meaning : str
        What the value of an hour stands for.
    """

    unit: str
    low: float
    high: float
    meaning: str


COLUMNS: dict[str, Column] = {
    "temperature": Column("degC", -70.0, 60.0, "dry-bulb air temperature"),
    "relative_humidity": Column("1", 0.0, 1.05, "relative humidity over water, as reported by stations"),
    "dew_point": Column("degC", -90.0, 40.0, "dew-point temperature over water"),
    "wind_speed": Column("m/s", 0.0, 75.0, "wind speed, 10 m above open ground"),
    "wind_direction": Column("deg", 0.0, 360.0, "direction the wind comes from, clockwise from north"),
    "pressure": Column("Pa", 45_000.0, 110_000.0, "air pressure at the station"),
    "ghi": Column("W/m^2", 0.0, 1500.0, "global horizontal irradiance, mean over the hour"),
    "dni": Column("W/m^2", 0.0, 1500.0, "direct normal irradiance, mean over the hour"),
    "dhi": Column("W/m^2", 0.0, 1500.0, "diffuse horizontal irradiance, mean over the hour"),
    "sky_longwave": Column("W/m^2", 50.0, 700.0, "longwave irradiance from the sky on a horizontal plane"),
    "cloud_cover": Column("tenth", 0.0, 10.0, "share of the sky covered by cloud"),
    "rain": Column("mm/h", 0.0, 305.0, "liquid precipitation on level ground, total of the hour"),
    "snow_depth": Column("m", 0.0, 20.0, "depth of snow on the ground"),
    "present_weather": Column("1", -1.0, 99.0, "present-weather code, WMO table 4677; -1 where not reported"),
}
"""All known columns. The upper limit of `rain` is the largest hour on record, 305 mm (Holt, 1947; World
Meteorological Organization, world weather extremes archive; from memory, to be checked). The other limits are
just beyond the extremes of that archive (from memory, to be checked)."""

REQUIRED = ("temperature", "relative_humidity", "wind_speed", "wind_direction", "ghi")
"""Columns that a weather file must have; the dew point may stand in for the relative humidity."""
