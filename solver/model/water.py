"""Water as stated: brought to a place, or standing in a space."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stemwall.solver.model.arrays import Floats

#: level of a space without standing water [m]
DRY = -np.inf


@dataclass(frozen=True)
class WaterSource:
    """Water brought to a place.

    Parameters
    ----------
    name : str
        Line in the balances.
    x, y : float
        Place [m], in or on the edge of a solid; the nearest node of ``region`` takes it.
    rate : Floats
        Water offered [kg/(s m)], (hours,).
    temperature : Floats
        Its temperature [degC], (hours,).
    region : str or None
        Region that takes it, if it must be a certain one.
    """

    name: str
    x: float
    y: float
    rate: Floats
    temperature: Floats
    region: str | None = None


@dataclass(frozen=True)
class Flood:
    """Standing water, hour by hour.

    Parameters
    ----------
    name : str
        For messages.
    climates : tuple of str
        Keys of the climates or zones whose space it fills.
    level : Floats
        Height of its surface [m], (hours,); `DRY` while there is none.
    temperature : Floats
        Its temperature [degC], (hours,).
    """

    name: str
    climates: tuple[str, ...]
    level: Floats
    temperature: Floats
