"""One door for all weather files."""

from __future__ import annotations

import hashlib
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import Any

from stemwall.weather.embedded import embedded_default
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.kept import Entry, kept
from stemwall.weather.year import HOURLY, OPTIONAL, WeatherYear

DEFAULT = "default"
"""Name of the embedded year, usable wherever a weather file is."""

_FACTS = {field.name for field in fields(WeatherYear)} - {*HOURLY, *OPTIONAL}


def read_weather(path_or_name: str | Path, *, fill_gaps: int = 0) -> WeatherYear:
    """Read a weather file of any known format, or the embedded year; what was read before is kept, see `kept`.

    Parameters
    ----------
    path_or_name : path or str
        "default" for the embedded year, else a file ending in .epw, .csv (TMY3 or plain, told apart by the
        second line) or .nc.
    fill_gaps : int
        Longest run of missing hours to fill [h].

    Raises
    ------
    WeatherError
        If the file cannot be used; with every problem found.
    """
    embedded = str(path_or_name) == DEFAULT
    path = embedded_default() if embedded else Path(path_or_name)
    try:
        content = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return _read(path, fill_gaps)  # which says what is wrong with it
    entry = kept(("year", path.name, content, fill_gaps), lambda: _entry(_read(path, fill_gaps)))
    given: dict[str, Any] = {**entry.arrays, **entry.facts}
    given |= {"start": datetime.fromisoformat(given["start"]), "notes": tuple(given["notes"])}
    return WeatherYear(**given)


def _entry(year: WeatherYear) -> Entry:
    """A year as arrays and plain facts."""
    facts = {name: value for name, value in vars(year).items() if name in _FACTS}
    return Entry(year.arrays(), {**facts, "start": year.start.isoformat(), "notes": list(year.notes)})


def _read(path: Path, fill_gaps: int) -> WeatherYear:
    """Read a weather file by its suffix; the readers and what they need are imported here, when they are used."""
    from stemwall.weather.epw import read_epw
    from stemwall.weather.netcdf import read_netcdf
    from stemwall.weather.table import read_csv
    from stemwall.weather.tmy3 import read_tmy3

    suffix = path.suffix.lower()
    if suffix == ".epw":
        return read_epw(path, fill_gaps=fill_gaps)
    if suffix == ".nc":
        return read_netcdf(path, fill_gaps=fill_gaps)
    if suffix == ".csv":
        return read_tmy3(path, fill_gaps=fill_gaps) if _is_tmy3(path) else read_csv(path, fill_gaps=fill_gaps)
    expected = f"{DEFAULT!r}, or a file ending in .epw, .csv or .nc"
    raise WeatherError([Problem(str(path), f"suffix {suffix!r}", expected)])


def _is_tmy3(path: Path) -> bool:
    """Whether the second line is the column heading of a TMY3 file."""
    from stemwall.weather.raw import file_bytes

    lines = file_bytes(path)[:4096].splitlines()
    return len(lines) > 1 and lines[1].lower().startswith(b"date (mm/dd/yyyy)")
