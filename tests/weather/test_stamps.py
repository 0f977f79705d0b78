"""Times of plain files: ISO 8601 or nothing."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from stemwall.weather.errors import Problem
from stemwall.weather.stamps import local_times


def read(*texts: str, utc_offset: float = 1.0) -> tuple[pd.DatetimeIndex, list[Problem]]:
    """Times and problems of texts in rows 5, 6, ..."""
    problems: list[Problem] = []
    rows = np.arange(5, 5 + len(texts), dtype=np.int64)
    return local_times(list(texts), utc_offset, rows, "a.csv", problems), problems


@pytest.mark.parametrize(
    "text", ["2001-01-31T13:00", "2001-01-31 13:00:00", "2001-01-31T13", "2001-01-31T12:00Z", "2001-01-31T14:00+02:00"]
)
def test_iso(text: str) -> None:
    times, problems = read(text)
    assert times[0] == pd.Timestamp("2001-01-31 13:00")
    assert problems == []


@pytest.mark.parametrize(
    "text",
    [
        "01/02/2001 13:00", "31.01.2001 13:00", "2001-01-31T24:00", "2001-13-01T00:00", "2001-02-30T00:00", "13:00", "",
        "yesterday", "now", "today", "20010131", "0001-01-01T00:00", "9999-01-01T00:00", "2001-01-31T13:00+99:99",
        "٢٠٠١-01-31T13:00",
    ],
)  # fmt: skip
def test_others_are_not_guessed(text: str) -> None:
    times, problems = read("2001-01-31T12:00", text)
    assert times[1] is pd.NaT
    assert [(p.place, p.found) for p in problems] == [("a.csv, row 6, time", repr(text))]
    assert "such as 2001-01-31T13:00" in problems[0].expected


def test_mixed_formats_are_one_problem_a_run() -> None:
    _, problems = read("01/02/2001 00:00", "01/02/2001 01:00", "2001-01-02T02:00", "03.01.2001")
    assert [(p.place, p.found) for p in problems] == [
        ("a.csv, rows 5-6, time", "'01/02/2001 00:00' and 1 more"),
        ("a.csv, row 8, time", "'03.01.2001'"),
    ]
