"""Plain CSV weather: named columns with units in the header, and a place in comment lines or arguments.

The file looks like this; only `time` and the required columns must be there, in any order::

    # station: back garden
    # latitude: 36.1
    # longitude: -79.95
    # elevation: 273
    # utc_offset: -5
    # stamp: begin
    time,temperature [degF],relative_humidity [%],wind_speed [mph],wind_direction [deg],ghi [W/m^2],rain
    [in/h] 2001-01-01T00:00,41.0,88,5.2,210,0,0.02

Times are ISO 8601 in local standard time; with an offset (``2001-07-01T00:00-04:00``) they are brought to
local standard time. `stamp` says whether they mark the begin (default) or the end of the row, which is an hour or, of
rows closer together, the time between them; those, and hours that begin off the hour, are brought to hours by means.
Rain may be a rate (mm/h) or the amount of a row (mm, in).
"""

from __future__ import annotations

import csv
import difflib
import io
import math
from collections.abc import Collection, Mapping
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.averaging import row_length
from stemwall.weather.build import build_year
from stemwall.weather.checks import runs
from stemwall.weather.columns import COLUMNS
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import text_of
from stemwall.weather.moistair import FloatArray
from stemwall.weather.stamps import local_times, several
from stemwall.weather.stamps import rows as rows_of
from stemwall.weather.unit_conversion import RawWeather, Site, digest
from stemwall.weather.units import AMOUNTS, to_column_unit
from stemwall.weather.year import WeatherYear

PLACE = ("latitude", "longitude", "elevation", "utc_offset")
"""Numbers that place the station, needed in the file or as arguments."""

EXAMPLE = "2001-01-31T13:00,5.2,88,3.1,210,340"
"""A row of such a file, for messages."""

NOTE_MARK = " | "
"""Between the notes of a year where a file carries them in one line."""


