"""What readers of files of hourly typical years share: fields as columns, and hours that are stated by their end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from stemwall.weather.unit_conversion import RawWeather, Site, digest

AT_THE_END = "readings at the end of each hour stand for the hour"


def columns_of(
    data: pd.DataFrame,
    index: pd.DatetimeIndex,
    fields: Mapping[str, tuple[str, float, float]],
    missing: float = -np.inf,
) -> pd.DataFrame:
    """Columns by our names and units, nan where missing; a field that the file lacks is left out.

    Parameters
    ----------
    data : DataFrame
        Fields as the file has them.
    index : DatetimeIndex
        Start of each hour.
    fields : mapping
        By the name of the column: field of the file, value from which on it means missing, and factor to the unit of
        `columns.COLUMNS`.
    missing : float
        Values up to this one mean missing in any field.
    """
    frame = pd.DataFrame(index=index)
    for name, (field, limit, factor) in fields.items():
        if field in data:
            values = numbers_of(data, field)
            frame[name] = np.where((values >= limit) | (values <= missing), np.nan, values * factor)
    return frame


def numbers_of(data: pd.DataFrame, field: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """A field as numbers, nan where it holds none."""
    found: np.ndarray[tuple[int], np.dtype[np.float64]]
    found = pd.to_numeric(data[field], errors="coerce").to_numpy(dtype=np.float64)
    return found


def raw_year(
    path: Path,
    site: Site,
    frame: pd.DataFrame,
    typical: str | None,
    *,
    source: str,
    provenance: str,
    first_row: int,
    notes: Sequence[str] = (),
) -> RawWeather:
    """A year as its file has it; ``typical`` says what years its months come from, if they come from several."""
    return RawWeather(
        name=path.name,
        site=site,
        frame=frame,
        rows=np.arange(len(frame), dtype=np.int64) + first_row,
        source=source,
        provenance=provenance,
        sha256=digest(path),
        typical=typical is not None,
        notes=[AT_THE_END, *notes, *([typical] if typical else [])],
        seams=pd.DatetimeIndex(frame.index).month.to_numpy() if typical else None,
    )
