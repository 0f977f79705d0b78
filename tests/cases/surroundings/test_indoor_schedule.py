"""Schedules of the day and the week."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from stemwall.cases.surroundings.indoor_air import Air
from tests.cases.samples import changed, problems, setup

NIGHT = [[0, "17 degC"], [6, 21], [22, 17]]
WEEKEND = [[0, 17], [8, 21], [23.5, 17]]


def hours(*times: float) -> np.ndarray:
    """Return hours of the year as days."""
    return np.array(times) / 24


def test_values_hold_from_their_hour_on() -> None:
    air = Air.model_validate({"temperature": {"day": NIGHT}, "humidity": {"day": [[0, "40 %"], [18, 0.6]]}})
    temperature, humidity = air.series(hours(0.5, 5.5, 6.5, 21.5, 22.5, 24.5, 30.5), Path())
    np.testing.assert_array_equal(temperature, [17, 17, 21, 21, 17, 17, 21])
    np.testing.assert_array_equal(humidity, [0.4, 0.4, 0.4, 0.6, 0.6, 0.4, 0.4])


def test_weekends_fall_on_the_right_days() -> None:
    """1 January a Thursday (3): the third day is Saturday, the fifth Monday."""
    air = Air.model_validate({"temperature": {"day": NIGHT, "weekend": WEEKEND}, "humidity": 0.5})
    at_7 = hours(*(24 * day + 7.5 for day in range(9)))
    temperature, _ = air.series(at_7, Path(), first_weekday=3)
    np.testing.assert_array_equal(temperature, [21, 21, 17, 17, 21, 21, 21, 21, 21])


def test_the_week_of_a_run_is_that_of_its_calendar() -> None:
    """1 October 2001 was a Monday: the first 17 degC at 7 h is on the sixth day."""
    table = "temperature = { day = [[0, 21]], weekend = [[0, 15]] }"
    made = setup(changed("temperature = 20", table, changed("years = 0.01", "years = 0.02\nstart = 2001-10-01")))
    temperature = made.climates["room"].temperature[: 7 * 24].reshape(7, 24)
    np.testing.assert_array_equal(temperature.mean(axis=1), [21] * 5 + [15] * 2)
    assert "at weekends 15 °C from 0 h" in made.provenance["indoor_room"]


@pytest.mark.parametrize(
    "day",
    [[], 20, [[1, 20]], [[0, 20], [0, 21]], [[0, 20], [24, 21]], [[0, "20 kg"]], [[0]], [[0, 20], ["6", 21]]],
)
def test_bad_schedules(day: Any) -> None:
    with pytest.raises(ValidationError, match="temperature"):
        Air.model_validate({"temperature": {"day": day}, "humidity": 0.5})


def test_a_bad_schedule_is_named_in_one_line() -> None:
    (problem,) = problems(changed("temperature = 20", "temperature = { day = [[3, 20]] }"))
    assert problem.path == "indoor.room.temperature"
    assert "the first hour is 0" in problem.expected
    assert "\n" not in problem.expected
