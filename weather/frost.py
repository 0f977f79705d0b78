"""How hard a year freezes the ground: the air-freezing index."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

DAY = 24


def air_freezing_index(temperature: ArrayLike) -> float:
    """Air-freezing index [K d] of hourly air temperatures [degC], the hardest season among them.

    The largest fall of the running sum of daily mean temperatures below 0 degC: from its highest to its lowest
    point of a season (definition of ASCE 32, "Design and Construction of Frost-Protected Shallow
    Foundations"; from memory, to be checked).  1 K d is 1.8 degF d.  A climate that
    freezes more than it thaws has no end of a season: there the fall goes on from year to year.

    Parameters
    ----------
    temperature : array_like, shape (hours,)
        Whole days; hours left over at the end are not counted.
    """
    t = np.asarray(temperature, dtype=float)
    days = t[: t.size // DAY * DAY].reshape(-1, DAY).mean(axis=1)
    total = np.concatenate([[0.0], np.cumsum(days)])
    return float((np.maximum.accumulate(total) - total).max())
