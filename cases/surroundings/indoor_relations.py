"""Published relations between outdoor and indoor air, as plain functions of the outdoor air.

All numbers are from memory, to be checked against the standards.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: relative humidity at -10 and at 20 degC outdoors [-], EN 15026:2007 Annex C, by occupancy
EN_15026_HUMIDITY: dict[str, tuple[float, float]] = {"normal": (0.30, 0.60), "high": (0.40, 0.70)}
#: upper limit of the vapour excess at 0 degC outdoors and below [Pa], ISO 13788 Annex A, by humidity class
ISO_13788_EXCESS: dict[int, float] = {1: 270.0, 2: 540.0, 3: 810.0, 4: 1080.0}
#: outdoor temperature at which that excess vanishes [degC]
ISO_13788_NO_EXCESS = 20.0


def en_15026_temperature(outdoor: ArrayLike) -> Floats:
    """Indoor temperature [degC]: 20 up to 10 degC outdoors, 25 from 20 degC, linear between.

    Parameters
    ----------
    outdoor : array_like
        Daily mean of the outdoor temperature [degC].
    """
    return _line(outdoor, [10.0, 20.0], [20.0, 25.0])


def en_15026_humidity(outdoor: ArrayLike, occupancy: str = "normal") -> Floats:
    """Indoor relative humidity [-], linear from -10 to 20 degC outdoors.

    Parameters
    ----------
    outdoor : array_like
        Daily mean of the outdoor temperature [degC].
    occupancy : str
        "normal" (30 to 60 %) or "high" (40 to 70 %).
    """
    return _line(outdoor, [-10.0, 20.0], EN_15026_HUMIDITY[occupancy])


def iso_13788_excess(outdoor: ArrayLike, limit: float) -> Floats:
    """Vapour pressure of the indoor air above that outdoors [Pa].

    Parameters
    ----------
    outdoor : array_like
        Monthly mean of the outdoor temperature [degC].
    limit : float
        Excess at 0 degC and below, e.g. of `ISO_13788_EXCESS` [Pa].
    """
    return _line(outdoor, [0.0, ISO_13788_NO_EXCESS], [limit, 0.0])


def ashrae_160_temperature(outdoor: ArrayLike, *, cooled: bool = True) -> Floats:
    """Indoor temperature [degC]: 21.1, from 18.3 degC outdoors 2.8 K above outdoors; at most 23.9 if cooled.

    A cooled house is held at 23.9 degC as soon as it is warmer than 21.1 degC outdoors.

    Parameters
    ----------
    outdoor : array_like
        Mean of the outdoor temperature over the last 24 h [degC].
    cooled : bool
        Whether the house has air conditioning.
    """
    warm = np.maximum(np.asarray(outdoor, dtype=np.float64) + 2.8, 21.1)
    return np.asarray(np.minimum(warm, 23.9) if cooled else warm)


def ashrae_160_humidity(outdoor: ArrayLike) -> Floats:
    """Indoor relative humidity of the simplified method [-]: 40 % at -10 degC outdoors, 1 % more per kelvin to 70 %.

    Parameters
    ----------
    outdoor : array_like
        Daily mean of the outdoor temperature [degC].
    """
    return _line(outdoor, [-10.0, 20.0], [0.40, 0.70])


def _line(outdoor: ArrayLike, at: Sequence[float], values: Sequence[float]) -> Floats:
    """Values at outdoor temperatures, linear between and constant beyond two points."""
    return np.asarray(np.interp(np.asarray(outdoor, dtype=np.float64), at, values))