def read_csv(
    path: str | Path,
    *,
    station: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
    elevation: float | None = None,
    utc_offset: float | None = None,
    stamp: str | None = None,
    fill_gaps: int = 0,
    accept: Collection[str] = (),
    rain_gaps: str = "dry",
) -> WeatherYear:
    """Read plain CSV weather.

    Parameters
    ----------
    path : path
        The file, UTF-8.
    station, latitude, longitude, elevation, utc_offset, stamp : optional
        Override the comment lines of the file [-, deg, deg, m, h, "begin" or "end"].
    fill_gaps : int
        Longest run of missing hours to fill [h].
    accept : collection of str
        Kinds of slips, see `doubts.SLIPS`, that do not refuse the file.
    rain_gaps : str
        What hours without a report of rain count as, one of `gauge.GAP_RULES`.

    Raises
    ------
    WeatherError
        With every problem found.
    """
    path = Path(path)
    given = dict(station=station, latitude=latitude, longitude=longitude, elevation=elevation, utc_offset=utc_offset)
    lines = text_of(path, EXAMPLE).splitlines()
    facts = comments(lines) | {k: str(v) for k, v in (given | {"stamp": stamp}).items() if v is not None}
    first = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), len(lines))
    problems: list[Problem] = []
    site = site_from(facts, path.name, problems)
    try:
        rows = list(csv.reader(io.StringIO("\n".join(lines[first:]))))
    except csv.Error as error:
        raise WeatherError([*problems, Problem(path.name, str(error), f"rows like: {EXAMPLE}")]) from error
    header = [cell.strip() for cell in rows[0]] if rows else []
    foreign = _layout_problems(header, f"{path.name}, row {first + 1}")
    if foreign:
        raise WeatherError(problems + foreign)
    numbers = np.array([first + 2 + i for i, row in enumerate(rows[1:]) if row], dtype=np.int64)
    body = _body(rows[1:], header, numbers, path.name, problems)
    index = _times(body, facts, site, numbers, path.name, problems)
    columns, refused = _columns(body, row_length(index), numbers, path.name, problems)
    raw = raw_from(facts, path, site, pd.DataFrame(columns, index=index), numbers)
    raw.problems, raw.refused = problems, refused
    return build_year(raw, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def _layout_problems(header: list[str], place: str) -> list[Problem]:
    """A heading that is in one cell because something else than a comma divides it, or names a column twice."""
    expected = f"commas between the cells and points in the numbers, as in: {EXAMPLE}"
    for mark, word in ((";", "semicolons"), ("\t", "tabs"), ("|", "bars")):
        if len(header) == 1 and mark in header[0]:
            return [Problem(place, f"{word} between the cells", expected)]
    names = [split_heading(cell)[0] for cell in header]
    twice = sorted({name for name in names if names.count(name) > 1})
    return [Problem(place, f"column {name} {names.count(name)} times", "each column once") for name in twice]


def site_from(facts: Mapping[str, str], name: str, problems: list[Problem]) -> Site:
    """Place of the station from text facts; what is missing or not a number becomes a problem."""
    numbers = {}
    for key in PLACE:
        try:
            numbers[key] = float(facts[key])
            if not math.isfinite(numbers[key]):
                raise ValueError(key)
        except KeyError:
            problems.append(Problem(f"{name}, {key}", "nothing", f"a line '# {key}: number', or the argument {key}"))
        except ValueError:
            problems.append(Problem(f"{name}, {key}", repr(facts[key]), "a number"))
    return Site(facts.get("station", ""), *(numbers.get(key, math.nan) for key in PLACE))


def raw_from(
    facts: Mapping[str, str], path: Path, site: Site, frame: pd.DataFrame, rows: NDArray[np.int64]
) -> RawWeather:
    """Raw weather of a self-describing file, with the notes that the file carries."""
    carried = facts.get("notes", "")
    return RawWeather(
        name=path.name,
        site=site,
        frame=frame,
        rows=rows,
        source=facts.get("source", path.name),
        provenance=facts.get("provenance", ""),
        rain_origin=facts.get("rain_origin", "measured"),
        sha256=digest(path),
        typical=facts.get("typical") == "yes",
        notes=carried.split(NOTE_MARK) if carried else [],
    )


def facts_of(year: WeatherYear) -> dict[str, str]:
    """Facts that a self-describing file carries beside its hours; the notes are not among them."""
    texts = {key: str(getattr(year, key)) for key in ("station", "source", "provenance", "rain_origin")}
    return texts | {key: repr(getattr(year, key)) for key in PLACE} | {"typical": "yes" if year.typical else "no"}


def comments(lines: list[str]) -> dict[str, str]:
    """Facts of the leading comment lines, `# key: value`."""
    facts = {}
    for line in lines:
        if not line.startswith("#"):
            break
        key, colon, value = line[1:].partition(":")
        if colon:
            facts[key.strip()] = value.strip()
    return facts


def _body(
    rows: list[list[str]], header: list[str], numbers: NDArray[np.int64], name: str, problems: list[Problem]
) -> dict[str, list[str]]:
    """Cells by column heading; rows of another width become problems, and most rows an error."""
    cells = [row for row in rows if row]
    widths = np.array([len(row) for row in cells], dtype=np.int64)
    for first, end in runs(widths != len(header)):
        found = f"{' or '.join(map(str, np.unique(widths[first:end])[:3]))} cells"
        hint = f" (points, not commas, in the numbers), as in: {EXAMPLE}" if end - first > 1 else ""
        problems.append(Problem(f"{name}, {rows_of(numbers, first, end)}", found, f"{len(header)} cells{hint}"))
    if 2 * np.count_nonzero(widths != len(header)) > len(cells):
        raise WeatherError(problems)
    padded = [(row + [""] * len(header))[: len(header)] for row in cells]
    return {heading: [row[i].strip() for row in padded] for i, heading in enumerate(header)}


def _times(
    body: dict[str, list[str]],
    facts: Mapping[str, str],
    site: Site,
    numbers: NDArray[np.int64],
    name: str,
    problems: list[Problem],
) -> pd.DatetimeIndex:
    """Begin of what each row stands for, local standard time."""
    stamp = facts.get("stamp", "begin")
    if stamp not in ("begin", "end"):
        problems.append(Problem(f"{name}, stamp", repr(stamp), "begin or end"))
    if "time" not in body:
        found = f"columns {', '.join(body) or 'none'}"
        problems.append(Problem(name, found, f"a column time, and rows like: {EXAMPLE}"))
        return pd.DatetimeIndex([pd.NaT] * len(numbers))
    times = local_times(body["time"], site.utc_offset, numbers, name, problems)
    length = row_length(times)
    hours = min(length, 1.0) if length > 0 else 1.0
    return times - pd.Timedelta(hours=hours) if stamp == "end" else times


def _columns(
    body: dict[str, list[str]], length: float, numbers: NDArray[np.int64], name: str, problems: list[Problem]
) -> tuple[dict[str, FloatArray], set[str]]:
    """Known columns in our units, and the names of those whose unit is of no use; rows of this length [h]."""
    columns: dict[str, FloatArray] = {}
    refused: set[str] = set()
    for heading, cells in body.items():
        column, unit = split_heading(heading)
        if column == "time":
            continue
        if column not in COLUMNS:
            problems.append(_unknown_column(f"{name}, column {heading}", column))
            continue
        values = _numbers(cells, numbers, f"{name}, column {column}", problems)
        if column == "rain" and unit in AMOUNTS and length > 0:
            values, unit = values / length, f"{unit}/h"
        try:
            columns[column] = to_column_unit(values, unit, column)
        except ValueError as error:
            refused.add(column)
            expected = f"a unit like {COLUMNS[column].unit}"
            problems.append(Problem(f"{name}, column {heading}", f"unit {unit!r} ({error})", expected))
    return columns, refused


def _unknown_column(place: str, column: str) -> Problem:
    """Problem of a column that we do not know, with the nearest name that we do."""
    close = difflib.get_close_matches(column, COLUMNS, n=1)
    hint = f"{close[0]}, or " if close else ""
    return Problem(place, column, f"{hint}one of {', '.join(COLUMNS)}")


def split_heading(heading: str) -> tuple[str, str]:
    """Name and unit of a heading such as ``wind_speed [mph]``."""
    name, _, unit = heading.partition("[")
    return name.strip(), unit.rstrip("] ")


def _numbers(cells: list[str], numbers: NDArray[np.int64], place: str, problems: list[Problem]) -> FloatArray:
    """Cells as numbers; empty ones and nan are missing, other text is a problem."""
    values = np.full(len(cells), np.nan)
    wrong = np.zeros(len(cells), dtype=bool)
    for i, cell in enumerate(cells):
        try:
            values[i] = float(cell) if cell else np.nan
        except ValueError:
            wrong[i] = True
    for first, end in runs(wrong):
        expected = "a number with a point, or nothing where missing"
        problems.append(Problem(f"{place}, {rows_of(numbers, first, end)}", several(cells, first, end), expected))
    return values


def write_csv(year: WeatherYear, path: str | Path) -> None:
    """Write a year as CSV that `read_csv` gives back unchanged, hours marked by their begin."""
    arrays = year.arrays()
    facts = {**facts_of(year), "notes": NOTE_MARK.join(year.notes), "stamp": "begin"}
    lines = [f"# {key}: {value}" for key, value in facts.items()]
    lines.append(",".join(["time", *(f"{name} [{COLUMNS[name].unit}]" for name in arrays)]))
    times = np.datetime_as_string(year.times, unit="m")
    columns = [[repr(value) for value in values.tolist()] for values in arrays.values()]
    lines += [",".join(row) for row in zip(times.tolist(), *columns, strict=True)]
    Path(path).write_text("\n".join(lines) + "\n", encoding="utf-8")
