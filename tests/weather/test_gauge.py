"""Rain reported over several hours reaches single hours once, and hours without a report are never silently dry."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pvlib
import pytest

from stemwall.weather.build import build_year
from stemwall.weather.errors import WeatherError
from stemwall.weather.gauge import by_the_hour
from stemwall.weather.moistair import FloatArray
from stemwall.weather.rain_codes import RATES
from stemwall.weather.read import read_weather
from stemwall.weather.synthetic import scaled_rain, synthetic_rain
from stemwall.weather.unit_conversion import RawWeather
from stemwall.weather.year import WeatherYear

RawOf = Callable[[WeatherYear], RawWeather]
SAND_POINT = Path(pvlib.__file__).parent / "data" / "703165TY.csv"


def reports(hours: int, *given: tuple[int, float, float]) -> tuple[FloatArray, FloatArray]:
    """Amounts and times of reports (position, amount, time)."""
    depth, length = np.full(hours, np.nan), np.full(hours, np.nan)
    for at, amount, time in given:
        depth[at], length[at] = amount, time
    return depth, length


def test_an_amount_is_spread_over_its_hours() -> None:
    found = by_the_hour(*reports(8, (6, 12.0, 6)), np.zeros(8, dtype=np.int64))
    np.testing.assert_array_equal(found.rain, [np.nan, 2, 2, 2, 2, 2, 2, np.nan])
    assert (found.spread, found.unknown, found.misfits) == (6, 0, 0)


def test_overlapping_reports_count_once() -> None:
    """1, 3, 6 and 24 h that end together, as stations report at the main hours: the total is that of the longest."""
    depth, length = reports(30, (27, 3.0, 1), (26, 5.0, 3), (28, 9.0, 6), (29, 20.0, 24))
    found = by_the_hour(depth, length, np.zeros(30, dtype=np.int64))
    assert np.nansum(found.rain) == pytest.approx(20.0)
    assert found.rain[27] == 3.0
    assert found.rain[24:27].sum() == pytest.approx(5.0)
    assert found.rain[23:29].sum() == pytest.approx(9.0)
    assert np.isnan(found.rain[:6]).all()


def test_nothing_is_lost_or_made() -> None:
    """Property: reports that agree with an hourly truth give back the sums of all their times."""
    rng = np.random.default_rng(3)
    for _ in range(50):
        truth = np.where(rng.random(200) < 0.3, rng.exponential(2.0, 200), 0.0)
        depth, length = np.full(200, np.nan), np.full(200, np.nan)
        for at in range(5, 200, 6):
            time = int(rng.choice([1, 3, 6]))
            depth[at], length[at] = truth[at + 1 - time : at + 1].sum(), time
        found = by_the_hour(depth, length, np.zeros(200, dtype=np.int64))
        for at in np.flatnonzero(~np.isnan(depth)):
            inside = found.rain[at + 1 - int(length[at]) : at + 1]
            assert inside.sum() == pytest.approx(depth[at])
        assert np.nansum(found.rain) == pytest.approx(np.nansum(depth))
        assert found.misfits == 0


def test_what_does_not_fit_is_counted() -> None:
    depth, length = reports(6, (2, 8.0, 1), (3, 2.0, 3))
    assert by_the_hour(depth, length, np.zeros(6, dtype=np.int64)).misfits == 1


def test_unknown_times_are_not_guessed() -> None:
    found = by_the_hour(*reports(4, (1, 5.0, 99), (2, 0.0, 99)), np.zeros(4, dtype=np.int64))
    np.testing.assert_array_equal(found.rain, [np.nan, np.nan, 0.0, np.nan])
    assert found.unknown == 1


def test_a_time_does_not_reach_into_the_month_before() -> None:
    found = by_the_hour(*reports(6, (3, 6.0, 3)), np.array([1, 1, 1, 2, 2, 2]))
    np.testing.assert_array_equal(found.rain, [np.nan, np.nan, np.nan, 2.0, np.nan, np.nan])


@pytest.mark.parametrize("hours", [800, 5000])
def test_too_many_holes_are_refused(default_year: WeatherYear, raw_of: RawOf, hours: int) -> None:
    raw = raw_of(default_year)
    raw.frame.loc[raw.frame.index[:hours], "rain"] = np.nan
    if hours < 876:
        year = build_year(raw)
        assert year.rain_origin == "measured, 9.1% of hours missing"
        assert year.warnings == (f"rain: {hours} missing hours (9.1%) count as dry; expected a report of each hour",)
        return
    with pytest.raises(WeatherError) as caught:
        build_year(raw)
    (problem,) = caught.value.problems
    assert problem.found.startswith("no report in 57% of the hours")
    assert 'rain = "synthetic"' in problem.expected
    accepted = build_year(raw, accept=["rain"])
    assert accepted.rain_origin == "measured, 57.1% of hours missing"
    assert len(accepted.warnings) == 2
    made = synthetic_rain(accepted)
    assert made.warnings == ()
    assert any("missing hours" in note for note in made.notes)


def test_few_holes_are_noted_and_carried(default_year: WeatherYear, raw_of: RawOf) -> None:
    raw = raw_of(default_year)
    raw.frame.loc[raw.frame.index[:20], "rain"] = np.nan
    year = build_year(raw)
    assert year.warnings == ()
    assert "rain: 20 missing hours (0.2%) count as dry" in year.notes
    assert scaled_rain(year, 1000.0).rain_origin == "measured, 0.2% of hours missing, scaled"


def test_a_file_with_nine_of_ten_hours_unobserved_is_refused() -> None:
    """Sand Point, Alaska: 8,011 of 8,760 h without a report, amounts over 1, 3, 6 and 24 h."""
    with pytest.raises(WeatherError) as caught:
        read_weather(SAND_POINT)
    text = str(caught.value)
    assert "no report in" in text
    assert "15% on the steps of a gauge" in text
    year = read_weather(SAND_POINT, accept=["rain", "units"])
    assert year.rain_origin.endswith("of hours missing")
    assert any("spread evenly" in note for note in year.notes)


def test_quantity_of_tmy3(clear_year: WeatherYear, write_tmy3: Callable[..., Path], tmp_path: Path) -> None:
    """Three hours told at their end, as a TMY3 file has them, give what single hours give."""
    path = write_tmy3(clear_year, tmp_path / "a.csv")
    lines = path.read_text().splitlines()
    lines[1] += ",Lprecip quantity (hr)"
    lines[2:] = [line + ",1" for line in lines[2:]]
    for row, amount, hours in ((102, -9900.0, -9900), (103, -9900.0, -9900), (104, 6.0, 3)):
        cells = lines[row].split(",")
        cells[-2:] = [str(amount), str(hours)]
        lines[row] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n")
    found = read_weather(path)
    assert found.rain is not None
    np.testing.assert_array_equal(found.rain[100:103], 2.0)
    assert found.rain_origin == "measured"
    assert any("spread evenly over the 3 h" in note for note in found.notes)


def test_quantity_of_epw(clear_year: WeatherYear, write_epw: Callable[..., Path], tmp_path: Path) -> None:
    changes: dict[tuple[int, int], float | str] = {(i, 34): 1.0 for i in range(8760)}
    changes |= {(100, 33): 999.0, (101, 33): 999.0, (102, 33): 6.0, (102, 34): 3.0}
    found = read_weather(write_epw(clear_year, tmp_path / "a.epw", changes))
    assert found.rain is not None
    np.testing.assert_array_equal(found.rain[100:103], 2.0)


def test_the_embedded_year_is_as_it_was(default_year: WeatherYear) -> None:
    """Regression: every hour has a report of its own hour; February alone has a stated total."""
    assert default_year.rain is not None
    assert default_year.rain[default_year.months != 2].sum() == pytest.approx(834.5)
    assert default_year.rain_origin == "measured; February brought to stated totals"
    assert default_year.warnings == ()


def test_gaps_by_their_codes(default_year: WeatherYear, raw_of: RawOf) -> None:
    """Hours without a report take what their code says, dry ones stay dry; the reported ones stay."""
    raw = raw_of(default_year)
    raw.frame.loc[raw.frame.index[:400], "rain"] = np.nan
    year = build_year(raw, rain_gaps="codes")
    assert default_year.present_weather is not None
    assert default_year.rain is not None
    assert year.rain is not None
    wet = np.isin(default_year.present_weather[:400], list(RATES))
    assert wet.any()
    np.testing.assert_array_equal(year.rain[:400] > 0, wet)
    np.testing.assert_array_equal(year.rain[400:], default_year.rain[400:])
    assert year.rain_origin == "measured, 4.6% of hours missing and filled from the weather codes, seed 1"


def test_gaps_by_their_month(default_year: WeatherYear, raw_of: RawOf) -> None:
    """The reported hours of a month stand for all of it, as long as they are half of it."""
    raw = raw_of(default_year)
    assert default_year.rain is not None
    january = np.flatnonzero(default_year.months == 1)
    raw.frame.loc[raw.frame.index[january[:248]], "rain"] = np.nan
    december = np.flatnonzero(default_year.months == 12)
    raw.frame.loc[raw.frame.index[december[:400]], "rain"] = np.nan
    year = build_year(raw, rain_gaps="month")
    assert year.rain is not None
    kept = default_year.rain[january[248:]].sum()
    assert year.rain[january].sum() == pytest.approx(kept * 744 / 496)
    assert year.rain[december].sum() == pytest.approx(default_year.rain[december[400:]].sum())
    assert "400 h in months with fewer than 50% reports as dry" in year.rain_origin
    assert any("made up for by the reported hours" in warning for warning in year.warnings)
