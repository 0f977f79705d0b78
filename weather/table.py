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
local standard time. `stamp` says whether they mark the begin (default) or the end of the hour.
"""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.build import build_year
from stemwall.weather.columns import COLUMNS
from stemwall.weather.errors import Problem
from stemwall.weather.moistair import FloatArray
from stemwall.weather.raw import RawWeather, Site, digest, file_bytes
from stemwall.weather.units import to_column_unit
from stemwall.weather.year import WeatherYear

PLACE = ("latitude", "longitude", "elevation", "utc_offset")
"""Numbers that place the station, needed in the file or as arguments."""

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

    Raises
    ------
    WeatherError
        With every problem found.
    """
    path = Path(path)
    given = dict(
        station=station, latitude=latitude, longitude=longitude, elevation=elevation, utc_offset=utc_offset
    )
    text = file_bytes(path).decode("utf-8-sig", errors="replace")
    lines = text.splitlines()
    facts = _comments(lines) | {k: str(v) for k, v in (given | {"stamp": stamp}).items() if v is not None}
    first = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), len(lines))
    rows = list(csv.reader(io.StringIO("\n".join(lines[first:]))))
    problems: list[Problem] = []
    site = site_from(facts, path.name, problems)
    header = [cell.strip() for cell in rows[0]] if rows else []
    numbers = np.array([first + 2 + i for i, row in enumerate(rows[1:]) if row], dtype=np.int64)
    body = _body(rows[1:], header, numbers, path.name, problems)
    index = _times(body, facts, site, numbers, path.name, problems)
    columns, refused = _columns(body, numbers, path.name, problems)
    raw = raw_from(facts, path, site, pd.DataFrame(columns, index=index), numbers)
    raw.problems, raw.refused = problems, refused
    return build_year(raw, fill_gaps=fill_gaps)


def site_from(facts: Mapping[str, str], name: str, problems: list[Problem]) -> Site:
    """Place of the station from text facts; what is missing or not a number becomes a problem."""
    numbers = {}
    for key in PLACE:
        try:
            numbers[key] = float(facts[key])
        except KeyError:
            problems.append(
                Problem(f"{name}, {key}", "nothing", f"a line '# {key}: number', or the argument {key}")
            )
        except ValueError:
            problems.append(Problem(f"{name}, {key}", repr(facts[key]), "a number"))
    return Site(facts.get("station", ""), *(numbers.get(key, 0.0) for key in PLACE))


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
    return (
        texts
        | {key: repr(getattr(year, key)) for key in PLACE}
        | {"typical": "yes" if year.typical else "no"}
    )


def _comments(lines: list[str]) -> dict[str, str]:
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
    """Cells by column heading; rows of another width become problems."""
    cells = [row for row in rows if row]
    for row, number in zip(cells, numbers, strict=True):
        if len(row) != len(header):
            problems.append(Problem(f"{name}, row {number}", f"{len(row)} cells", f"{len(header)} cells"))
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
    """Start of each hour, local standard time."""
    stamp = facts.get("stamp", "begin")
    if stamp not in ("begin", "end"):
        problems.append(Problem(f"{name}, stamp", repr(stamp), "begin or end"))
    if "time" not in body:
        problems.append(Problem(name, f"columns {', '.join(body) or 'none'}", "a column time"))
        return pd.DatetimeIndex([pd.NaT] * len(numbers))
    shift = pd.Timedelta(hours=-1 if stamp == "end" else 0)
    times = [
        _local(text, site.utc_offset, f"{name}, row {row}, time", problems)
        for text, row in zip(body["time"], numbers, strict=True)
    ]
    return pd.DatetimeIndex(times) + shift


def _local(text: str, utc_offset: float, place: str, problems: list[Problem]) -> pd.Timestamp:
    """Naive local standard time of an ISO 8601 text."""
    try:
        time = pd.Timestamp(text)
    except ValueError:
        time = pd.NaT
    if time is pd.NaT:
        problems.append(Problem(place, repr(text), "an ISO 8601 time, such as 2001-01-31T13:00"))
        return pd.NaT
    if time.tzinfo is not None:
        time = time.tz_convert("UTC").tz_localize(None) + pd.Timedelta(hours=utc_offset)
    return time


def _columns(
    body: dict[str, list[str]], numbers: NDArray[np.int64], name: str, problems: list[Problem]
) -> tuple[dict[str, FloatArray], set[str]]:
    """Known columns in our units, and the names of those whose unit is of no use."""
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
    for i, cell in enumerate(cells):
        try:
            values[i] = float(cell) if cell else np.nan
        except ValueError:
            problems.append(
                Problem(f"{place}, row {numbers[i]}", repr(cell), "a number, or nothing where missing")
            )
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
