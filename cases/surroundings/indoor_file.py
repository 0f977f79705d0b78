"""Measured indoor air: an hourly file of temperature and humidity, with the slips that such files have."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.errors import WeatherError
from stemwall.weather.files import text_of

Floats: TypeAlias = NDArray[np.float64]

EXAMPLE = "20.5,48 below the line temperature [degC],relative_humidity [%]"
#: columns of a file of measured air: unit, least and most, meaning
AIR_COLUMNS = {
    "temperature": ("degC", -90.0, 90.0, "air temperature, mean of the hour"),
    "relative_humidity": ("%", 0.0, 100.0, "relative humidity, mean of the hour"),
}
YEAR = 8760
#: highest yearly mean temperature of a space below a house [degC], largest humidity that is taken for per cent [-]: a
#: fraction, read as per cent, stays below 0.015; common practice, no source
WARMEST_MEAN, FRACTION = 40.0, 0.015
#: longest time of one value that is not asked about [h]: a room held by a thermostat, and the weather that no sensor
#: rests in; common practice, no source
LONGEST = {"temperature": 2160, "relative_humidity": 240}


@dataclass(frozen=True, eq=False)
class AirFile:
    """Indoor air of whole years.

    Parameters
    ----------
    temperature, humidity : ndarray
        One value an hour from 1 January on, shape (n,) [degC], [-].
    doubts : tuple
        What is unusual: pairs of what was found and what is usual.
    """

    temperature: Floats
    humidity: Floats
    doubts: tuple[tuple[str, str], ...]


def read_air_file(path: Path) -> AirFile:
    """Return the air of an hourly file that starts on 1 January.

    Raises
    ------
    ValueError
        If the file is missing or none, a column is missing, or a value lies outside its limits; the text says what is
        expected and what was found.
    """
    try:
        lines = text_of(path, EXAMPLE).splitlines()
    except WeatherError as error:
        (problem,) = error.problems
        raise ValueError(f"an existing CSV file; {path.name!r} is {problem.found}; {problem.expected}") from error
    numbers = [i for i, line in enumerate(lines, 1) if line.strip() and not line.startswith("#")]
    try:
        header, *rows = [[c.strip() for c in row] for row in csv.reader(lines[i - 1] for i in numbers)] or [[]]
    except csv.Error as error:
        raise ValueError(f"rows like {EXAMPLE}; {error}") from error
    if len(header) == 1 and any(mark in header[0] for mark in ";\t|"):
        raise ValueError(f"commas between the cells and points in the numbers, as in {EXAMPLE}; found {header[0]!r}")
    places = {heading.partition("[")[0].strip(): i for i, heading in enumerate(header)}
    missing = [name for name in AIR_COLUMNS if name not in places]
    if missing:
        raise ValueError(f"columns {' and '.join(AIR_COLUMNS)}; missing: {', '.join(missing)}")
    if not rows or len(rows) % YEAR:
        hint = "; leave out 29 February" if len(rows) % YEAR in (24, 48, 72) else ""
        raise ValueError(f"whole years of 8760 hourly rows; it has {len(rows)}{hint}")
    if "time" in places:
        _check_times([row[places["time"]] for row in rows], numbers[1:])
    given = {name: _column(rows, numbers[1:], places[name], header[places[name]]) for name in AIR_COLUMNS}
    temperature, humidity = given["temperature"], given["relative_humidity"]
    _check_units(temperature, humidity)
    doubts = tuple(doubt for name, values in given.items() for doubt in _stuck(name, values))
    return AirFile(temperature, humidity, doubts)


def _column(rows: list[list[str]], numbers: list[int], place: int, heading: str) -> Floats:
    """Values of a column in our unit; the first that is none is an error."""
    name, _, unit = (part.strip(" ]") for part in heading.partition("["))
    own, low, high, _ = AIR_COLUMNS[name]
    scale = 0.01 if own == "%" else 1.0
    values = np.empty(len(rows))
    for i, row in enumerate(rows):
        text = row[place] if place < len(row) else ""
        try:
            values[i] = float(text)
        except ValueError:
            raise ValueError(f"numbers with a point in column {name}; row {numbers[i]} has {text!r}") from None
    if unit in ("", own):
        values = values * scale
    else:
        from stemwall.weather.units import to_column_unit

        try:
            values = to_column_unit(values, unit, name)
        except ValueError as error:
            raise ValueError(f"a unit of column {name} like {own}; {error}") from error
    good = (values > low * scale) & (values <= high * scale)  # completely dry air is no reading
    if not good.all():
        at = int(np.argmin(good))
        slip = _percent(values) if name == "relative_humidity" else _other_unit(values)
        raise ValueError(f"more than {low:g} and up to {high:g} {own}; row {numbers[at]} is {rows[at][place]}{slip}")
    return values


def _check_times(texts: list[str], numbers: list[int]) -> None:
    """Hours that do not follow each other from the first of a year on."""
    from stemwall.weather.errors import Problem
    from stemwall.weather.stamps import local_times

    problems: list[Problem] = []
    times = local_times(texts, 0.0, np.array(numbers, dtype=np.int64), "", problems).to_numpy()
    if problems:
        raise ValueError(f"{problems[0].expected}; {problems[0].place.strip(', ')} has {problems[0].found}")
    first = times[0].astype("datetime64[Y]").astype(times.dtype)
    if times[0] != first:
        raise ValueError(f"a file that starts with the first hour of a year; it starts with {texts[0]}")
    odd = np.flatnonzero(np.diff(times) != np.timedelta64(1, "h"))
    # the 29 February, which such a file leaves out, is the one step that may be longer
    odd = odd[[not (texts[i + 1][5:10] == "03-01" and times[i + 1] - times[i] == np.timedelta64(25, "h")) for i in odd]]
    if odd.size:
        i = int(odd[0])
        raise ValueError(f"hours that follow each other; row {numbers[i + 1]} is {texts[i + 1]} after {texts[i]}")


def _check_units(temperature: Floats, humidity: Floats) -> None:
    """Means and extremes that only another unit explains."""
    if humidity.max() <= FRACTION:
        found = f"the largest is {100 * humidity.max():.3g} %: fractions from 0 to 1?"
        raise ValueError(f"relative humidity in per cent, or the heading relative_humidity [1]; {found}")
    if temperature.mean() > WARMEST_MEAN:
        found = f"the mean is {temperature.mean():.3g} °C{_other_unit(temperature)}"
        raise ValueError(f"a yearly mean temperature below {WARMEST_MEAN:g} °C; {found}")
    if not temperature.any():
        raise ValueError("temperatures; all are 0: not measured?")


def _other_unit(temperature: Floats) -> str:
    middle = float(np.median(temperature))
    if 250 < middle < 330:
        return ": K? Then write temperature [K]"
    return ": °F? Then write temperature [degF]" if 35 < middle < 110 else ""


def _percent(humidity: Floats) -> str:
    return ": per cent under a heading without %?" if 5 < np.median(humidity) <= 100 else ""


def _stuck(name: str, values: Floats) -> list[tuple[str, str]]:
    """A value that stays the same for too long."""
    from stemwall.weather.stuck import same_value_runs

    first, length = same_value_runs(values)
    longest, limit = int(length.max()), LONGEST[name]
    if longest <= limit:
        return []
    at = first[np.argmax(length)]
    shown = f"{100 * values[at]:.4g} %" if name == "relative_humidity" else f"{values[at]:.4g} °C"
    found = f"{name} of {shown} for {longest} h from hour {at} on: a stuck sensor?"
    return [(found, f"one value for at most {limit} h")]
