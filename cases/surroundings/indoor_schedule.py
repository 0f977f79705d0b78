"""Values that an occupant sets: constant, a yearly wave, or a schedule of the day and the week."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Annotated, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from stemwall.cases.inputs.field_types import Spelling, Strict, described, required
from stemwall.cases.inputs.quantities import HUMIDITY, INDOOR_WARMTH, DayOfYear, Humidity, IndoorTemperature, Kind, read
from stemwall.materials.ranges import Quantity

Floats: TypeAlias = NDArray[np.float64]
Steps: TypeAlias = Annotated[
    tuple[tuple[float, float], ...], Spelling("pairs [hour, value], e.g. [[0, 17], [6, 21], [22, 17]]")
]
HOURS_PER_DAY, DAYS_PER_YEAR, DAYS_PER_WEEK = 24.0, 365.0, 7
SATURDAY = 5
DAY = "pairs [hour, value] from midnight on: the value from that hour to the next pair's"
WEEKEND = "the same for Saturday and Sunday; by default as day"


class TemperatureWave(Strict):
    """A yearly wave between a winter and a summer temperature."""

    winter: IndoorTemperature = required("lowest value of the yearly wave")
    summer: IndoorTemperature = required("highest value of the yearly wave")
    peak_day: DayOfYear = described(200, "day of the year of the summer value", "19 July, common practice, no source")


class HumidityWave(Strict):
    """A yearly wave between a winter and a summer relative humidity."""

    winter: Humidity = required("value in winter, half a year from the peak day")
    summer: Humidity = required("value on the peak day")
    peak_day: DayOfYear = described(200, "day of the year of the summer value", "19 July, common practice, no source")


def _steps(value: object, kind: Kind) -> Steps:
    """Return ((hour, value), ...) of pairs [hour, quantity] in the order of the day."""
    wanted = f"pairs [hour, value], hours rising from 0 to below 24, each value {kind.name}"
    if not isinstance(value, list | tuple) or not value:
        raise ValueError(wanted)
    steps: list[tuple[float, float]] = []
    for pair in value:
        if not isinstance(pair, list | tuple) or len(pair) != 2 or isinstance(pair[0], bool):
            raise ValueError(wanted)
        hour = pair[0]
        if not isinstance(hour, int | float) or not 0 <= hour < HOURS_PER_DAY or (steps and hour <= steps[-1][0]):
            raise ValueError(wanted)
        steps.append((float(hour), read(pair[1], kind)))
    if steps[0][0] != 0:
        raise ValueError(f"{wanted}; the first hour is 0")
    return tuple(steps)


def _optional_steps(value: object, kind: Kind) -> Steps | None:
    return None if value is None else _steps(value, kind)


def _values(pairs: object) -> Iterator[object]:
    """Quantities of pairs [hour, quantity]."""
    yield from (pair[1] for pair in pairs) if isinstance(pairs, list | tuple) else ()


class _Schedule(Strict):
    """A schedule in local standard time; ``weekend`` holds on Saturday and Sunday, by default as ``day``."""

    day: Any
    weekend: Any

    def values(self, day: Floats, first_weekday: int) -> Floats:
        """Return the value at times ``day`` [d] after a midnight of weekday ``first_weekday`` (Monday 0)."""
        hour = (day - np.floor(day)) * HOURS_PER_DAY
        found = _at(self.day, hour)
        if self.weekend is None:
            return found
        weekday = (np.floor(day).astype(np.int64) + first_weekday) % DAYS_PER_WEEK
        return np.asarray(np.where(weekday >= SATURDAY, _at(self.weekend, hour), found))


class TemperatureSchedule(_Schedule):
    """Temperatures from given hours of the day on."""

    day: Annotated[Steps, Quantity(INDOOR_WARMTH, _steps, read, _values)] = required(DAY)
    weekend: Annotated[Steps | None, Quantity(INDOOR_WARMTH, _optional_steps, read, _values)] = described(None, WEEKEND)


class HumiditySchedule(_Schedule):
    """Relative humidities from given hours of the day on."""

    day: Annotated[Steps, Quantity(HUMIDITY, _steps, read, _values)] = required(DAY)
    weekend: Annotated[Steps | None, Quantity(HUMIDITY, _optional_steps, read, _values)] = described(None, WEEKEND)


Given: TypeAlias = float | TemperatureWave | HumidityWave | TemperatureSchedule | HumiditySchedule


def given(wave: type[Strict], schedule: type[Strict]) -> Callable[[object, Kind], object]:
    """Return a validator that takes a quantity, a table { winter, summer } or a table { day, weekend }."""

    def validate(value: object, kind: Kind) -> Any:
        if value is None or isinstance(value, wave | schedule):
            return value
        if isinstance(value, dict):
            return _validated(schedule if "day" in value or "weekend" in value else wave, value)
        return read(value, kind)

    return validate


def _validated(model: type[Strict], table: dict[Any, Any]) -> Strict:
    """Return a model of a table; all that is wrong is said as of one value."""
    try:
        return model.model_validate(table)
    except ValidationError as error:
        wrong = [
            f"{'.'.join(str(part) for part in one['loc'])}: {one['msg'].removeprefix('Value error, ')}"
            for one in error.errors()
        ]
        raise ValueError("; ".join(wrong)) from error


def values(what: Given, day: Floats, first_weekday: int) -> Floats:
    """Return values at times in days since the start of the calendar year [d].

    Parameters
    ----------
    what : Given
        Constant, wave or schedule.
    day : Floats
        Times [d].
    first_weekday : int
        Weekday of 1 January of that year, Monday 0.
    """
    if isinstance(what, float):
        return np.full(day.size, what)
    if isinstance(what, TemperatureSchedule | HumiditySchedule):
        return what.values(day, first_weekday)
    mean, half = (what.summer + what.winter) / 2, (what.summer - what.winter) / 2
    return np.asarray(mean + half * np.cos(2 * np.pi * (day - what.peak_day) / DAYS_PER_YEAR))


def words(what: Given, factor: float, unit: str) -> str:
    """Return what was given in words; values times ``factor``, with a unit."""
    if isinstance(what, float):
        return f"{what * factor:.3g}{unit}"
    if isinstance(what, TemperatureSchedule | HumiditySchedule):
        text = _told(what.day, factor, unit)
        return text if what.weekend is None else f"{text}; at weekends {_told(what.weekend, factor, unit)}"
    return f"{what.winter * factor:.3g}{unit} in winter to {what.summer * factor:.3g}{unit} in summer"


def _told(steps: Steps, factor: float, unit: str) -> str:
    return ", ".join(f"{value * factor:.3g}{unit} from {hour:g} h" for hour, value in steps)


def _at(steps: Steps, hour: Floats) -> Floats:
    starts = np.array([start for start, _ in steps])
    return np.array([value for _, value in steps])[np.searchsorted(starts, hour, side="right") - 1]
