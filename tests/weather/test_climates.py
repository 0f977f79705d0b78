"""Climates by name: each is there without a file, has rain of a stated origin, and lies where its name says."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from stemwall.weather.climates import INVENTED, KEPT, NAMES
from stemwall.weather.invented import PERSISTENCE, RECIPES, invented_year
from stemwall.weather.monthly_rain import monthly_sums
from stemwall.weather.read import read_weather

#: coldest and warmest monthly mean [degC], yearly mean humidity, yearly rain [mm], within which each must lie
BOUNDS = {
    "default": ((-3, 3), (23, 28), (0.6, 0.8), (900, 920)),
    "mixed-humid": ((-3, 3), (23, 28), (0.6, 0.8), (900, 920)),
    "cold-marine": ((-5, 3), (8, 16), (0.65, 0.85), (990, 1010)),
    "hot-humid": ((17, 22), (26, 30), (0.65, 0.8), (1400, 1440)),
    "cold-continental": ((-20, -8), (17, 26), (0.5, 0.8), (500, 520)),
    "hot-dry": ((8, 16), (28, 38), (0.15, 0.4), (190, 200)),
}


def test_every_name_has_bounds() -> None:
    assert set(BOUNDS) == set(NAMES)
    assert set(RECIPES) == set(INVENTED)


@pytest.mark.parametrize("name", NAMES)
def test_a_climate_is_what_its_name_says(name: str) -> None:
    year = read_weather(name)
    coldest, warmest, humidity, rain = BOUNDS[name]
    months = year.monthly_means()["temperature"]
    assert coldest[0] < months.min() < coldest[1]
    assert warmest[0] < months.max() < warmest[1]
    assert humidity[0] < year.relative_humidity.mean() < humidity[1]
    total = year.annual_rain()
    assert total is not None
    assert rain[0] < total < rain[1]
    assert "stated totals" in year.rain_origin
    assert "from memory, to be checked" in " ".join(year.notes) or name in INVENTED
    assert year.hours == 8760
    assert bool(year.warnings) == (name in INVENTED)


@pytest.mark.parametrize("name", sorted(KEPT))
def test_stated_totals_are_met(name: str) -> None:
    sums = monthly_sums(read_weather(name))
    for month, total in KEPT[name].rain.items():
        assert sums[month - 1] == pytest.approx(total)


@pytest.mark.parametrize("name", INVENTED)
def test_invented_years_are_marked_and_repeat(name: str) -> None:
    year, again = read_weather(name), invented_year(RECIPES[name])
    for key, values in year.arrays().items():
        np.testing.assert_array_equal(values, again.arrays()[key])
    assert "an invented year" in year.warnings[0]
    assert year.provenance.startswith("INVENTED")
    assert year.station == f"invented, {name}"
    shown = {field.name for field in fields(RECIPES[name])}
    assert all(f"{field}=" in year.provenance for field in shown)


def test_systems_fade_as_the_recipe_says() -> None:
    """Departures of daily means from the season keep their spread, and of themselves a day later what is due.

    Joined linearly from noon to noon, a day's mean has 3/4 of its own value and 1/8 of each neighbour's.
    """
    recipe = RECIPES["cold-continental"]
    daily = read_weather("cold-continental").temperature.reshape(-1, 24).mean(axis=1)
    angle = 2 * np.pi * (np.arange(365) + 0.5) / 365
    basis = np.stack([np.ones(365), np.cos(angle), np.sin(angle)], axis=1)
    rest = daily - basis @ np.linalg.lstsq(basis, daily, rcond=None)[0]
    assert rest.std() == pytest.approx(recipe.systems, rel=0.25)
    share = np.array([1, 6, 1]) / 8
    apart = np.arange(3)[:, None] - np.arange(3)
    now, later = (share @ PERSISTENCE ** np.abs(apart + lag) @ share for lag in (0, 1))
    assert np.corrcoef(rest[1:], rest[:-1])[0, 1] == pytest.approx(later / now, abs=0.05)
