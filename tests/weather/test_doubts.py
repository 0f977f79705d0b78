"""What is doubtful is refused with the way round, or said."""

from __future__ import annotations

import pytest

from stemwall.weather.doubts import WARNING, Doubt, settle
from stemwall.weather.errors import WeatherError
from stemwall.weather.read import read_weather


def test_grave_doubts_are_problems_unless_accepted() -> None:
    doubts = [Doubt("clock", "a.csv, ghi", "x", "y"), Doubt("stuck", "a.csv, rain", "u", "v", grave=False)]
    problems, notes = settle(doubts, ())
    assert [str(p) for p in problems] == [
        'a.csv, ghi: found x; expected y; if the record is right, accept = ["clock"] for the weather takes it as it is'
    ]
    assert notes == [f"{WARNING}a.csv, rain: u; expected v"]
    problems, notes = settle(doubts, ["clock"])
    assert problems == []
    assert len(notes) == 2
    assert doubts[0].column == "ghi"


def test_unknown_kinds_are_refused() -> None:
    with pytest.raises(WeatherError, match="found clocks; expected kinds of slips: clock, units"):
        read_weather("default", accept=["clocks"])
