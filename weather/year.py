"""The hourly weather that a simulation runs against.

Hour i is the interval [start + i h, start + (i + 1) h) of local standard time, without daylight saving.
Irradiances are means and rain is the total of that hour. Temperature, humidity, wind, pressure, cloud and
snow are the readings that the file gives for the hour; where it gives instants at the end of the hour (TMY3,
EPW) these stand for the whole hour.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import datetime
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.calendar import hours_of_leap_year, tile_index
from stemwall.weather.doubts import WARNING
from stemwall.weather.ground import GroundWave, fit_ground_wave
from stemwall.weather.moistair import FloatArray, dew_point_over_water, saturation_pressure_over_water

HOURLY = (
    "temperature",
    "relative_humidity",
    "wind_speed",
    "wind_direction",
    "pressure",
    "ghi",
    "dni",
    "dhi",
    "sky_longwave",
)
"""Names of the hourly arrays that are always there."""

OPTIONAL = ("cloud_cover", "rain", "snow_depth", "present_weather")
"""Names of the hourly arrays that may be None."""


@dataclass(frozen=True, eq=False)
class WeatherYear:
    """Hourly weather of one place, of one year or more; all arrays have shape (n,) and are read-only.

    Parameters
    ----------
    start : datetime
        Start of hour 0, local standard time, without time zone. Nominal where `typical` is true.
    temperature : ndarray
        Air temperature [°C].
    relative_humidity : ndarray
        Relative humidity over water, 0..1 [-].
    wind_speed : ndarray
        10 m above open ground [m/s].
    wind_direction : ndarray
        Where the wind comes from, clockwise from north [deg].
    pressure : ndarray
        Station pressure [Pa].
    ghi, dni, dhi : ndarray
        Global horizontal, direct normal, diffuse horizontal irradiance [W/m²].
    sky_longwave : ndarray
        Longwave irradiance from the sky on a horizontal plane [W/m²].
    cloud_cover : ndarray or None
        [tenths].
    rain : ndarray or None
        Liquid precipitation on level ground [mm/h].
    snow_depth : ndarray or None
        [m].
    present_weather : ndarray of int or None
        Code of WMO table 4677, -1 where missing.
    station : str
        Name of the place.
    latitude, longitude : float
        North and east positive [deg].
    elevation : float
        Above sea level [m].
    utc_offset : float
        Local standard time minus UTC [h].
    source : str
        File format, or file, that the data came from.
    provenance : str
        Who measured or published the data, and under which terms.
    rain_origin : str
        "measured", "none", or how the rain was made.
    typical : bool
        True if the months come from different years; `start` is then a nominal year.
    notes : tuple of str
        What was derived, filled, clipped or is missing.
    sha256 : str
        Digest of the file, empty if there was none.
    """

    start: datetime
    temperature: FloatArray
    relative_humidity: FloatArray
    wind_speed: FloatArray
    wind_direction: FloatArray
    pressure: FloatArray
    ghi: FloatArray
    dni: FloatArray
    dhi: FloatArray
    sky_longwave: FloatArray
    latitude: float
    longitude: float
    elevation: float
    utc_offset: float
    cloud_cover: FloatArray | None = None
    rain: FloatArray | None = None
    snow_depth: FloatArray | None = None
    present_weather: NDArray[np.int64] | None = None
    station: str = ""
    source: str = ""
    provenance: str = ""
    rain_origin: str = "none"
    typical: bool = False
    notes: tuple[str, ...] = ()
    sha256: str = ""

    def __post_init__(self) -> None:
        """Freeze the arrays and check that they have one length and no missing value."""
        for name, values in self.arrays().items():
            if values.shape != (self.hours,):
                raise ValueError(f"{name} has shape {values.shape}, temperature has {self.hours} hours")
            if not np.all(np.isfinite(values)):
                raise ValueError(f"{name} has a missing value at hour {int(np.argmin(np.isfinite(values)))}")
            frozen = values.copy()
            frozen.flags.writeable = False
            object.__setattr__(self, name, frozen)

    @property
    def hours(self) -> int:
        """Number of hours n."""
        return self.temperature.size

    def arrays(self) -> dict[str, NDArray[Any]]:
        """Hourly arrays by name, those that are None left out."""
        values = {name: getattr(self, name) for name in HOURLY + OPTIONAL}
        return {name: value for name, value in values.items() if value is not None}

    @cached_property
    def times(self) -> NDArray[np.datetime64]:
        """Start of each hour, local standard time, shape (n,)."""
        return np.datetime64(self.start, "s") + np.arange(self.hours) * np.timedelta64(3600, "s")

    @cached_property
    def months(self) -> NDArray[np.int64]:
        """Calendar month of each hour, 1..12, shape (n,)."""
        return self.times.astype("datetime64[M]").astype(np.int64) % 12 + 1

    @cached_property
    def days(self) -> FloatArray:
        """Middle of each hour in days since the start of its calendar year, shape (n,) [d]."""
        elapsed = self.times - self.times.astype("datetime64[Y]").astype("datetime64[s]")
        return np.asarray(elapsed.astype(np.float64) / 86_400 + 0.5 / 24)

    @cached_property
    def vapour_pressure(self) -> FloatArray:
        """Vapour pressure of the outdoor air [Pa], shape (n,); below 0 °C it may exceed saturation over ice."""
        return np.asarray(self.relative_humidity * saturation_pressure_over_water(self.temperature))

    @cached_property
    def dew_point(self) -> FloatArray:
        """Dew point over water [°C], shape (n,); for completely dry air, that of 0.1 Pa."""
        return dew_point_over_water(np.maximum(self.vapour_pressure, 0.1))

    def annual_mean_temperature(self) -> float:
        """Mean air temperature of all hours [°C]."""
        return float(self.temperature.mean())

    def annual_rain(self) -> float | None:
        """Mean rain of 8760 hours [mm/a], None without a rain column."""
        return None if self.rain is None else float(self.rain.mean() * 8760)

    def monthly_means(self) -> dict[str, FloatArray]:
        """Mean of each array by calendar month, shape (12,) each, nan for months without data.

        Codes and the wind direction have no mean and are left out; `rain` is the mean in mm/h.
        """
        count = np.bincount(self.months, minlength=13)[1:].astype(np.float64)
        count[count == 0] = np.nan
        named = {k: v for k, v in self.arrays().items() if k not in ("present_weather", "wind_direction")}
        return {k: np.asarray(np.bincount(self.months, v, minlength=13)[1:] / count) for k, v in named.items()}

    def ground_wave(self) -> GroundWave:
        """Annual wave fitted to the air temperature: mean [°C], amplitude [K], day of the minimum [d]."""
        return fit_ground_wave(self.days, self.temperature)

    def hour_index(self, hours: int, start: datetime) -> NDArray[np.int64]:
        """Hour of this weather that serves each hour of a run, shape (hours,).

        A measured record that has all dates of the run gives these. Otherwise month, day and hour of the calendar
        agree; weather of several years is repeated in order, from its first year. A 29 February that the weather lacks
        takes the 28th.

        Parameters
        ----------
        hours : int
            Length of the run [h].
        start : datetime
            First hour of the run, on the full hour.

        Raises
        ------
        ValueError
            If the weather holds neither the dates of the run nor whole years, or `start` is not on the hour.
        """
        first = (start - self.start).total_seconds() / 3600
        if not self.typical and first == int(first) and 0 <= first <= self.hours - hours:
            return np.arange(int(first), int(first) + hours, dtype=np.int64)
        return tile_index(self.start, self.hours, start, hours)

    def tiled(self, hours: int, start: datetime) -> WeatherYear:
        """Weather of a run of any length, repeated as `hour_index` says."""
        index = self.hour_index(hours, start)
        arrays: dict[str, Any] = {name: values[index] for name, values in self.arrays().items()}
        note = f"{self.hours} h from {self.start:%Y-%m-%d} repeated over {hours} h from {start:%Y-%m-%d}"
        return replace(self, start=start, notes=(*self.notes, note), **arrays)

    def with_rain(self, rain: FloatArray, origin: str, note: str) -> WeatherYear:
        """Copy with other rain [mm/h], its origin, and a note that says how it was made.

        Warnings about the rain that it had become notes.
        """
        notes = (text.removeprefix(WARNING) if "rain: " in text else text for text in self.notes)
        return replace(self, rain=rain, rain_origin=origin, notes=(*notes, note))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Notes that a reader must not miss."""
        return tuple(text.removeprefix(WARNING) for text in self.notes if text.startswith(WARNING))

    def summary(self) -> dict[str, Any]:
        """Plain values for a report: where, when, means, extremes, what was derived."""
        wave = self.ground_wave()
        skip = {"start", *HOURLY, *OPTIONAL}
        described = {f.name: getattr(self, f.name) for f in fields(self) if f.name not in skip}
        return described | {
            "start": self.start.isoformat(),
            "hours": self.hours,
            "leap_day": bool(np.any(hours_of_leap_year(self.times) // 24 == 59)),
            "temperature_mean_degC": self.annual_mean_temperature(),
            "temperature_min_degC": float(self.temperature.min()),
            "temperature_max_degC": float(self.temperature.max()),
            "temperature_amplitude_K": wave.amplitude,
            "coldest_day": wave.coldest_day,
            "relative_humidity_mean": float(self.relative_humidity.mean()),
            "vapour_pressure_mean_Pa": float(self.vapour_pressure.mean()),
            "wind_speed_mean_m_s": float(self.wind_speed.mean()),
            "ghi_kWh_m2_a": float(self.ghi.mean() * 8.76),
            "sky_longwave_mean_W_m2": float(self.sky_longwave.mean()),
            "rain_mm_a": self.annual_rain(),
        }
