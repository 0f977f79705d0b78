"""Mould growth index on a surface, from 0 (no growth) to 6 (full cover).

Below the critical humidity, in the cold and above 50 degC the index declines;
otherwise it grows at a pace set by temperature and humidity, towards a ceiling
set by the humidity and by how sensitive the material is.

Choices: above 20 degC the critical humidity is the class minimum (not the
polynomial); frozen hours count as unfavourable, so the index declines in them;
an index above the present ceiling stays as it is while conditions are favourable.
Each step is solved exactly for the conditions in it, so its length does not matter.

References
----------
.. [1] Hukka, A., Viitanen, H. (1999). A mathematical model of mould growth on
   wooden material. Wood Science and Technology 33, 475-485.
.. [2] Ojanen, T. et al. (2010). Mold growth modeling of building structures
   using sensitivity classes of materials. Buildings XI conference.
.. [3] ANSI/ASHRAE 160-2016, addendum e: the improved model [2]_ as a criterion.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import BoolArray, as_places, checked
from stemwall.solver.kernels.support.jit import kept_function
from stemwall.solver.model.arrays import Floats

_SOURCE = "Ojanen et al. 2010, class table, as transcribed in open research code; paper to be checked"


@dataclass(frozen=True)
class Sensitivity:
    """Constants of one sensitivity class of the improved model.

    Parameters
    ----------
    k1_start, k1_later : float
        Pace relative to pine sapwood [-] below and from index 1.
    a, b, c : float
        Ceiling of the index [-]: a + b X - c X^2, X the relative excess humidity.
    humidity_min : float
        Least critical relative humidity [-].
    typical : str
        Materials put in this class (from memory, to be checked).
    """

    name: str
    k1_start: float
    k1_later: float
    a: float
    b: float
    c: float
    humidity_min: float
    typical: str
    source: str = _SOURCE

    @property
    def highest(self) -> float:
        """Ceiling of the index at saturation [-]."""
        return self.a + self.b - self.c


#: Classes by name, the most sensitive first.
CLASSES = {
    row.name: row
    for row in (
        Sensitivity("very_sensitive", 1.0, 2.0, 1.0, 7.0, 2.0, 0.80, "pine sapwood"),
        Sensitivity("sensitive", 0.578, 0.386, 0.3, 6.0, 1.0, 0.80, "glued boards, paper facings, spruce"),
        Sensitivity("medium_resistant", 0.072, 0.097, 0.0, 5.0, 1.5, 0.85, "concrete, mineral wool"),
        Sensitivity("resistant", 0.033, 0.014, 0.0, 3.0, 1.0, 0.85, "polished polyurethane, glass, metal"),
    )
}
#: Short names used in material tables.
CODES = {"VS": "very_sensitive", "S": "sensitive", "MR": "medium_resistant", "R": "resistant"}

#: Decline relative to pine sapwood [-] (Ojanen et al. 2010; from memory, to be checked).
DECLINE = {"strong": 1.0, "significant": 0.5, "relatively_low": 0.25, "almost_none": 0.1}
#: Used where a material's decline is not known (ASHRAE 160 addendum e; from memory, to be checked).
DEFAULT_DECLINE = DECLINE["almost_none"]


def sensitivity(name: str) -> Sensitivity:
    """Class by its name or short code.

    Raises
    ------
    ValueError
        For an unknown name; the message lists the known ones.
    """
    found = CLASSES.get(CODES.get(name, name).replace(" ", "_"))
    if found is None:
        raise ValueError(f"unknown mould class {name!r}; known: {', '.join(CLASSES)} ({', '.join(CODES)})")
    return found


def more_sensitive(name: str) -> Sensitivity | None:
    """The next more sensitive class, None for the most sensitive one."""
    names = list(CLASSES)
    at = names.index(sensitivity(name).name)
    return CLASSES[names[at - 1]] if at else None


def critical_humidity(temperature: ArrayLike, humidity_min: float = 0.80) -> Floats:
    """Relative humidity [-] above which mould grows, eq. 1 of [1]_.

    Parameters
    ----------
    temperature : array_like
        Temperature [degC].
    humidity_min : float
        Least critical humidity of the class [-].
    """
    t = np.asarray(temperature, dtype=np.float64)
    cold = np.maximum(100.0 - 3.13 * t + 0.160 * t**2 - 0.00267 * t**3, 100.0 * humidity_min)
    critical: Floats = np.where(t > 20.0, 100.0 * humidity_min, np.minimum(cold, 100.0)) / 100.0
    return critical


def weeks_to_start(
    temperature: ArrayLike, relative_humidity: ArrayLike, *, spruce: bool = False, kiln_dried: bool = False
) -> Floats:
    """Weeks from index 0 to 1 on sapwood at constant conditions, t_m of [1]_; temperature above 0 degC."""
    surface = 0.14 * spruce - 0.33 * kiln_dried + 66.02
    return _weeks(temperature, relative_humidity, 0.68, 13.9, surface)


def weeks_to_visible(temperature: ArrayLike, relative_humidity: ArrayLike, *, spruce: bool = False) -> Floats:
    """Weeks from index 0 to 3 on sapwood at constant conditions, t_v of [1]_; temperature above 0 degC."""
    return _weeks(temperature, relative_humidity, 0.74, 12.72, 0.06 * spruce + 61.50)


def _weeks(t: ArrayLike, humidity: ArrayLike, p: float, q: float, r: float) -> Floats:
    percent = 100.0 * np.asarray(humidity, dtype=np.float64)
    weeks: Floats = np.exp(-p * np.log(t) - q * np.log(percent) + r)
    return weeks


def mould_index(
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    mould_class: str,
    *,
    decline: float = DEFAULT_DECLINE,
    initial: float = 0.0,
    step: float = 1.0,
) -> Floats:
    """Index at the end of every step by the improved model, [2]_ and [3]_.

    Parameters
    ----------
    temperature, relative_humidity : array_like, shape (time,) or (time, place)
        Surface temperature [degC] and relative humidity [-].
    mould_class : str
        Name or code of the sensitivity class, see `CLASSES`.
    decline : float
        Decline relative to pine sapwood [-], see `DECLINE`.
    initial : float
        Index before the first step [-].
    step : float
        Length of a step [h].

    Returns
    -------
    ndarray, same shape
        Mould index [-].
    """
    row = sensitivity(mould_class)
    t, humidity = checked(temperature, relative_humidity)
    grows, warm, wet = _growing(t, humidity, row.humidity_min)
    pace = np.where(grows, 1.0 / (7.0 * weeks_to_start(warm, wet)), 0.0)
    ceiling = _ceiling(t, humidity, row)
    return _integrated(row.k1_start * pace, row.k1_later * pace, ceiling, decline, initial, step)


def mould_index_1999(
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    *,
    spruce: bool = False,
    kiln_dried: bool = False,
    decline: float = 1.0,
    initial: float = 0.0,
    step: float = 1.0,
) -> Floats:
    """Index at the end of every step by the original model [1]_ for pine or spruce sapwood.

    Parameters and result are those of `mould_index`; `kiln_dried` is the
    surface quality of [1]_ after kiln drying, False a sawn surface.
    """
    row = CLASSES["very_sensitive"]  # its ceiling and least humidity are those of the original model
    t, humidity = checked(temperature, relative_humidity)
    grows, warm, wet = _growing(t, humidity, row.humidity_min)
    start = weeks_to_start(warm, wet, spruce=spruce, kiln_dried=kiln_dried)
    visible = weeks_to_visible(warm, wet, spruce=spruce)
    pace = np.where(grows, 1.0 / (7.0 * start), 0.0)
    later = pace * 2.0 / (visible / start - 1.0)
    return _integrated(pace, later, _ceiling(t, humidity, row), decline, initial, step)


def _growing(t: Floats, humidity: Floats, least: float) -> tuple[BoolArray, Floats, Floats]:
    """Where mould grows, and both series with a harmless value wherever it does not."""
    grows = (t > 0.0) & (t <= 50.0) & (humidity > critical_humidity(t, least))
    return grows, np.where(grows, t, 20.0), np.where(grows, humidity, 1.0)


def _ceiling(t: Floats, humidity: Floats, row: Sensitivity) -> Floats:
    """Largest index [-] that the present humidity allows."""
    critical = critical_humidity(t, row.humidity_min)
    room = np.where(critical < 1.0, 1.0 - critical, 1.0)
    excess = np.clip((humidity - critical) / room, 0.0, 1.0)
    return np.maximum(row.a + row.b * excess - row.c * excess**2, 0.0)


def _integrated(start: Floats, later: Floats, ceiling: Floats, decline: float, initial: float, step: float) -> Floats:
    index = np.empty_like(as_places(start))
    _march(as_places(start), as_places(later), as_places(ceiling), decline, initial, step, index)
    return index.reshape(start.shape)


@kept_function
def _lost(hours: float) -> float:
    """Decline of pine sapwood [-] in so many unfavourable hours: 0.032 a day to 6 h, 0.016 from 24 h on."""
    return (0.032 * min(hours, 6.0) + 0.016 * max(hours - 24.0, 0.0)) / 24.0


@kept_function
def _grown(m: float, ceiling: float, start: float, later: float, days: float) -> float:
    """Index after so many days: the exact solution of dm/dt = pace (1 - exp(2.3 (m - ceiling)))."""
    gap, pace = np.expm1(2.3 * (ceiling - m)), later
    if m < 1.0:
        pace = start
        if ceiling > 1.0:
            gap_at_1 = np.expm1(2.3 * (ceiling - 1.0))
            days_to_1 = np.log(gap / gap_at_1) / (2.3 * start)
            if days_to_1 < days:
                gap, pace, days = gap_at_1, later, days - days_to_1
    return ceiling - np.log1p(gap * np.exp(-2.3 * pace * days)) / 2.3  # type: ignore[no-any-return]


@kept_function
def _march(
    start: Floats,
    later: Floats,
    ceiling: Floats,
    decline: float,
    initial: float,
    step: float,
    index: Floats,
) -> None:
    """Fill index[time, place] from the pace [1/d] below and from index 1; a pace of zero is a decline."""
    for place in range(index.shape[1]):
        m, unfavourable = initial, 0.0
        for hour in range(index.shape[0]):
            pace, top = start[hour, place], ceiling[hour, place]
            if pace == 0.0:
                loss = _lost(unfavourable + step) - _lost(unfavourable)
                m = max(m - decline * loss, 0.0)
                unfavourable += step
            else:
                unfavourable = 0.0
                if m < top:
                    m = _grown(m, top, pace, later[hour, place], step / 24.0)
            index[hour, place] = m
