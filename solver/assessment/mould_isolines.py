"""Screening lines for mould: the humidity that must be passed before anything germinates.

These lines know no history and no decline; a place that passes them needs the
mould index.

References
----------
.. [1] Zeng, L. et al. (2023). doi 10.1177/01436244221137846: hyperbolic-cosine fit
   of growth isolines; coefficients as transcribed in an open research package.
.. [2] IEA Annex 14 (1990). Condensation and energy, sourcebook: limit line (from
   memory, to be checked).
.. [3] Isaksson, T. et al. (2010). Critical conditions for onset of mould growth under
   varying climate conditions. Building and Environment 45, 1712-1721: dose model
   (citation from memory; coefficients as transcribed in open research code).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import checked
from stemwall.solver.model.arrays import Floats

#: Constant of the isoline [-] by growth rate [mm/d]; 0 is the lowest, the limit of germination [1]_.
ISOLINES = {0.0: 0.7153, 0.1: 0.7300, 0.5: 0.7675, 1.0: 0.7950, 2.0: 0.8250, 3.0: 0.8502, 4.0: 0.8701}


def isoline(temperature: ArrayLike, rate: float = 0.0) -> Floats:
    """Relative humidity [-] at which mould grows at `rate` [mm/d], [1]_.

    Parameters
    ----------
    temperature : array_like
        Temperature [degC], meant for 0 to 30.
    rate : float
        One of `ISOLINES`; 0 gives the lowest line.
    """
    if rate not in ISOLINES:
        raise ValueError(f"no isoline for {rate} mm/d; known: {', '.join(map(str, ISOLINES))}")
    t = np.asarray(temperature, dtype=np.float64)
    line: Floats = 0.02633 * np.cosh(0.10083 * (t - 30.0)) + ISOLINES[rate]
    return line


def annex14_limit(temperature: ArrayLike) -> Floats:
    """Relative humidity [-] of the IEA Annex 14 limit line [2]_, for 5 to 25 degC, monthly means."""
    t = np.asarray(temperature, dtype=np.float64)
    line: Floats = (0.033 * t**2 - 1.5 * t + 96.0) / 100.0
    return line


def dose_rate(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Mould dose per day [-] from daily means; 1 at 20 degC and 90 % [3]_.

    Parameters
    ----------
    temperature, relative_humidity : array_like, shape (day,) or (day, place)
        Daily means [degC] and [-]; above 30 degC the value at 30 is used (own choice).
    """
    t, humidity = checked(temperature, relative_humidity)
    wet = np.exp(15.53 * np.log(np.maximum(humidity, 0.75) / 0.90))
    between = -2.7 + 1.1 * humidity / 0.30
    humid = np.where(humidity >= 0.75, wet, np.where(humidity >= 0.60, between, -0.5))
    warm = np.exp(0.74 * np.log(np.clip(t, 0.1, 30.0) / 20.0))
    rate: Floats = np.where(t < 0.1, -0.5, humid * warm)
    return rate


def dose(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Accumulated dose [d] at the end of each day, never below zero (own choice)."""
    rate = dose_rate(temperature, relative_humidity)
    total = np.cumsum(rate, axis=0)
    lifted: Floats = total - np.minimum(np.minimum.accumulate(total, axis=0), 0.0)
    return lifted


def daily_means(series: Floats, step: float = 1.0) -> Floats:
    """Means of the complete days of a series, counted from its first sample.

    Parameters
    ----------
    series : ndarray, shape (time,) or (time, place)
    step : float
        Length of a step [h]; a day must be a whole number of steps.
    """
    samples = round(24.0 / step)
    if not np.isclose(samples * step, 24.0):
        raise ValueError(f"a day is not a whole number of steps of {step:g} h")
    days = len(series) // samples
    means: Floats = series[: days * samples].reshape(days, samples, *series.shape[1:]).mean(axis=1)
    return means
