"""Numbers of a place: of the last 12 months, with the limits that speak about what lies there."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.investigation.effects import EFFECTS, effects_for, effects_of, leading
from stemwall.solver.assessment.probe_series import ProbeSeries


def record(hours: int, humidity: float = 0.9, kind: str = "wood", *, wet_first: int = 0) -> ProbeSeries:
    time = np.datetime64("2001-10-01T01:00", "m") + np.arange(hours) * np.timedelta64(60, "m")
    rh = np.full(hours, humidity)
    rh[:wet_first] = 0.99
    mould_class = "S" if kind == "wood" else None
    water = np.full(hours, 100.0)
    return ProbeSeries("sill", kind, time, np.full(hours, 15.0), rh, water, mould_class, 400.0, 0.1, 0.8 * water)


def test_numbers_are_those_of_the_last_year() -> None:
    found = effects_of(record(8760 + 2000, 0.7, wet_first=2000))
    assert found["humidity"] == pytest.approx(70.0)
    assert found["humid_days"] == 0.0
    assert found["moisture"] == pytest.approx(20.0)  # the mean of the piece
    assert found["mould"] > 0.0  # what grew before is still there


def test_short_runs_count_whole_and_what_is_no_wood_has_no_wood_moisture() -> None:
    found = effects_of(record(48, 0.85, "interface"))
    assert found == pytest.approx({"humidity": 85.0, "humid_days": 2.0})


def test_a_limit_holds_only_where_it_speaks_about_the_place() -> None:
    limits = {kind: {e.key: e.limit for e in effects_for(kind)} for kind in ("wood", "footing")}
    assert limits["wood"]["moisture"] == 20.0
    assert limits["wood"]["humidity"] == pytest.approx(80.0)
    assert set(limits["footing"].values()) == {None}


def test_the_answer_begins_with_what_misses_its_limit() -> None:
    wood = effects_for("wood")
    values = {"mould": 0.5, "moisture": 25.0, "humidity": 85.0, "humid_days": 3.0, "moist_days": 3.0}
    assert leading(wood, values).key == "moisture"
    assert leading(wood, {**values, "moisture": 10.0, "humidity": 79.0}).key == "humidity"
    assert leading(effects_for("footing")[2:], values).key == "humidity"
    assert [effect.held(1e9) for effect in EFFECTS] == [False, False, False, True, True]
