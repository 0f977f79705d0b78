"""Common practice: summer air that cools in a crawlspace, by hand."""

from __future__ import annotations

from stemwall.cases.verification.comparison import Comparison, compare
from stemwall.weather.moistair import dew_point, relative_humidity, vapour_pressure

BY_HAND = "computed by hand with the Magnus formula"
SUMMER_AIR = f"{BY_HAND}; a course book of 2007 prints 90 %"


def cooled_air() -> list[Comparison]:
    """Relative humidity of outdoor air after it has cooled without losing moisture, and a dew point.

    80 °F and 65 % cooled to 70 °F, 82.6 °F and 65.2 % cooled to 72.1 °F, within 1 %RH; dew point of
    85 °F and 60 %, within the 0.5 °F by which 1 %RH moves it.
    """
    found = [
        compare(
            f"{warm:g} °F, {100 * humid:g} %, cooled to {cool:g} °F", source, "relative humidity [-]",
            [0], relative_humidity(_celsius(cool), vapour_pressure(_celsius(warm), humid)), expected, 0.01,
        )
        for warm, humid, cool, expected, source in (
            (80.0, 0.65, 70.0, 0.91, SUMMER_AIR), (82.6, 0.652, 72.1, 0.92, BY_HAND),
        )
    ]  # fmt: skip
    dew = 32.0 + 1.8 * float(dew_point(vapour_pressure(_celsius(85.0), 0.60)))
    return [*found, compare("85 °F, 60 %", BY_HAND, "dew point [°F]", [0], dew, 69.6, 0.5)]


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8
