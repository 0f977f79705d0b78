"""Reader for TMY2 files.

Hours are numbered by their end, 1 to 24; hour 1 becomes the hour that starts at 00:00.  The files hold no rain depth,
but ten digits of weather for each observation, which become codes of WMO table 4677: rain can be made from these.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from stemwall.weather.build import build_year
from stemwall.weather.files import text_of
from stemwall.weather.moistair import FloatArray
from stemwall.weather.typical_file import columns_of, numbers_of, raw_year
from stemwall.weather.unit_conversion import Site, to_nominal_year, unreadable
from stemwall.weather.year import WeatherYear

PROVENANCE = (
    "TMY2, typical meteorological year of 1961 to 1990, National Renewable Energy Laboratory of the US Department of "
    "Energy; Marion and Urban, User's Manual for TMY2s (1995); US government work, in the public domain"
)

FIELDS: dict[str, tuple[str, float, float]] = {
    "temperature": ("DryBulb", 9999.0, 0.1),
    "dew_point": ("DewPoint", 9999.0, 0.1),
    "relative_humidity": ("RHum", 999.0, 0.01),
    "pressure": ("Pressure", 9999.0, 100.0),
    "wind_direction": ("Wdir", 999.0, 1.0),
    "wind_speed": ("Wspd", 999.0, 0.1),
    "ghi": ("GHI", 9999.0, 1.0),
    "dni": ("DNI", 9999.0, 1.0),
    "dhi": ("DHI", 9999.0, 1.0),
    "cloud_cover": ("TotCld", 99.0, 1.0),
    "snow_depth": ("SnowDepth", 999.0, 0.01),
}
"""Field of the file, value from which on it means missing, and factor to the unit of `columns.COLUMNS`; User's Manual
for TMY2s, table 3-2 (from memory, to be checked)."""

RAIN = {0: 61, 1: 63, 2: 65, 3: 80, 4: 81, 5: 82, 6: 66, 7: 67, 8: 67}
"""Code of WMO table 4677 for the third digit: rain, showers and freezing rain, each slight, moderate, heavy."""

DRIZZLE = {0: 80, 1: 81, 2: 82, 3: 51, 4: 53, 5: 55, 6: 56, 7: 57, 8: 57}
"""The same for the fourth: rain squalls, drizzle and freezing drizzle."""

SNOW = {0: 71, 1: 73, 2: 75, 3: 77, 4: 77, 5: 77}
"""The same for the fifth: snow and snow pellets or grains; the other solids of digits 5 and 6 count as snow showers.
All three of User's Manual for TMY2s, table 3-3 (from memory, to be checked)."""

SNOW_SHOWERS = 85

EXAMPLE = " 62010101000000000000?00000?... (first: 12839 MIAMI FL -5 N 25 48 W 80 16 2)"
"""A row of such a file, for messages."""


def read_tmy2(
    path: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Read a TMY2 file.

    Parameters
    ----------
    path : path
        The file.
    fill_gaps : int
        Longest run of missing hours to fill [h].
    accept : collection of str
        Kinds of slips, see `doubts.SLIPS`, that do not refuse the file.
    rain_gaps : str
        As in `build.build_year`; the format has no rain.

    Raises
    ------
    WeatherError
        With every problem found.
    """
    path = Path(path)
    text_of(path, EXAMPLE, strict=False)
    try:
        data, head = pvlib.iotools.read_tmy2(str(path))
        index, typical = to_nominal_year(_hour_starts(data))
        site, frame = _site(head), _fields(data, index)
    except Exception as error:  # whatever the parser trips over
        raise unreadable(path, "TMY2", error, EXAMPLE) from error
    raw = raw_year(path, site, frame, typical, source="TMY2", provenance=PROVENANCE, first_row=2)
    return build_year(raw, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def _hour_starts(data: pd.DataFrame) -> pd.DatetimeIndex:
    """Start of each hour; years are given by two digits and lie in 1961 to 1990."""
    parts = {name: data[name].astype(int).to_numpy() for name in ("year", "month", "day")}
    day = pd.to_datetime(pd.DataFrame({**parts, "year": 1900 + parts["year"] % 100}))
    return pd.DatetimeIndex(day + pd.to_timedelta(data["hour"].astype(int).to_numpy() - 1, unit="h"))


def _site(head: dict[str, object]) -> Site:
    """Place of the station from the first line of the file."""
    latitude, longitude, height, zone = (float(str(head[k])) for k in ("latitude", "longitude", "altitude", "TZ"))
    return Site(f"{str(head['City']).strip()}, {str(head['State']).strip()}", latitude, longitude, height, zone)


def _fields(data: pd.DataFrame, index: pd.DatetimeIndex) -> pd.DataFrame:
    """Columns by our names and units, nan where missing."""
    frame = columns_of(data, index, FIELDS)
    frame["present_weather"] = weather_codes(numbers_of(data, "PresentWeather"))
    return frame


def weather_codes(digits: FloatArray) -> FloatArray:
    """Codes of WMO table 4677 of ten digits of weather as numbers, shape (n,); nan where nothing was observed.

    What brings most water counts: rain, else drizzle and squalls, else snow; an hour without any is 0.

    Examples
    --------
    >>> weather_codes(np.array([999999999.0, 919999999.0, 9999999999.0])).tolist()
    [0.0, 63.0, nan]
    """
    codes = np.full(digits.size, np.nan)
    for i, number in enumerate(digits.tolist()):
        text = f"{int(number):010d}" if np.isfinite(number) and number >= 0 else ""
        if len(text) != 10 or text[0] == "9":
            continue
        rain, drizzle, snow, showers = (int(mark) for mark in text[2:6])
        solid = SNOW.get(snow, SNOW_SHOWERS if snow < 9 or showers < 9 else 0)
        codes[i] = RAIN.get(rain, DRIZZLE.get(drizzle, solid))
    return codes
