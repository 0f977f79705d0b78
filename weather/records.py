"""Records of any length brought to whole years: other weather stands in for the dates that a record does not have.

Ground, snow and the means of the air need weather around the dates of a run.  So a record of some months becomes one
of whole calendar years: its own hours where it has them, elsewhere those of a stated year by month, day and hour.  A
record of a year or more stands in for itself if nothing is stated.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from stemwall.weather.calendar import hourly_times, whole_years
from stemwall.weather.doubts import WARNING
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.year import WeatherYear

LEAST_OF_ITS_OWN = 8760
"""Hours from which on a record can stand in for itself [h]."""


def is_whole(year: WeatherYear) -> bool:
    """Whether a record holds whole years, which can be repeated."""
    return whole_years(year.start, year.hours) is not None


def completed(record: WeatherYear, rest: WeatherYear | None, run: tuple[datetime, int] | None = None) -> WeatherYear:
    """Return a record of whole calendar years that has the hours of a record where it has them.

    Parameters
    ----------
    record : WeatherYear
        Of any length.
    rest : WeatherYear or None
        Whole years that stand in elsewhere; None takes the first year of the record itself.
    run : (datetime, int), optional
        First hour and hours of a run, to warn of those that the record does not have.

    Raises
    ------
    WeatherError
        If the record is shorter than a year and nothing stands in, or what stands in holds no whole years.

    Notes
    -----
    Columns that only one of the two has are left out, but for the rain: where it is not known, none falls.
    """
    if is_whole(record):
        return record
    whose = "its own first year" if rest is None else rest.station or rest.source
    if rest is None:
        if record.hours < LEAST_OF_ITS_OWN:
            found = f"{record.hours} h from {record.start:%Y-%m-%d %H:%M}"
            expected = (
                "a year or more, or weather.rest: a file or climate of whole years that stands in for the other dates"
            )
            raise WeatherError([Problem(record.station or "weather", found, expected)])
        rest = _part(record, 0, LEAST_OF_ITS_OWN + 24 * _leap_day_inside(record))
    elif not is_whole(rest):
        raise WeatherError([Problem("weather.rest", f"{rest.hours} h", "whole years")])
    first = datetime(record.start.year, 1, 1)
    last = (record.times[-1] + np.timedelta64(3600, "s")).astype(datetime)
    end = last if (last.month, last.day, last.hour) == (1, 1, 0) else datetime(last.year + 1, 1, 1)
    hours = int((end - first).total_seconds()) // 3600
    index = rest.hour_index(hours, first)
    begin = int((record.start - first).total_seconds()) // 3600
    inside = slice(begin, begin + record.hours)
    mine, other = record.arrays(), rest.arrays()
    arrays: dict[str, object] = {}
    for name in ("rain", "snow_depth", "cloud_cover", "present_weather"):
        arrays[name] = None
    for name in other.keys() & mine.keys() | ({"rain"} & (other.keys() | mine.keys())):
        values = other[name][index] if name in other else np.zeros(hours)
        values = np.array(values)
        values[inside] = mine.get(name, np.zeros(record.hours))
        arrays[name] = values
    others = hours - record.hours
    note = (
        f"the record holds {record.hours} h from {record.start:%Y-%m-%d %H:%M}; the other {others} h of "
        f"{first:%Y} to {(end.year - 1)} are {whose}, by month, day and hour"
    )
    notes = (*record.notes, note)
    if run is not None and (missed := outside(record, run[1], run[0])):
        held = f"{record.start:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}"
        notes += (f"{WARNING}weather: {missed} h of the run are not in the record; expected a run from {held}",)
    origin = record.rain_origin if record.rain is not None else "none"
    return replace(record, start=first, rain_origin=origin, notes=notes, **arrays)  # type: ignore[arg-type]


def _leap_day_inside(record: WeatherYear) -> bool:
    """Whether the first 8,784 h of a record are a whole year, which has a 29 February."""
    return record.hours >= 8784 and whole_years(record.start, 8784) is not None


def _part(year: WeatherYear, first: int, end: int) -> WeatherYear:
    """Some hours of a record."""
    arrays = {name: values[first:end] for name, values in year.arrays().items()}
    return replace(year, start=hourly_times(year.start, end)[first].astype(datetime), **arrays)  # type: ignore[arg-type]


def one_year(record: WeatherYear, number: int) -> WeatherYear:
    """Return the calendar year of this number out of a record of several.

    Raises
    ------
    WeatherError
        If the record does not hold all of it.
    """
    years = record.times.astype("datetime64[Y]").astype(np.int64) + 1970
    here = np.flatnonzero(years == number)
    if here.size == 0 or not is_whole(part := _part(record, int(here[0]), int(here[-1]) + 1)) or here.size < 8760:
        held = ", ".join(map(str, np.unique(years)))
        raise WeatherError([Problem("weather.year", str(number), f"a whole calendar year of the record: {held}")])
    return replace(part, notes=(*part.notes, f"the year {number} of a record of {record.hours} h"))


def outside(record: WeatherYear, hours: int, start: datetime) -> int:
    """Hours of a run that lie before or after a record [h]."""
    first = np.datetime64(start, "s")
    run = np.arange(hours) * np.timedelta64(3600, "s") + first
    return int(np.sum((run < record.times[0]) | (run > record.times[-1])))
