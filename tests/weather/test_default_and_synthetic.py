"""What the embedded default holds, and rain made from its present-weather codes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stemwall.weather.climates import kept_file
from stemwall.weather.errors import WeatherError
from stemwall.weather.rain_codes import RATES, SOLID, hourly_rates
from stemwall.weather.read import read_weather
from stemwall.weather.synthetic import scaled_rain, synthetic_rain
from stemwall.weather.tmy3 import on_gauge_steps, read_tmy3
from stemwall.weather.year import WeatherYear

DIGEST = "1e96f84638ce98e6b29002bc45a27aa69bb29b0ed0368d3b52b7b1f81610c6c9"
"""SHA-256 of the file that the regression values below belong to."""


def test_default_is_the_known_file(default_year: WeatherYear) -> None:
    """Regression: means and extremes of the file's columns, taken with a spreadsheet-like read of the raw
    text."""
    assert default_year.sha256 == DIGEST
    assert default_year.station == "GREENSBORO PIEDMONT TRIAD INT, NC"
    assert default_year.hours == 8760
    assert default_year.annual_mean_temperature() == pytest.approx(14.421849, abs=1e-6)
    assert default_year.temperature.min() == -16.7
    assert default_year.temperature.max() == 35.6
    assert default_year.relative_humidity.mean() == pytest.approx(0.69516096, abs=1e-8)
    assert default_year.wind_speed.mean() == pytest.approx(3.054441, abs=1e-6)
    assert default_year.ghi.mean() == pytest.approx(178.790297, abs=1e-6)


def test_default_rain_is_read_in_tenths_and_its_holes_are_named(default_year: WeatherYear) -> None:
    """The file has no rain in February, which the default has by a stated total."""
    of_file = read_weather(kept_file("default"))
    assert of_file.rain is not None
    assert default_year.rain is not None
    assert of_file.rain_origin == "measured"
    assert of_file.rain.sum() == pytest.approx(834.5)
    assert of_file.rain.max() == 50.0
    assert on_gauge_steps(of_file.rain) > 0.97
    february = default_year.months == 2
    assert of_file.rain[february].sum() == 0
    assert default_year.rain[february].sum() == pytest.approx(75.0)
    np.testing.assert_array_equal(default_year.rain[~february], of_file.rain[~february])
    others = {name: values for name, values in of_file.arrays().items() if name != "rain"}
    for name, values in others.items():
        np.testing.assert_array_equal(getattr(default_year, name), values)
    assert any("tenths of a millimetre" in note for note in default_year.notes)
    assert any("a usual February of the station" in note for note in default_year.notes)
    assert any("month 2 has no rain" in note for note in default_year.notes)


def test_rain_in_millimetres_stays_as_it_is(
    clear_year: WeatherYear, write_tmy3: Callable[..., Path], tmp_path: Path
) -> None:
    found = read_tmy3(write_tmy3(clear_year, tmp_path / "a.csv"))
    np.testing.assert_array_equal(found.rain, clear_year.rain)
    assert not any("tenths" in note for note in found.notes)


def test_longwave_of_the_default_is_below_a_black_body(default_year: WeatherYear) -> None:
    air = 5.670374419e-8 * (default_year.temperature + 273.15) ** 4
    share = default_year.sky_longwave / air
    assert 0.6 < share.min() < share.max() <= 1.0


def test_synthetic_rain_is_deterministic(default_year: WeatherYear) -> None:
    one, again, other = (synthetic_rain(default_year, seed=seed) for seed in (7, 7, 8))
    assert one.rain is not None
    assert again.rain is not None
    assert other.rain is not None
    np.testing.assert_array_equal(one.rain, again.rain)
    assert not np.array_equal(one.rain, other.rain)
    assert one.rain_origin == "synthetic from present-weather codes"
    assert "SYNTHETIC RAIN" in one.notes[-1]


def test_synthetic_rain_falls_in_coded_hours_within_its_class(default_year: WeatherYear) -> None:
    codes = default_year.present_weather
    assert codes is not None
    rates = hourly_rates(codes, 3)
    np.testing.assert_array_equal(rates > 0, np.isin(codes, list(RATES)))
    for code in np.unique(codes[rates > 0]):
        low, high = RATES[int(code)]
        here = rates[codes == code]
        assert low <= here.min() <= here.max() <= high


def test_codes_of_solid_and_liquid_precipitation_cover_50_to_97_once() -> None:
    """Left out: 98, a thunderstorm with a dust storm."""
    assert not SOLID & set(RATES)
    assert SOLID | set(RATES) == set(range(50, 100)) - {98}


def test_synthetic_total_is_met(default_year: WeatherYear) -> None:
    assert synthetic_rain(default_year, annual_total=1080.0).annual_rain() == pytest.approx(1080.0)
    filled = synthetic_rain(default_year, months=[2], annual_total=900.0)
    assert filled.annual_rain() == pytest.approx(900.0)
    assert filled.rain is not None
    assert default_year.rain is not None
    other = default_year.months != 2
    np.testing.assert_array_equal(filled.rain[other], default_year.rain[other])
    assert filled.rain_origin.startswith("measured; February brought to stated totals, months 2 synthetic")


def test_scaled_rain(default_year: WeatherYear) -> None:
    scaled = scaled_rain(default_year, 1000.0)
    assert scaled.annual_rain() == pytest.approx(1000.0)
    assert scaled.rain_origin == "measured; February brought to stated totals, scaled"


def test_rain_that_cannot_be_made_is_refused(default_year: WeatherYear) -> None:
    with pytest.raises(WeatherError, match="no present-weather codes"):
        synthetic_rain(replace(default_year, present_weather=None))
    dry = replace(default_year, present_weather=np.zeros(8760, dtype=np.int64))
    with pytest.raises(WeatherError, match="0 h with rain codes"):
        synthetic_rain(dry, annual_total=500.0)
    with pytest.raises(WeatherError, match="kept from the other months"):
        synthetic_rain(default_year, months=[2], annual_total=100.0)
    with pytest.raises(WeatherError, match="no rain"):
        scaled_rain(replace(default_year, rain=None), 500.0)
