"""Records of any length, several years, shifts and the ranking of years."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from stemwall.weather.errors import WeatherError
from stemwall.weather.moisture_index import decay_index, design_year, drying_index, ranked
from stemwall.weather.records import completed, is_whole, one_year, outside
from stemwall.weather.shift import shifted
from stemwall.weather.year import WeatherYear


def part(year: WeatherYear, start: datetime, hours: int, **others: object) -> WeatherYear:
    """A measured record of so many hours, its temperature 100 K above the year's so that it can be told apart."""
    index = year.hour_index(hours, start)
    arrays = {name: values[index] for name, values in year.arrays().items()}
    arrays["temperature"] = arrays["temperature"] + 100.0
    return replace(year, start=start, typical=False, **arrays, **others)  # type: ignore[arg-type]


def test_a_record_of_months_is_completed_by_another_year(default_year: WeatherYear) -> None:
    start, hours = datetime(2018, 10, 15, 7), 12_000
    record = part(default_year, start, hours)
    whole = completed(record, default_year)
    assert is_whole(whole)
    assert whole.start == datetime(2018, 1, 1)
    assert whole.hours == 8760 + 8760 + 8784
    mine = (whole.times >= record.times[0]) & (whole.times <= record.times[-1])
    np.testing.assert_array_equal(whole.temperature[mine], record.temperature)
    others = default_year.hour_index(whole.hours, whole.start)
    np.testing.assert_array_equal(whole.temperature[~mine], default_year.temperature[others][~mine])
    assert f"the other {whole.hours - hours} h of 2018 to 2020 are GREENSBORO" in whole.notes[-1]


