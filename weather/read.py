"""One door for all weather files."""

from __future__ import annotations

from pathlib import Path

from stemwall.weather.epw import read_epw
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.netcdf import read_netcdf
from stemwall.weather.raw import file_bytes
from stemwall.weather.table import read_csv
from stemwall.weather.tmy3 import embedded_default, read_tmy3
from stemwall.weather.year import WeatherYear

DEFAULT = "default"
"""Name of the embedded year, usable wherever a weather file is."""


def read_weather(path_or_name: str | Path, *, fill_gaps: int = 0) -> WeatherYear:
    """Read a weather file of any known format, or the embedded year.

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
    if str(path_or_name) == DEFAULT:
        return read_tmy3(embedded_default(), fill_gaps=fill_gaps)
    path = Path(path_or_name)
    suffix = path.suffix.lower()
    if suffix == ".epw":
        return read_epw(path, fill_gaps=fill_gaps)
    if suffix == ".nc":
        return read_netcdf(path, fill_gaps=fill_gaps)
    if suffix == ".csv":
        return read_tmy3(path, fill_gaps=fill_gaps) if _is_tmy3(path) else read_csv(path, fill_gaps=fill_gaps)
    expected = f"{DEFAULT!r}, or a file ending in .epw, .csv or .nc"
    raise WeatherError([Problem(str(path_or_name), f"suffix {suffix!r}", expected)])


def _is_tmy3(path: Path) -> bool:
    """Whether the second line is the column heading of a TMY3 file."""
    lines = file_bytes(path)[:4096].splitlines()
    return len(lines) > 1 and lines[1].lower().startswith(b"date (mm/dd/yyyy)")
