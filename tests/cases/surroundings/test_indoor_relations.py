"""Published relations for indoor air against their worked values, and how cases ask for them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from stemwall.cases.surroundings.indoor_air import Air
from stemwall.cases.surroundings.indoor_relations import (
    ISO_13788_EXCESS,
    ashrae_160_humidity,
    ashrae_160_temperature,
    en_15026_humidity,
    en_15026_temperature,
    iso_13788_excess,
)
from stemwall.cases.surroundings.outdoor_means import OutsideAir, running_mean
from stemwall.weather.moistair import saturation_pressure
from stemwall.weather.read import read_weather
from tests.cases.samples import WALL, changed, problems, setup

OUTDOOR = [-15.0, 0.0, 10.0, 15.0, 25.0]
DAY = np.array([10.5, 100.5])


def outside(day: float, month: float, vapour: float) -> OutsideAir:
    """Return two hours of one outdoor air."""
    return OutsideAir(np.full(2, day), np.full(2, month), np.full(2, vapour))


def air(**table: Any) -> Air:
    return Air.model_validate(table)


def test_en_15026() -> None:
    np.testing.assert_allclose(en_15026_temperature(OUTDOOR), [20, 20, 20, 22.5, 25])
    np.testing.assert_allclose(en_15026_humidity(OUTDOOR), [0.30, 0.40, 0.50, 0.55, 0.60])
    np.testing.assert_allclose(en_15026_humidity(OUTDOOR, "high"), [0.40, 0.50, 0.60, 0.65, 0.70])


@pytest.mark.parametrize(("number", "at_10"), [(1, 135.0), (2, 270.0), (3, 405.0), (4, 540.0)])
def test_iso_13788(number: int, at_10: float) -> None:
    limit = ISO_13788_EXCESS[number]
    np.testing.assert_allclose(iso_13788_excess([-5, 0, 10, 20, 30], limit), [limit, limit, at_10, 0, 0])


def test_ashrae_160() -> None:
    outdoor = [-15.0, 0.0, 10.0, 19.0, 25.0]
    np.testing.assert_allclose(ashrae_160_temperature(outdoor), [21.1, 21.1, 21.1, 21.8, 23.9])
    np.testing.assert_allclose(ashrae_160_temperature(outdoor, cooled=False), [21.1, 21.1, 21.1, 21.8, 27.8])
    np.testing.assert_allclose(ashrae_160_humidity(outdoor), [0.40, 0.50, 0.60, 0.69, 0.70])


def test_air_follows_the_right_mean() -> None:
    """EN 15026 and ASHRAE 160 follow the day, ISO 13788 the month."""
    weather = outside(day=15.0, month=10.0, vapour=900.0)
    temperature, humidity = air(relation="EN 15026").series(DAY, Path(), weather)
    assert (temperature[0], humidity[0]) == (pytest.approx(22.5), pytest.approx(0.55))
    temperature, humidity = air(relation="ASHRAE 160").series(DAY, Path(), weather)
    assert (temperature[0], humidity[0]) == (pytest.approx(21.1), pytest.approx(0.65))
    temperature, humidity = air(relation="ISO 13788", humidity_class=2).series(DAY, Path(), weather)
    assert temperature[0] == 20.0
    assert humidity[0] * float(saturation_pressure(20.0)) == pytest.approx(900 + 1.1 * 270)


def test_iso_13788_keeps_the_vapour_pressure_at_other_temperatures() -> None:
    weather = outside(day=0.0, month=-3.0, vapour=400.0)
    table = {"relation": "ISO 13788", "humidity_class": 5, "vapour_excess": 1400, "margin": 1}
    for warm in (16.0, 24.0):
        temperature, humidity = air(**table, temperature=warm).series(DAY, Path(), weather)
        assert temperature[0] == warm
        assert humidity[0] * float(saturation_pressure(warm)) == pytest.approx(1800.0)
    _, cold = air(**table, temperature=5).series(DAY, Path(), weather)
    assert cold.max() == 1.0


def test_stated_temperature_leaves_the_relation_its_humidity() -> None:
    temperature, humidity = air(relation="EN 15026", temperature="18 degC").series(DAY, Path(), outside(0, 0, 500))
    assert (temperature[0], humidity[0]) == (18.0, pytest.approx(0.40))


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({"relation": "EN 15026", "humidity": 0.5}, "a relation that gives the humidity"),
        ({"relation": "EN 15026", "file": "a.csv"}, "a relation that gives the humidity"),
        ({"relation": "EN 15026", "humidity_class": 2}, 'only with relation = "ISO 13788"'),
        ({"relation": "ISO 13788", "occupancy": "high"}, 'only with relation = "EN 15026"'),
        ({"temperature": 20, "humidity": 0.5, "cooled": True}, 'only with relation = "ASHRAE 160"'),
        ({"relation": "ISO 13788", "humidity_class": 5}, "vapour_excess"),
        ({"relation": "ISO 13788", "humidity_class": 6}, "between 1 and 5"),
    ],
)
def test_what_does_not_go_together(table: dict[str, Any], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        Air.model_validate(table)


def test_running_mean_of_a_series_that_repeats() -> None:
    series = np.array([0.0, 0.0, 6.0, 0.0, 0.0, 0.0])
    np.testing.assert_allclose(running_mean(series, 3, ahead=0), [0, 0, 2, 2, 2, 0])
    np.testing.assert_allclose(running_mean(series, 3, ahead=1), [0, 2, 2, 2, 0, 0])
    np.testing.assert_allclose(running_mean(np.roll(series, 3), 3, ahead=0), [2, 2, 0, 0, 0, 2])


def test_outside_air_is_that_of_the_weather() -> None:
    year = read_weather("default")
    found = OutsideAir.of(year, datetime(2001, 3, 10), 48)
    first = int(year.hour_index(1, datetime(2001, 3, 10))[0])
    assert found.day[23] == pytest.approx(year.temperature[first : first + 24].mean())
    assert found.month[0] == pytest.approx(year.temperature[first - 359 : first + 361].mean())


def test_case_with_a_relation() -> None:
    text = changed(
        'temperature = 20\nhumidity = "50 %"', 'relation = "EN 15026"\noccupancy = "high"',
        changed("years = 0.01", "years = 0.5"),
    )  # fmt: skip
    made = setup(text)
    room = made.climates["room"]
    assert 0.40 <= room.relative_humidity.min() < room.relative_humidity.max() <= 0.70
    assert room.temperature.min() >= 20.0
    out = OutsideAir.of(read_weather("default"), made.start, made.hours)
    np.testing.assert_allclose(room.relative_humidity, en_15026_humidity(out.day, "high"))
    assert "EN 15026" in made.provenance["indoor_room"]
    assert "high" in made.provenance["indoor_room"]


def test_unreadable_weather_is_said_once() -> None:
    text = changed('temperature = 20\nhumidity = "50 %"', 'relation = "EN 15026"')
    listed = problems(changed("years = 0.01", 'years = 0.01\n[weather]\nfile = "none.epw"', text))
    assert [p.path for p in listed] == ["weather.file"]


def test_free_section_without_given_air_still_fails() -> None:
    listed = problems(changed('temperature = 20\nhumidity = "50 %"\n', "", WALL))
    assert "a relation" in listed[0].expected
