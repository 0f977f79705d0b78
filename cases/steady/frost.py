"""Frost design: the freezing index of the coldest winter in so many years, and how deep its frost goes.

The freezing index of a winter is the sum of daily mean temperatures below zero, taken from zero.  That of a winter met
once in T years follows from several winters by the extreme-value distribution of type I, fitted by moments [1]_.  Its
frost is that of a yearly wave of the air about its own mean whose part below zero has that index, by conduction alone:
the heat of freezing would keep it higher, so depths come out larger than with it.

References
----------
.. [1] Gumbel (1958), Statistics of Extremes; frequency factor by moments (from memory, to be checked).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, log, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]

#: winters that a distribution is fitted to, at least (plain choice)
LEAST_WINTERS = 5
EULER = 0.5772156649015329
DAYS = 365.0


@dataclass(frozen=True)
class DesignWinter:
    """The winter that frost is computed for: its freezing index [K d], and where that comes from."""

    index: float
    origin: str


def freezing_indices(year: WeatherYear) -> Floats:
    """Return the freezing index of every winter of a weather record [K d], (winters,).

    A winter is a year from July on, or from January where the middle of the year is colder; the record is taken as
    running in a circle, so that every year of it has one winter.
    """
    years = round(year.hours / 8760)
    daily = year.temperature[: years * 8760].reshape(years * 365, 24).mean(axis=1)
    first = int(year.days[0])
    summer = 181 if _northern(year) else 0
    turned = np.roll(daily, (first - summer) % 365)
    return np.asarray(np.maximum(-turned, 0.0).reshape(years, 365).sum(axis=1))


def _northern(year: WeatherYear) -> bool:
    middle = np.isin(year.months, (6, 7, 8))
    return bool(year.temperature[middle].mean() >= year.temperature[~middle].mean())


def design_winter(indices: Floats, years: int, stated: float | None = None) -> DesignWinter:
    """Return the winter met once in so many years.

    Parameters
    ----------
    indices : Floats
        Freezing index of each winter known [K d].
    years : int
        Return period [a], two at least.
    stated : float or None
        Its freezing index from elsewhere [K d].

    Raises
    ------
    ValueError
        For a return period below two years.
    """
    if years < 2:
        raise ValueError("a return period of two years at least")
    if stated is not None:
        return DesignWinter(stated, "as stated")
    if indices.size < LEAST_WINTERS:
        text = f"coldest of {indices.size} in the weather file, no {years}-year winter: state its freezing index"
        return DesignWinter(float(indices.max()), text)
    factor = -sqrt(6.0) / pi * (EULER + log(log(years / (years - 1.0))))
    found = float(indices.mean() + factor * indices.std(ddof=1))
    return DesignWinter(found, f"once in {years} years by {indices.size} winters, extreme-value type I")


def index_of_wave(mean: float, amplitude: float) -> float:
    """Return the freezing index of a yearly wave of the air [K d]."""
    if amplitude <= abs(mean):
        return max(-mean, 0.0) * DAYS
    below = acos(mean / amplitude)  # half the time below zero, as an angle
    return DAYS / pi * (amplitude * sin(below) - mean * below)


def amplitude_for(index: float, mean: float) -> float:
    """Return the amplitude of a yearly wave about a mean [degC] that has a freezing index [K d]; 0 without frost."""
    if index <= index_of_wave(mean, 0.0):
        return 0.0
    return float(brentq(lambda a: index_of_wave(mean, a) - index, 0.0, abs(mean) + 200.0, xtol=1e-9))
