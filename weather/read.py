"""One door for all weather files."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import Any

from stemwall.weather.cache import Entry, kept
from stemwall.weather.default_year import embedded_default
from stemwall.weather.doubts import SLIPS
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import file_bytes
from stemwall.weather.year import HOURLY, OPTIONAL, WeatherYear

SUFFIXES = (".epw", ".csv", ".nc")

DEFAULT = "default"
"""Name of the embedded year, usable wherever a weather file is."""

_FACTS = {field.name for field in fields(WeatherYear)} - {*HOURLY, *OPTIONAL}


def read_weather(path_or_name: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = ()) -> WeatherYear:
    """Read a weather file of any known format, or the embedded year; what was read before is kept, see `kept`.

    Parameters
    ----------
    path_or_name : path or str
        "default" for the embedded year, else a file ending in .epw, .csv (TMY3 or plain, told apart by the
        second line) or .nc.
    fill_gaps : int
        Longest run of missing hours to fill [h].
    accept : collection of str
        Kinds of slips, see `doubts.SLIPS`, that do not refuse the file.

    Raises
    ------
    WeatherError
        If the file cannot be used; with every problem found.
    """
    embedded = str(path_or_name) == DEFAULT
    path = embedded_default() if embedded else Path(path_or_name)
    unknown = sorted(set(accept) - set(SLIPS))
    if unknown:
        raise WeatherError([Problem("accept", ", ".join(unknown), f"kinds of slips: {', '.join(SLIPS)}")])
    if path.suffix.lower() not in SUFFIXES:
        expected = f"{DEFAULT!r}, or a file ending in .epw, .csv or .nc"
        raise WeatherError([Problem(str(path), f"suffix {path.suffix!r}", expected)])
    content = file_bytes(path)
    key = ("year", path.name, hashlib.sha256(content).hexdigest(), fill_gaps, *sorted(set(accept)))
    entry = kept(key, lambda: _entry(_read(path, content, fill_gaps, accept)))
    given: dict[str, Any] = {**entry.arrays, **entry.facts}
    given |= {"start": datetime.fromisoformat(given["start"]), "notes": tuple(given["notes"])}
    return WeatherYear(**given)


def _entry(year: WeatherYear) -> Entry:
    """A year as arrays and plain facts."""
    facts = {name: value for name, value in vars(year).items() if name in _FACTS}
    return Entry(year.arrays(), {**facts, "start": year.start.isoformat(), "notes": list(year.notes)})


def _read(path: Path, content: bytes, fill_gaps: int, accept: Collection[str]) -> WeatherYear:
    """Read a weather file by its suffix; the readers and what they need are imported here, when they are used."""
    from stemwall.weather.epw import read_epw
    from stemwall.weather.netcdf import read_netcdf
    from stemwall.weather.table import read_csv
    from stemwall.weather.tmy3 import read_tmy3

    suffix = path.suffix.lower()
    if suffix == ".epw":
        return read_epw(path, fill_gaps=fill_gaps, accept=accept)
    if suffix == ".nc":
        return read_netcdf(path, fill_gaps=fill_gaps, accept=accept)
    if _is_tmy3(content):
        return read_tmy3(path, fill_gaps=fill_gaps, accept=accept)
    return read_csv(path, fill_gaps=fill_gaps, accept=accept)


def _is_tmy3(content: bytes) -> bool:
    """Whether the second line is the column heading of a TMY3 file."""
    lines = content[:4096].splitlines()
    return len(lines) > 1 and lines[1].lower().startswith(b"date (mm/dd/yyyy)")
