"""What files beside the case hold: columns of weather, of measured air, of a set's table, and variables of results.

Written from the tables that the code itself reads and writes by.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from stemwall.cases.batch.table import INDICATORS, MOULD, PLACE_COLUMNS, RUN_COLUMNS
from stemwall.cases.reference.forms import Form
from stemwall.cases.reference.keys import REQUIRED, Key, Table
from stemwall.cases.surroundings.indoor_file import AIR_COLUMNS
from stemwall.solver.results.result_file import FIELDS, SERIES
from stemwall.weather.columns import COLUMNS
from stemwall.weather.columns import REQUIRED as NEEDED

#: lines before the table that place the station: example, unit, meaning
STATION = {
    "latitude": ("36.1", "deg", "latitude, north positive"),
    "longitude": ("-79.95", "deg", "longitude, east positive"),
    "elevation": ("273", "m", "height above sea level"),
    "utc_offset": ("-5", "h", "local standard time less universal time"),
}
OPTIONAL = "may be missing"
WHEN = "hours since the start, at the end of the hour, local standard time"


def file_tables() -> tuple[Table, ...]:
    """Return one table per kind of file."""
    return (
        _table(
            "weather-csv",
            "weather, one row an hour or closer, or hours off the hour, which are averaged (weather.file); any unit of "
            "the same quantity in brackets after a name, e.g. wind_speed [mph], temperature [F], rain [in] (the amount "
            "of a row) or rain [in/h]. EPW, TMY3 and TMY2 files are read as they are",
            _weather(),
        ),
        _table(
            "indoor-csv",
            "measured or computed air of a space, one row an hour from 1 January, whole years (indoor.SPACE.file); "
            "a unit may stand in brackets after a name; lines that begin with # are left out",
            (
                Key(f"indoor-csv.{name}", text, Form("a number", unit, f"{low:g} to {high:g} {unit}"), REQUIRED)
                for name, (unit, low, high, text) in AIR_COLUMNS.items()
            ),
        ),
        _table(
            "runs-csv",
            "table of a set, one row per run and place; text that a spreadsheet would take for a formula stands "
            "after an apostrophe",
            _runs(),
        ),
        _table("result-file", "netCDF file of one run; read with xarray.open_dataset(path)", _result()),
    )


def _table(path: str, meaning: str, keys: Iterable[Key]) -> Table:
    return Table(path, path, meaning, tuple(keys))


def _weather() -> Iterator[Key]:
    def key(name: str, meaning: str, form: Form, default: str) -> Key:
        return Key(f"weather-csv.{name}", meaning, form, default)

    for name, (example, unit, meaning) in STATION.items():
        yield key(name, f"{meaning}, in a line such as # {name}: {example}", Form("a number", unit), REQUIRED)
    yield key("station", "name of the station, in a line such as # station: back garden", Form("a text"), OPTIONAL)
    stamp = Form('"begin" or "end" of what a row stands for')
    yield key("stamp", "what times mark, in a line such as # stamp: end", stamp, '"begin"')
    time = Form("ISO 8601, e.g. 2001-01-01T00:00; with an offset it is brought to local standard time")
    yield key("time", "time of the row, local standard time", time, REQUIRED)
    for name, column in COLUMNS.items():
        also = "; dew_point may stand in for it" if name == "relative_humidity" else ""
        unit = "" if column.unit == "1" else column.unit
        limits = f"{column.low:g} to {column.high:g} {unit}".strip()
        form = Form("a number, or nothing where missing", unit, limits)
        yield key(name, column.meaning + also, form, REQUIRED if name in NEEDED else OPTIONAL)


def _runs() -> Iterator[Key]:
    for name, text in {**RUN_COLUMNS, **PLACE_COLUMNS}.items():
        yield Key(f"runs-csv.{name}", text, Form("a text"), "")
    yield Key("runs-csv.PATH", "one column per dotted path that the runs change, with its value", Form("a value"), "")
    for name in (*MOULD, *INDICATORS):
        quantity, _, unit = name.rstrip("]").rpartition(" [")
        form = Form("a number, or nothing where there is none", "" if unit == "-" else unit)
        yield Key(f"runs-csv.{name}", f"{quantity} at the place", form, "")


def _result() -> Iterator[Key]:
    for name, axis, unit, text in SERIES:
        axes = ", ".join(filter(None, ("time", axis)))
        yield Key(f"result-file.{name}", text, Form(f"hourly values over ({axes})", "" if unit == "1" else unit), "")
    for name, unit, text in FIELDS:
        form = Form("values over (field_time, y, x)", "" if unit == "1" else unit)
        yield Key(f"result-file.{name}", text, form, "")
    for name in ("time", "field_time"):
        yield Key(f"result-file.{name}", WHEN, Form("values", "h"), "")
