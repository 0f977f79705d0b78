"""The common form that every reader brings its file into before it is checked."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.doubts import Doubt
from stemwall.weather.errors import Problem, WeatherError
from stemwall.weather.files import file_bytes

NOMINAL_YEAR = 2001
"""Year given to typical years, whose months come from different years: a common year that starts on a
Monday."""


@dataclass(frozen=True)
class Site:
    """Where the station stands; nan where not stated.

    Name, latitude and longitude, north and east positive [deg], elevation [m], local standard time minus UTC [h].
    """

    station: str
    latitude: float
    longitude: float
    elevation: float
    utc_offset: float

    @property
    def known(self) -> bool:
        """Whether all of it is stated and possible."""
        stated = (self.latitude, self.longitude, self.elevation, self.utc_offset)
        return all(abs(value) <= limit for value, limit in zip(stated, (90, 180, 6000, 14), strict=True))


@dataclass
class RawWeather:
    """Hourly values as read, in the units of `columns.COLUMNS`, not yet checked.

    Parameters
    ----------
    name : str
        File, as named in error messages.
    site : Site
        Place of the station.
    frame : DataFrame
        Columns named as in `columns.COLUMNS`, nan where missing; the index is the start of each hour, local
        standard time.
    rows : ndarray of int
        Row of the file, counted from 1, for each row of the frame.
    source, provenance, rain_origin, sha256 : str
        As in `year.WeatherYear`.
    typical : bool
        The months come from different years.
    notes : list of str
        What the reader derived or left out.
    problems : list of Problem
        What the reader could not make sense of.
    refused : set of str
        Columns that the file has but that have no usable unit; they are not in the frame.
    stated : set of str
        Columns that are constants, or rules, by statement: they are no stuck sensors.
    doubts : list of Doubt
        What the reader found doubtful.
    seams : ndarray of int or None
        Something that changes where rows that follow each other come from different years, shape (n,).
    """

    name: str
    site: Site
    frame: pd.DataFrame
    rows: NDArray[np.int64]
    source: str
    provenance: str = ""
    rain_origin: str = "measured"
    sha256: str = ""
    typical: bool = False
    notes: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    refused: set[str] = field(default_factory=set)
    stated: set[str] = field(default_factory=set)
    doubts: list[Doubt] = field(default_factory=list)
    seams: NDArray[np.int64] | None = None


def digest(path: Path) -> str:
    """SHA-256 of a file in hexadecimal."""
    return hashlib.sha256(file_bytes(path)).hexdigest()


def unreadable(path: Path, kind: str, error: Exception, example: str = "") -> WeatherError:
    """Error for a file that its format's parser refuses; the example is a line as the format wants it."""
    said = " ".join(str(error).split())
    expected = f"a file in {kind} format" + (f", with lines like: {example}" if example else "")
    return WeatherError([Problem(str(path), f"{type(error).__name__}: {said}", expected)])


def to_nominal_year(index: pd.DatetimeIndex) -> tuple[pd.DatetimeIndex, str | None]:
    """Put the months of a typical year into one calendar year.

    Returns
    -------
    index : DatetimeIndex
        With the year replaced if the months come from different years, else as it was.
    note : str or None
        Which year each month came from.
    """
    years = index.year.to_numpy()
    months = index.month.to_numpy()
    pairs = sorted({(int(m), int(y)) for m, y in zip(months, years, strict=True)})
    months_once = len({m for m, _ in pairs}) == len(pairs)
    if len({y for _, y in pairs}) < 2 or not months_once or months[0] != 1:
        return index, None
    leap = bool(np.any((months == 2) & (index.day.to_numpy() == 29)))
    year = NOMINAL_YEAR - 1 if leap else NOMINAL_YEAR
    nominal = pd.DatetimeIndex([stamp.replace(year=year) for stamp in index])
    listed = ", ".join(f"{m}: {y}" for m, y in pairs)
    return nominal, f"typical year, set to nominal year {year}; source year of each month: {listed}"
