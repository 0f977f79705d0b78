"""Dates in a case file: read strictly, with a word on what a slip was likely to mean."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import Annotated

from pydantic import BeforeValidator

from stemwall.cases.inputs.field_types import Spelling

#: years of which anybody has hourly weather, and of which runs are made
FIRST_YEAR, LAST_YEAR = 1900, 2100
EXPECTED = (
    f"a date as year-month-day between {FIRST_YEAR} and {LAST_YEAR}, local standard time, e.g. 2001-10-01 or "
    "2001-10-01T00:00:00"
)
_PARTS = re.compile(r"\s*(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})(?:[T ]\d{1,2}:\d{2}(?::\d{2})?)?\s*$", re.ASCII)
_COMPACT = re.compile(r"\s*(\d{4})(\d{2})(\d{2})\s*$", re.ASCII)


def read_moment(value: object) -> datetime:
    """Return a moment in local standard time, on the full hour.

    Raises
    ------
    ValueError
        With what is expected, and the date that a slip may have meant.
    """
    moment = _moment(value)
    if moment is None:
        raise ValueError(_with_hint(value))
    if moment.tzinfo is not None:
        raise ValueError(f"{EXPECTED}; without an offset from universal time")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ValueError(EXPECTED)
    if (moment.minute, moment.second, moment.microsecond) != (0, 0, 0):
        raise ValueError(f"{EXPECTED}; on the full hour")
    return moment


def _moment(value: object) -> datetime | None:
    if isinstance(value, datetime):
        return value
    if isinstance(value, date):
        return datetime.combine(value, time())
    # Python reads more than is meant here, week dates and compact forms among them
    if isinstance(value, str) and re.match(r"\d{4}-\d{2}-\d{2}($|[T ])", value, re.ASCII):
        try:
            return datetime.fromisoformat(value)
        except ValueError:
            return None
    return None


def _with_hint(value: object) -> str:
    """What is expected, with the dates that the parts of the value may have meant."""
    meant = [f"{day:%Y-%m-%d}" for day in _readings(str(value))] if isinstance(value, str | int) else []
    return f"{EXPECTED}; did you mean {' or '.join(meant)}?" if meant else EXPECTED


def _readings(text: str) -> list[date]:
    match = _PARTS.match(text) or _COMPACT.match(text)
    if not match:
        return []
    a, b, c = (int(part) for part in match.groups())
    year, orders = (a, ((b, c), (c, b))) if len(match[1]) == 4 else (c, ((a, b), (b, a)))
    found: list[date] = []
    for month, day in orders:
        try:
            one = date(year, month, day)
        except ValueError:
            continue
        if FIRST_YEAR <= year <= LAST_YEAR and one not in found:
            found.append(one)
    return found


#: a moment in local standard time
Moment = Annotated[datetime, BeforeValidator(read_moment), Spelling(EXPECTED)]
