"""Reader for TMY3 files.

Time stamps in the file are the end of the hour; the row stamped 01:00 becomes the hour that starts at 00:00.
"""

from __future__ import annotations

import io
from collections.abc import Collection
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

from stemwall.weather.build import build_year
from stemwall.weather.columns import COLUMNS
from stemwall.weather.doubts import Doubt
from stemwall.weather.files import text_of
from stemwall.weather.gauge import read_gauge
from stemwall.weather.moistair import FloatArray
from stemwall.weather.typical_file import columns_of, numbers_of, raw_year
from stemwall.weather.unit_conversion import RawWeather, Site, to_nominal_year, unreadable
from stemwall.weather.year import WeatherYear

PROVENANCE = (
    "TMY3, typical meteorological year, National Renewable Energy Laboratory of the US Department of Energy; "
    "Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008); US government work, "
    "in the public domain"
)

FIELDS: dict[str, tuple[str, float, float]] = {
    "temperature": ("temp_air", np.inf, 1.0),
    "relative_humidity": ("relative_humidity", np.inf, 0.01),
    "dew_point": ("temp_dew", np.inf, 1.0),
    "wind_speed": ("wind_speed", np.inf, 1.0),
    "wind_direction": ("wind_direction", np.inf, 1.0),
    "pressure": ("pressure", np.inf, 100.0),
    "ghi": ("ghi", np.inf, 1.0),
    "dni": ("dni", np.inf, 1.0),
    "dhi": ("dhi", np.inf, 1.0),
    "cloud_cover": ("TotCld (tenths)", np.inf, 1.0),
    "rain": ("Lprecip depth (mm)", np.inf, 1.0),
    "present_weather": ("PresWth (METAR code)", np.inf, 1.0),
}
"""Field of the file, value from which on it means missing, and factor to the unit of `columns.COLUMNS`."""

MISSING = -9900.0
"""Value that stands for missing, as does anything below it; Users Manual for TMY3 Data Sets (from memory, to
be checked)."""

QUANTITY = "Lprecip quantity (hr)"
"""Field of the hours over which the rain of a row fell."""

LEAST_ON_STEPS = 0.5
"""Share of the wet hours on whole steps of a gauge below which amounts too large for mm are no tenths either [-]; the
embedded year has 0.98."""

EXAMPLE = "01/01/1988,01:00,0,0,... (first 723170,STATION,NC,-5.0,36.1,-79.95,273; then the names of the fields)"
"""A row of such a file, for messages."""

ONE_HUNDREDTH_INCH = 0.254
"""Resolution of the rain gauges behind the column [mm]."""


def read_tmy3(
    path: str | Path, *, fill_gaps: int = 0, accept: Collection[str] = (), rain_gaps: str = "dry"
) -> WeatherYear:
    """Read a TMY3 file.

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

    Notes
    -----
    The rain column is headed millimetres, but files exist in which it holds tenths. If, read as millimetres,
    an hour exceeds the largest on record, the column is read as tenths of a millimetre, with a note.
    """
    path = Path(path)
    text = text_of(path, EXAMPLE, strict=False)
    try:
        data, head = pvlib.iotools.read_tmy3(io.StringIO(text), map_variables=True)
        index, typical = to_nominal_year(hour_starts(data))
        site, frame = _site(head), columns_of(data, index, FIELDS, MISSING)
    except Exception as error:  # whatever the parser trips over
        raise unreadable(path, "TMY3", error, EXAMPLE) from error
    raw = raw_year(path, site, frame, typical, source="TMY3", provenance=PROVENANCE, first_row=3)
    _interpret_rain(raw)
    if QUANTITY in data:
        read_gauge(raw, numbers_of(data, QUANTITY))
    _note_dry_months(raw)
    return build_year(raw, fill_gaps=fill_gaps, accept=accept, rain_gaps=rain_gaps)


def hour_starts(data: pd.DataFrame) -> pd.DatetimeIndex:
    """Start of each hour from the file's date and its hour of the day, 01:00 to 24:00.

    The index of the parser is not used: it moves 24:00 of 28 February to 1 March where the month comes from a
    leap year.
    """
    clock = data["Time (HH:MM)"].str.split(":", expand=True).astype(int)
    end = pd.to_datetime(data["Date (MM/DD/YYYY)"], format="%m/%d/%Y")
    ended = end + pd.to_timedelta(clock[0] * 60 + clock[1], unit="min")
    return pd.DatetimeIndex(ended - pd.Timedelta(hours=1))


def _site(head: dict[str, object]) -> Site:
    """Place of the station from the first line of the file."""
    station = f"{str(head['Name']).strip(chr(34)).strip()}, {head['State']}"
    latitude, longitude, elevation, zone = (float(str(head[k])) for k in ("latitude", "longitude", "altitude", "TZ"))
    return Site(station, latitude, longitude, elevation, zone)


def _interpret_rain(raw: RawWeather) -> None:
    """Read the rain column as tenths of a millimetre if it cannot be millimetres; say which hours look unobserved."""
    if "rain" not in raw.frame:
        return
    rain = raw.frame["rain"].to_numpy(dtype=np.float64)
    largest, limit = float(np.nanmax(rain, initial=0.0)), COLUMNS["rain"].high
    if largest > limit:
        share = on_gauge_steps(rain / 10)
        raw.frame["rain"] = rain / 10
        raw.notes.append(
            f"the rain column is headed mm, yet its largest hour is {largest:g} and its total "
            f"{np.nansum(rain):.0f}: read as tenths of a millimetre, {np.nansum(rain) / 10:.1f} mm in all "
            f"({share:.0%} of the wet hours are then whole steps of a gauge of one hundredth of an inch)"
        )
        if share < LEAST_ON_STEPS:
            found = f"largest {largest:g} mm, and as tenths of a millimetre only {share:.0%} on the steps of a gauge"
            raw.doubts.append(Doubt("units", f"{raw.name}, rain", found, "amounts in mm, or tenths of it"))


def on_gauge_steps(rain: FloatArray) -> float:
    """Share of the wet hours whose rain [mm], given to 0.1 mm, is a whole number of hundredths of an inch."""
    wet = rain[rain > 0]
    steps = np.round(wet / ONE_HUNDREDTH_INCH)
    return float(np.mean(np.abs(np.round(steps * ONE_HUNDREDTH_INCH, 1) - wet) < 1e-6)) if wet.size else 1.0


def _note_dry_months(raw: RawWeather) -> None:
    """Name the months without any rain although the present-weather codes report rain at the station."""
    if "present_weather" not in raw.frame:
        return
    months = raw.frame.index.month.to_numpy()
    code, rain = raw.frame["present_weather"].to_numpy(), raw.frame["rain"].to_numpy()
    for month in range(1, 13):
        here = months == month
        reported = int(np.sum(here & (code >= 50) & (code <= 99)))
        if reported and not np.nansum(rain[here]):
            raw.notes.append(f"month {month} has no rain in the rain column, yet {reported} h with precipitation codes")
