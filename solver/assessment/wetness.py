"""Wetness: hours wet enough for corrosion and condensation, frost cycles, drying time.

References
----------
.. [1] ISO 9223: time of wetness, hours above 80 % and 0 degC (abstract read); class
   limits of the 1992 edition (from memory, to be checked).
.. [2] Fagerlund, G. (1977). The critical degree of saturation method of assessing
   the freeze-thaw resistance of concrete. Materials and Structures 10, 217-229
   (from memory, to be checked).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import BoolArray, as_places, checked, hours
from stemwall.solver.kernels.support.jit import kept_function
from stemwall.solver.model.arrays import Floats, Ints

#: Upper limits [h/a] of the time-of-wetness classes tau 1 to tau 4; tau 5 has none [1]_.
WETNESS_CLASSES = (10.0, 250.0, 2500.0, 5500.0)
#: Relative humidity [-] from which a surface is counted as at its dew point (own choice).
DEW_HUMIDITY = 0.99
HOURS_A_YEAR = 8760.0


def wet(temperature: ArrayLike, relative_humidity: ArrayLike) -> BoolArray:
    """Where metal counts as wet: above 80 % and above 0 degC [1]_."""
    t, humidity = checked(temperature, relative_humidity)
    return (humidity > 0.80) & (t > 0.0)


def time_of_wetness(temperature: ArrayLike, relative_humidity: ArrayLike, step: float = 1.0) -> Any:
    """Time of wetness, scaled to a year [h/a].

    Parameters
    ----------
    temperature, relative_humidity : array_like, shape (time,) or (time, place)
        Temperature [degC] and relative humidity [-]; whole years, or the seasons bias the result.
    step : float
        Length of a step [h].

    Returns
    -------
    float, or ndarray of shape (place,)
    """
    condition = wet(temperature, relative_humidity)
    return hours(condition, step) * HOURS_A_YEAR / (len(condition) * step)


def wetness_class(hours_a_year: float) -> int:
    """Class 1 to 5 (tau) of a time of wetness [h/a] [1]_."""
    return int(np.searchsorted(WETNESS_CLASSES, hours_a_year)) + 1


def at_dew_point(relative_humidity: ArrayLike, humidity: float = DEW_HUMIDITY) -> BoolArray:
    """Where a surface is at or near its dew point: relative humidity [-] at or above `humidity`."""
    return np.asarray(relative_humidity, dtype=np.float64) >= humidity


def downward_crossings(temperature: Floats, limit: float = 0.0) -> Any:
    """How often a temperature [degC] passes from `limit` or above to below it; int or shape (place,)."""
    below = np.asarray(temperature) < limit
    return (below[1:] & ~below[:-1]).sum(axis=0)


def frost_cycles(
    temperature: ArrayLike,
    *,
    freeze: float = 0.0,
    thaw: float = 0.0,
    saturation: ArrayLike | None = None,
    critical: float = 0.0,
) -> Any:
    """Completed cycles of freezing and thawing; an int, or an array of shape (place,).

    Three definitions: (a) the defaults, a passage below 0 degC and back above
    it; (b) two thresholds, cooling below `freeze` and warming above `thaw`;
    (c) with `saturation`, only cycles in which the pores are fuller than
    `critical` at some time while frozen [2]_.  A frost that was there at the
    start, or lasts to the end, is no completed cycle.

    Parameters
    ----------
    temperature : array_like, shape (time,) or (time, place)
        Temperature [degC].
    freeze, thaw : float
        Thresholds [degC], freeze <= thaw.
    saturation : array_like or None, same shape
        Degree of pore filling by water and ice [-].
    critical : float
        Critical degree of saturation [-]: concrete 0.80 to 0.91, brick 0.3 to
        0.9, aerated concrete 0.4 to 0.7 (from memory, to be checked; to be
        measured for brick).
    """
    if freeze > thaw:
        raise ValueError(f"freeze must not be above thaw, got {freeze} and {thaw}")
    t = np.asarray(temperature, dtype=np.float64)
    filled = np.full_like(t, np.inf) if saturation is None else np.asarray(saturation, dtype=np.float64)
    if filled.shape != t.shape:
        raise ValueError(f"saturation has shape {filled.shape}, temperature {t.shape}")
    places = as_places(t)
    counts = np.zeros(places.shape[1], dtype=np.int64)
    _count_cycles(places, as_places(filled), freeze, thaw, critical, counts)
    return counts if t.ndim == 2 else int(counts[0])


@kept_function
def _count_cycles(
    temperature: Floats,
    saturation: Floats,
    freeze: float,
    thaw: float,
    critical: float,
    counts: Ints,
) -> None:
    """Add up the cycles of each place; a frost counts only if it began within the series."""
    for place in range(temperature.shape[1]):
        frozen, begun, full = temperature[0, place] < freeze, False, False
        for hour in range(1, temperature.shape[0]):
            t = temperature[hour, place]
            if not frozen and t < freeze:
                frozen, begun, full = True, True, False
            elif frozen and t > thaw:
                counts[place] += begun and full
                frozen = False
            if frozen and saturation[hour, place] > critical:
                full = True


def drying_time(water: ArrayLike, limit: float, *, step: float = 1.0, lasting: bool = True) -> float:
    """Hours from the start until a series of shape (time,) is at or below a limit; nan if never.

    Parameters
    ----------
    water : array_like, shape (time,)
        Water content, moisture content or humidity, in the unit of `limit`.
    step : float
        Length of a step [h]; the first sample is at the end of the first step.
    lasting : bool
        Count until it stays there for the rest of the series, not until it first gets there.
    """
    above = np.asarray(water, dtype=np.float64) > limit
    if lasting:
        first = len(above) - int(np.argmax(above[::-1])) if above.any() else 0
    else:
        first = int(np.argmin(above)) if not above.all() else len(above)
    return (first + 1) * step if first < len(above) else np.nan
