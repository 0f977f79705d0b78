"""The outdoor air as relations for indoor air ask for it: means over a day and over a month."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]
DAY, MONTH = 24, 720


@dataclass(frozen=True, eq=False)
class OutsideAir:
    """Means of the outdoor air for each hour of a run, shape (hours,).

    Parameters
    ----------
    day : ndarray
        Mean temperature of the last 24 h [degC].
    month : ndarray
        Mean temperature of the 30 days around the hour [degC].
    month_vapour : ndarray
        Mean vapour pressure of these 30 days [Pa].
    """

    day: Floats
    month: Floats
    month_vapour: Floats

    @classmethod
    def of(cls, year: WeatherYear, start: datetime, hours: int) -> OutsideAir:
        """Return the means for a run; the weather is taken to repeat."""
        index = year.hour_index(hours, start)
        return cls(
            day=running_mean(year.temperature, DAY, ahead=0)[index],
            month=running_mean(year.temperature, MONTH, ahead=MONTH // 2)[index],
            month_vapour=running_mean(year.vapour_pressure, MONTH, ahead=MONTH // 2)[index],
        )


def running_mean(values: Floats, length: int, *, ahead: int) -> Floats:
    """Mean of ``length`` neighbouring values of a series that repeats.

    Parameters
    ----------
    values : Floats
        One period, shape (n,).
    length : int
        Number of values.
    ahead : int
        How many of them lie after the value itself.
    """
    n = values.size
    back = length - 1 - ahead
    wrapped = values[np.arange(-back, n + ahead) % n]
    total = np.concatenate([[0.0], np.cumsum(wrapped)])
    return np.asarray((total[length:] - total[:-length]) / length)
