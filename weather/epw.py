"""Reader for EPW weather files.

Rows are numbered by the hour that ends, 1..24; hour 1 becomes the hour that starts at 00:00.
"""

from __future__ import annotations

import io
from collections.abc import Collection
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from stemwall.weather.build import build_year
from stemwall.weather.files import text_of
from stemwall.weather.gauge import read_gauge
from stemwall.weather.typical_file import columns_of, numbers_of, raw_year
from stemwall.weather.unit_conversion import Site, to_nominal_year, unreadable
from stemwall.weather.year import WeatherYear

FIELDS: dict[str, tuple[str, float, float]] = {
    "temperature": ("temp_air", 99.9, 1.0),
    "dew_point": ("temp_dew", 99.9, 1.0),
    "relative_humidity": ("relative_humidity", 999.0, 0.01),
    "pressure": ("atmospheric_pressure", 999_999.0, 1.0),
    "sky_longwave": ("ghi_infrared", 9999.0, 1.0),
    "ghi": ("ghi", 9999.0, 1.0),
    "dni": ("dni", 9999.0, 1.0),
    "dhi": ("dhi", 9999.0, 1.0),
    "wind_direction": ("wind_direction", 999.0, 1.0),
    "wind_speed": ("wind_speed", 999.0, 1.0),
    "cloud_cover": ("total_sky_cover", 99.0, 1.0),
    "snow_depth": ("snow_depth", 999.0, 0.01),
    "rain": ("liquid_precipitation_depth", 999.0, 1.0),
}
"""Field of the file, value from which on it means missing, and factor to the unit of `columns.COLUMNS`."""


EXAMPLE = "2001,1,1,1,60,...,5.0,2.1,82,98100,... (35 fields; 8 lines of headings before, the first LOCATION,...)"
"""A row of such a file, for messages."""


def read_epw(
    path: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Read an EPW weather file.

    Parameters
    ----------
    path : path
        The file.
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
    text = text_of(path, EXAMPLE, strict=False)
    try:
        data, head = pvlib.iotools.read_epw(io.StringIO(text))
        index, typical = to_nominal_year(data.index.tz_localize(None))
        site, frame = _site(head), _fields(data, index)
        hours = numbers_of(data, "liquid_precipitation_quantity")
    except Exception as error:  # whatever the parser trips over
        raise unreadable(path, "EPW weather", error, EXAMPLE) from error
    raw = raw_year(
        path, site, frame, typical, source="EPW weather file", first_row=9,
        provenance=f"data source named in the file: {head['data_type']}", notes=["present-weather digits are not read"],
    )  # fmt: skip
    read_gauge(raw, hours)
    return build_year(raw, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def _site(head: dict[str, object]) -> Site:
    """Place of the station from the first line of the file."""
    parts = [str(head[key]).strip() for key in ("city", "state-prov", "country")]
    latitude, longitude, elevation, zone = (float(str(head[k])) for k in ("latitude", "longitude", "altitude", "TZ"))
    return Site(", ".join(part for part in parts if part), latitude, longitude, elevation, zone)


def _fields(data: pd.DataFrame, index: pd.DatetimeIndex) -> pd.DataFrame:
    """Columns by our names and units, nan where missing; a longwave or pressure of zero is missing too."""
    frame = columns_of(data, index, FIELDS)
    for name in ("sky_longwave", "pressure"):
        frame.loc[frame[name] == 0, name] = np.nan
    return frame
