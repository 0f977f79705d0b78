"""Given indoor air: constant, a yearly wave, or hourly values from a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator, model_validator

from stemwall.cases.fields import Strict, described
from stemwall.cases.quantities import HUMIDITY, TEMPERATURE, Humidity, Temperature, read

Floats: TypeAlias = NDArray[np.float64]
HOURS_PER_DAY, DAYS_PER_YEAR = 24.0, 365.0


class TemperatureWave(Strict):
    """A yearly wave between a winter and a summer temperature."""

    winter: Temperature
    summer: Temperature
    peak_day: int = described(
        200, "day of the year of the summer value", "19 July, common practice, no source"
    )


class HumidityWave(Strict):
    """A yearly wave between a winter and a summer relative humidity."""

    winter: Humidity
    summer: Humidity
    peak_day: int = described(
        200, "day of the year of the summer value", "19 July, common practice, no source"
    )


def _constant_or_wave(wave: type[Strict], kind: Any) -> Callable[[object], object]:
    """Return a validator that takes a quantity or a table { winter, summer }."""

    def validate(value: object) -> object:
        if value is None or isinstance(value, wave):
            return value
        return wave.model_validate(value) if isinstance(value, dict) else read(value, kind)

    return validate


class Air(Strict):
    """The air of one space: either temperature and humidity, or a file with both."""

    temperature: Annotated[
        float | TemperatureWave | None, BeforeValidator(_constant_or_wave(TemperatureWave, TEMPERATURE))
    ] = described(None, 'a quantity, or { winter = "63 degF", summer = "72 degF" }')
    humidity: Annotated[
        float | HumidityWave | None, BeforeValidator(_constant_or_wave(HumidityWave, HUMIDITY))
    ] = described(None, 'a quantity, or { winter = "40 %", summer = "60 %" }')
    file: str | None = described(
        None,
        "CSV file with columns temperature [degC] and relative_humidity [%], one row an hour, whole years",
    )

    @model_validator(mode="after")
    def _complete(self) -> Air:
        given = [name for name in ("temperature", "humidity") if getattr(self, name) is not None]
        if (self.file is None) == (len(given) == 0) or (self.file is None and len(given) == 1):
            raise ValueError("temperature and humidity, or a file with both")
        return self

    def series(self, day: Floats, folder: Path) -> tuple[Floats, Floats]:
        """Return temperature [degC] and relative humidity [-] at the middle of each hour.

        Parameters
        ----------
        day : Floats
            Days since the start of the calendar year, going on over later years [d].
        folder : Path
            Folder that a relative file name starts from.
        """
        if self.file is not None:
            temperature, humidity = read_air_file(folder / self.file)
            hour = np.floor(day * HOURS_PER_DAY).astype(np.int64) % temperature.size
            return temperature[hour], humidity[hour]
        assert self.temperature is not None
        assert self.humidity is not None
        return _values(self.temperature, day), _values(self.humidity, day)

    def describe(self) -> str:
        """Return one line that says what was given."""
        if self.file is not None:
            return f"hourly values from {self.file}"
        assert self.temperature is not None
        assert self.humidity is not None
        return (
            f"temperature {_words(self.temperature, 1, ' °C')}, humidity {_words(self.humidity, 100, ' %')}"
        )


def _values(given: float | TemperatureWave | HumidityWave, day: Floats) -> Floats:
    if isinstance(given, float):
        return np.full(day.size, given)
    mean, half = (given.summer + given.winter) / 2, (given.summer - given.winter) / 2
    return np.asarray(mean + half * np.cos(2 * np.pi * (day - given.peak_day) / DAYS_PER_YEAR))


def _words(given: float | TemperatureWave | HumidityWave, factor: float, unit: str) -> str:
    if isinstance(given, float):
        return f"{given * factor:.3g}{unit}"
    return f"{given.winter * factor:.3g}{unit} in winter to {given.summer * factor:.3g}{unit} in summer"


def read_air_file(path: Path) -> tuple[Floats, Floats]:
    """Return temperature [degC] and relative humidity [-] of an hourly file that starts on 1 January.

    Raises
    ------
    ValueError
        If the file is missing, a column is missing, or a value lies outside its limits.
    """
    import pandas as pd

    if not path.is_file():
        raise ValueError(f"an existing CSV file; {path.name!r} is not there")
    table = pd.read_csv(path, comment="#")
    missing = [name for name in ("temperature", "relative_humidity") if name not in table.columns]
    if missing:
        raise ValueError(f"columns temperature and relative_humidity; missing: {', '.join(missing)}")
    temperature = pd.to_numeric(table["temperature"], errors="coerce").to_numpy(dtype=np.float64)
    humidity = pd.to_numeric(table["relative_humidity"], errors="coerce").to_numpy(dtype=np.float64) / 100
    if temperature.size == 0 or temperature.size % 8760:
        raise ValueError(f"whole years of 8760 hourly rows; it has {temperature.size}")
    good = (temperature > -90) & (temperature < 90) & (humidity > 0) & (humidity <= 1)
    if not good.all():
        raise ValueError(
            f"−90 to 90 °C and 0 to 100 %; data row {int(np.argmin(good)) + 1} is outside or empty"
        )
    return temperature, humidity
