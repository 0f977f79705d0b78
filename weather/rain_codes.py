"""Rain rates of present-weather codes.

The codes are those of WMO code table 4677 (present weather reported from a manned station, Manual on Codes,
WMO-No. 306; from memory, to be checked). The rates are the limits of slight, moderate and heavy in the WMO
Guide to Instruments, WMO-No. 8 (rain < 2.5, 2.5-10, 10-50 mm/h; drizzle < 0.1, 0.1-0.5, >= 0.5 mm/h; snow <
1, 1-5, >= 5 mm/h water; from memory, to be checked). Within its class the rate of an hour is drawn
log-uniformly, so the total is a guess unless it is stated.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.moistair import FloatArray

SLIGHT_RAIN, MODERATE_RAIN, HEAVY_RAIN = (0.25, 2.5), (2.5, 10.0), (10.0, 50.0)
SLIGHT_DRIZZLE, MODERATE_DRIZZLE, HEAVY_DRIZZLE = (0.02, 0.1), (0.1, 0.5), (0.5, 1.0)

Rate = tuple[float, float]

RATES: dict[int, Rate] = {}
"""Lowest and highest rate [mm/h] of each code with liquid precipitation at the station during the hour."""


def _assign(codes: Iterable[int], rate: Rate) -> None:
    """Give codes a class of rates."""
    RATES.update(dict.fromkeys(codes, rate))


_assign((50, 51, 56), SLIGHT_DRIZZLE)
_assign((52, 53, 57), MODERATE_DRIZZLE)
_assign((54, 55), HEAVY_DRIZZLE)
_assign((58, 60, 61, 66, 68, 80, 83, 91), SLIGHT_RAIN)
_assign((59, 62, 63, 67, 69, 81, 84, 92, 95), MODERATE_RAIN)
_assign((64, 65, 82, 97), HEAVY_RAIN)

SOLID = frozenset((*range(70, 80), *range(85, 91), 93, 94, 96, 99))
"""Codes of snow, ice pellets and hail, which bring no liquid water in the hour itself and get no rain
here."""


def hourly_rates(codes: NDArray[np.int64], seed: int) -> FloatArray:
    """Rain rate of each hour [mm/h], shape (n,), drawn log-uniformly within the class of its code; 0 without rain."""
    rates = np.zeros(codes.size)
    share = np.random.default_rng(seed).random(codes.size)
    for code in np.unique(codes):
        if int(code) in RATES:
            low, high = RATES[int(code)]
            here = codes == code
            rates[here] = low * (high / low) ** share[here]
    return rates
