"""One door for all weather files."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import fields, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from stemwall.weather.cache import Entry, kept
from stemwall.weather.climates import DEFAULT, INVENTED, KEPT, NAMES, kept_file
from stemwall.weather.doubts import SLIPS
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import file_bytes
from stemwall.weather.year import HOURLY, OPTIONAL, WeatherYear

SUFFIXES = (".epw", ".csv", ".tm2", ".nc")

_FACTS = {field.name for field in fields(WeatherYear)} - {*HOURLY, *OPTIONAL}


def read_weather(
    path_or_name: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Read a weather file of any known format, or a climate by its name; what was read before is kept, see `kept`.

    Parameters
    ----------
    path_or_name : path or str
        One of `climates.NAMES`, else a file ending in .epw, .csv (TMY3 or plain, told apart by the second line),
        .tm2 or .nc.
    fill_gaps : int
        Longest run of missing hours to fill [h].
    accept : collection of str
        Kinds of slips, see `doubts.SLIPS`, that do not refuse the file.
    rain_gaps : str
        What hours without a report of rain count as, one of `gauge.GAP_RULES`.

    Raises
    ------
    WeatherError
        If the file cannot be used; with every problem found.
    """
    name = str(path_or_name)
    unknown = sorted(set(accept) - set(SLIPS))
    if unknown:
        raise WeatherError([Problem("accept", ", ".join(unknown), f"kinds of slips: {', '.join(SLIPS)}")])
    if name in INVENTED:
        return _given(kept(("invented", name), lambda: _entry(_invented(name))))
    named = name in NAMES
    path = kept_file(name) if named else Path(path_or_name)
    if path.suffix.lower() not in SUFFIXES:
        expected = f"one of {', '.join(NAMES)}, or a file ending in {', '.join(SUFFIXES)}"
        raise WeatherError([Problem(str(path), f"suffix {path.suffix!r}", expected)])
    content = file_bytes(path)
    digest = hashlib.sha256(content).hexdigest()
    if named:
        key: tuple[object, ...] = ("climate", name, digest)
        return _given(kept(key, lambda: _entry(_climate(name, path, content))))
    key = ("year", path.name, digest, fill_gaps, *sorted(set(accept)), rain_gaps)
    return _given(kept(key, lambda: _entry(_read(path, content, fill_gaps, accept, rain_gaps))))


def _given(entry: Entry) -> WeatherYear:
    """The year of an entry."""
    given: dict[str, Any] = {**entry.arrays, **entry.facts}
    given |= {"start": datetime.fromisoformat(given["start"]), "notes": tuple(given["notes"])}
    return WeatherYear(**given)


def _climate(name: str, path: Path, content: bytes) -> WeatherYear:
    """A climate by name: its typical year, with rain of stated totals where it has none of its own."""
    from stemwall.weather.monthly_rain import with_monthly_rain

    climate = KEPT["mixed-humid" if name == DEFAULT else name]
    year = _read(path, content, 0, () if climate.own_rain else ("rain", "units"), "dry")
    if not climate.own_rain:
        year = replace(year, rain=None, notes=tuple(note for note in year.notes if "rain" not in note))
    return with_monthly_rain(year, climate.rain, climate.whose)


def _invented(name: str) -> WeatherYear:
    from stemwall.weather.invented import RECIPES, invented_year

    return invented_year(RECIPES[name])


def _entry(year: WeatherYear) -> Entry:
    """A year as arrays and plain facts."""
    facts = {name: value for name, value in vars(year).items() if name in _FACTS}
    return Entry(year.arrays(), {**facts, "start": year.start.isoformat(), "notes": list(year.notes)})


def _read(path: Path, content: bytes, fill_gaps: int, accept: Collection[str], rain_gaps: str) -> WeatherYear:
    """Read a weather file by its suffix; the readers and what they need are imported here, when they are used."""
    from stemwall.weather.epw import read_epw
    from stemwall.weather.netcdf import read_netcdf
    from stemwall.weather.table import read_csv
    from stemwall.weather.tmy2 import read_tmy2
    from stemwall.weather.tmy3 import read_tmy3

    suffix = path.suffix.lower()
    if suffix == ".epw":
        return read_epw(path, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)
    if suffix == ".tm2":
        return read_tmy2(path, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)
    if suffix == ".nc":
        return read_netcdf(path, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)
    if _is_tmy3(content):
        return read_tmy3(path, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)
    return read_csv(path, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def _is_tmy3(content: bytes) -> bool:
    """Whether the second line is the column heading of a TMY3 file."""
    lines = content[:4096].splitlines()
    return len(lines) > 1 and lines[1].lower().startswith(b"date (mm/dd/yyyy)")
