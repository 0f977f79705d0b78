"""TMY2: the year that comes with a library, against its columns read by hand; weather digits; bad files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pvlib
import pytest

from stemwall.weather.errors import WeatherError
from stemwall.weather.read import read_weather
from stemwall.weather.tmy2 import weather_codes

MIAMI = Path(pvlib.__file__).parent / "data" / "12839.tm2"


def test_hours_are_those_of_the_text() -> None:
    """Fixed columns by User's Manual for TMY2s: dry bulb 68-71, dew 74-77, humidity 80-82, wind 96-98, ghi 18-21."""
    year = read_weather(MIAMI)
    rows = MIAMI.read_text().splitlines()[1:]

    def column(first: int, end: int, factor: float) -> np.ndarray:
        return np.array([float(row[first - 1 : end]) * factor for row in rows])

    np.testing.assert_allclose(year.temperature, column(68, 71, 0.1))
    np.testing.assert_allclose(year.relative_humidity, column(80, 82, 0.01))
    np.testing.assert_allclose(year.pressure, column(85, 88, 100.0))
    np.testing.assert_allclose(year.wind_direction, column(91, 93, 1.0))
    np.testing.assert_allclose(year.wind_speed, column(96, 98, 0.1))
    np.testing.assert_allclose(year.ghi, column(18, 21, 1.0))
    assert year.station == "MIAMI, FL"
    assert year.latitude == pytest.approx(25.8)
    assert year.longitude == pytest.approx(-80 - 16 / 60)
    assert year.typical
    assert year.rain is None


def test_digits_become_codes() -> None:
    """Positions: 1 observed, 2 thunder, 3 rain, 4 drizzle, 5 and 6 solid, 7 to 10 others; 9 means none."""
    meant = {
        "0999999999": 0.0, "0909999999": 61.0, "0919999999": 63.0, "0239999999": 80.0, "0993999999": 51.0,
        "0999099999": 71.0, "0999909999": 85.0, "0913999999": 63.0,
    }  # fmt: skip
    digits = np.array([float(text) for text in meant])
    assert weather_codes(digits).tolist() == list(meant.values())
    assert np.isnan(weather_codes(np.array([9999999999.0, np.nan]))).all()


def test_missing_values_are_not_weather(tmp_path: Path) -> None:
    lines = MIAMI.read_text().splitlines()
    lines[50] = lines[50][:67] + "9999" + lines[50][71:]
    path = tmp_path / "a.tm2"
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(WeatherError, match="temperature: found no value for 1 h"):
        read_weather(path)
    year = read_weather(path, fill_gaps=1)
    assert year.temperature[49] == pytest.approx((year.temperature[48] + year.temperature[50]) / 2)


@pytest.mark.parametrize("text", ["no such format\n", " 12839 MIAMI  FL  -5 N 25 48 W  80 16     2\n shortened\n"])
def test_other_text_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.tm2"
    path.write_text(text)
    with pytest.raises(WeatherError, match=r"TMY2|row"):
        read_weather(path)