def test_a_run_of_the_same_dates_has_the_record(default_year: WeatherYear) -> None:
    """Also where it begins in a later year than the record."""
    record = part(default_year, datetime(2018, 10, 15, 7), 12_000)
    whole = completed(record, default_year)
    index = whole.hour_index(1000, datetime(2019, 6, 1))
    first = int((datetime(2019, 6, 1) - record.start).total_seconds() // 3600)
    np.testing.assert_array_equal(whole.temperature[index], record.temperature[first : first + 1000])


def test_hours_outside_the_record_are_warned_of(default_year: WeatherYear) -> None:
    record = part(default_year, datetime(2018, 10, 15), 4000)
    inside = completed(record, default_year, (datetime(2018, 11, 1), 1000))
    assert inside.warnings == ()
    beyond = completed(record, default_year, (datetime(2018, 10, 14), 1000))
    assert outside(record, 1000, datetime(2018, 10, 14)) == 24
    assert "24 h of the run are not in the record; expected a run from 2018-10-15" in beyond.warnings[0]


def test_a_record_of_a_year_and_a_bit_stands_in_for_itself(default_year: WeatherYear) -> None:
    record = part(default_year, datetime(2019, 3, 1), 10_000)
    whole = completed(record, None)
    assert whole.temperature.min() > 50.0
    assert whole.hours == 8760 + 8784
    assert "its own first year" in whole.notes[-1]


def test_too_short_a_record_is_refused(default_year: WeatherYear) -> None:
    with pytest.raises(WeatherError, match=r"weather\.rest"):
        completed(part(default_year, datetime(2019, 3, 1), 5000), None)
    short = part(default_year, datetime(2019, 3, 1), 5000)
    with pytest.raises(WeatherError, match="whole years"):
        completed(short, short)


def test_rain_that_only_one_has_is_kept(default_year: WeatherYear) -> None:
    record = replace(part(default_year, datetime(2019, 3, 1), 5000), rain=None)
    whole = completed(record, default_year)
    assert whole.rain is not None
    mine = (whole.times >= record.times[0]) & (whole.times <= record.times[-1])
    assert whole.rain[mine].sum() == 0
    assert whole.rain[~mine].sum() > 0
    assert whole.rain_origin == "none"


def years(base: WeatherYear, *rain: float) -> WeatherYear:
    """Years from 2001 on with the rain of a year times each factor."""
    hours = 8760 * len(rain)
    index = np.tile(np.arange(8760), len(rain))
    arrays = {name: values[index] for name, values in base.arrays().items()}
    arrays["rain"] = arrays["rain"] * np.repeat(rain, 8760)
    year = replace(base, start=datetime(2001, 1, 1), typical=False, **arrays)  # type: ignore[arg-type]
    assert year.hours == hours
    return year


def test_years_are_ranked_by_their_rain(default_year: WeatherYear) -> None:
    """Same air, so drying is the same and the wetting index alone decides."""
    table = ranked(years(default_year, 1.0, 0.5, 1.5))
    assert [one.year for one in table] == [2003, 2001, 2002]
    assert [one.moisture for one in table] == pytest.approx([np.hypot(1, 1), np.hypot(0.5, 1), 1.0])
    assert design_year(table).year == 2003
    assert default_year.rain is not None
    assert table[0].rain == pytest.approx(1.5 * default_year.rain.sum())


def test_the_design_year_is_the_second_of_twenty(default_year: WeatherYear) -> None:
    (one,) = ranked(default_year)
    assert np.isnan(one.moisture)
    many = [replace(one, year=2000 + i, moisture=1.0 - i / 100) for i in range(20)]
    assert design_year(many).year == 2001
    assert design_year(many[:10]).year == 2000


def test_indices_by_hand(clear_year: WeatherYear) -> None:
    """12 °C all year and rain on every other day: (12 - 2)(D - 3)/16.7 summed over months; dry air dries by its w."""
    hour = np.arange(8760)
    rain = np.where((hour // 24) % 2 == 0, 0.1, 0.0)
    constant = replace(clear_year, temperature=np.full(8760, 12.0), rain=rain, relative_humidity=np.full(8760, 0.5),
                       pressure=np.full(8760, 100_000.0))  # fmt: skip
    assert decay_index(constant) == pytest.approx(10 * (183 - 36) / 16.7)
    full = 0.62198 * 1402.7 / (100_000 - 1402.7)
    half = 0.62198 * 701.35 / (100_000 - 701.35)
    assert drying_index(constant) == pytest.approx(8760 * (full - half), rel=2e-3)
    assert decay_index(replace(constant, rain=np.where(hour % 24 == 0, 0.25, 0.0))) == 0.0


def test_one_year_of_several(default_year: WeatherYear) -> None:
    record = years(default_year, 1.0, 0.5)
    second = one_year(record, 2002)
    assert second.start == datetime(2002, 1, 1)
    assert second.rain is not None
    assert default_year.rain is not None
    np.testing.assert_array_equal(second.rain, 0.5 * default_year.rain)
    with pytest.raises(WeatherError, match="2001, 2002"):
        one_year(record, 2003)


def test_shifts(default_year: WeatherYear) -> None:
    assert shifted(default_year) is default_year
    warm = shifted(default_year, warmer=2.0, rain=1.2)
    np.testing.assert_allclose(warm.temperature, default_year.temperature + 2.0)
    np.testing.assert_array_equal(warm.relative_humidity, default_year.relative_humidity)
    assert warm.vapour_pressure.mean() / default_year.vapour_pressure.mean() == pytest.approx(1.13, abs=0.03)
    emissivity = [y.sky_longwave / (y.temperature + 273.15) ** 4 for y in (warm, default_year)]
    np.testing.assert_allclose(*emissivity)
    assert warm.rain is not None
    assert default_year.rain is not None
    np.testing.assert_allclose(warm.rain, 1.2 * default_year.rain)
    assert warm.rain_origin.endswith(", times 1.2")
    assert warm.notes[-1] == "shifted: air 2 K warmer at the same relative humidity, rain times 1.2"
    cold = shifted(default_year, warmer=-3.0)
    assert "3 K colder" in cold.notes[-1]
    assert cold.rain_origin == default_year.rain_origin
