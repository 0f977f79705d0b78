"""Weather in netCDF: variables over `time` with a `units` attribute, the place in global attributes."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr

from stemwall.weather.build import build_year
from stemwall.weather.columns import COLUMNS
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import file_bytes
from stemwall.weather.table import NOTE_MARK, facts_of, raw_from, site_from
from stemwall.weather.unit_conversion import unreadable
from stemwall.weather.units import to_column_unit
from stemwall.weather.year import WeatherYear


def read_netcdf(
    path: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Read weather from a netCDF-4 file.

    Parameters
    ----------
    path : path
        File with a coordinate `time` (start of each hour, local standard time), variables named as in
        `columns.COLUMNS` with an attribute `units`, and the global attributes latitude, longitude, elevation,
        utc_offset.
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

    Notes
    -----
    Variables of other names are left alone, and listed in the notes of the year.
    """
    path = Path(path)
    file_bytes(path)
    try:
        with xr.open_dataset(path, engine="h5netcdf") as opened:
            data = opened.load()
    except Exception as error:
        raise unreadable(path, "netCDF-4", error) from error
    problems: list[Problem] = []
    facts = {str(key): str(value) for key, value in data.attrs.items()}
    site = site_from(facts, path.name, problems)
    if "time" not in data.coords or not np.issubdtype(data["time"].dtype, np.datetime64):
        problems.append(Problem(path.name, "no usable time coordinate", "a coordinate time with CF units"))
        raise WeatherError(problems)
    frame, refused = _variables(data, path.name, problems)
    raw = raw_from(facts, path, site, frame, np.arange(1, len(frame) + 1, dtype=np.int64))
    raw.problems, raw.refused = problems, refused
    others = sorted(str(name) for name in data.data_vars if name not in COLUMNS)
    raw.notes += [f"variables not read: {', '.join(others)}"] if others else []
    return build_year(raw, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def _variables(data: xr.Dataset, name: str, problems: list[Problem]) -> tuple[pd.DataFrame, set[str]]:
    """Known variables in our units, by time, and those that are of no use."""
    refused: set[str] = set()
    frame = pd.DataFrame(index=pd.DatetimeIndex(data["time"].values))
    for column in COLUMNS:
        if column not in data.data_vars:
            continue
        variable, place = data[column], f"{name}, variable {column}"
        if variable.dims != ("time",) or "units" not in variable.attrs:
            found = f"dimensions {variable.dims}, units {variable.attrs.get('units', 'absent')}"
            expected = f"the one dimension time, units such as {COLUMNS[column].unit}"
            problems.append(Problem(place, found, expected))
            refused.add(column)
            continue
        try:
            values = np.asarray(variable.values, dtype=np.float64)
            frame[column] = to_column_unit(values, str(variable.attrs["units"]), column)
        except ValueError as error:
            problems.append(Problem(place, str(error), f"numbers in a unit like {COLUMNS[column].unit}"))
            refused.add(column)
    return frame, refused


def to_dataset(year: WeatherYear) -> xr.Dataset:
    """Weather as a dataset over `time` (start of each hour), with units, meanings, place and notes as attributes."""
    data = {
        name: ("time", values, {"units": COLUMNS[name].unit, "long_name": COLUMNS[name].meaning})
        for name, values in year.arrays().items()
    }
    about = {"Conventions": "CF-1.11", "title": f"hourly weather, {year.station}"}
    attrs = about | facts_of(year) | {"notes": NOTE_MARK.join(year.notes), "source_sha256": year.sha256}
    return xr.Dataset(data, {"time": year.times.astype("datetime64[ns]")}, attrs)


def write_netcdf(year: WeatherYear, path: str | Path) -> None:
    """Write a year as netCDF-4 that `read_netcdf` gives back unchanged."""
    to_dataset(year).to_netcdf(path, engine="h5netcdf")
