"""Times as plain weather files write them."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.weather.checks import runs
from stemwall.weather.errors import Problem

ISO_TIME = "an ISO 8601 time with 00:00 to 23:00, such as 2001-01-31T13:00"

STAMP = re.compile(
    r"\d{4}-\d{2}-\d{2}([T ]\d{2}(:?\d{2}(:?\d{2}([.]\d{1,9})?)?)? ?(Z|[+-]\d{2}(:?\d{2})?)?)?", re.ASCII
)
"""How a time is written."""

EARLIEST, LATEST = 1700, 2250
"""Years between which a time must lie; the library's clock reaches a little further."""


def local_times(
    texts: list[str], utc_offset: float, numbers: NDArray[np.int64], name: str, problems: list[Problem]
) -> pd.DatetimeIndex:
    """Naive local standard times of ISO 8601 texts, NaT with a problem where there is none.

    Parameters
    ----------
    texts : list of str
        n texts; with an offset they are brought to local standard time.
    utc_offset : float
        Local standard time minus UTC [h].
    numbers : ndarray of int
        Rows of the file that they stand in, shape (n,).
    name : str
        The file.
    problems : list of Problem
        To add to.

    Notes
    -----
    Other ways to write a time are not guessed: 01/02/2001 is a day in January or in February.
    """
    times = [_local(text, utc_offset) for text in texts]
    for first, end in runs(np.array([time is pd.NaT for time in times], dtype=bool)):
        problems.append(Problem(f"{name}, {rows(numbers, first, end)}, time", several(texts, first, end), ISO_TIME))
    return pd.DatetimeIndex(times)


def rows(numbers: NDArray[np.int64], first: int, end: int) -> str:
    """Rows of the file that some rows of the table stand in."""
    return f"row {numbers[first]}" if end - first == 1 else f"rows {numbers[first]}-{numbers[end - 1]}"


def several(texts: list[str], first: int, end: int) -> str:
    """The first of some texts, and how many more there are."""
    return repr(texts[first]) + (f" and {end - first - 1} more" if end - first > 1 else "")


def _local(text: str, utc_offset: float) -> pd.Timestamp:
    if not STAMP.fullmatch(text):
        return pd.NaT
    try:
        time = pd.Timestamp(text)
        if time.tzinfo is not None:
            time = time.tz_convert("UTC").tz_localize(None) + pd.Timedelta(hours=utc_offset)
    except (ValueError, OverflowError):
        return pd.NaT
    return time if EARLIEST < time.year < LATEST else pd.NaT
