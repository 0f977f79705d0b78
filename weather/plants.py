"""Leaves of grass in the weather: how easily they evaporate, and the sun they let pass.

References
----------
.. [1] Allen, R. G., et al. (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56: grass 0.12 m tall
   has a leaf area index of 24 h = 2.88, half of it active, each square metre of leaf 100 s/m (from memory, to be
   checked).
.. [2] ASCE Standardized Reference Evapotranspiration Equation (2005): 200 s/m for short grass at night (from memory,
   to be checked).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import KELVIN, VAPOUR_GAS_CONSTANT, FloatArray

LEAF_AREA = 2.88
"""Leaf area index of grass 0.12 m tall [-] [1]_."""
LEAF_RESISTANCE = 100.0
"""Stomatal resistance of a square metre of active leaf by day [s/m] [1]_."""
ACTIVE = 0.5
"""Share of the leaves that is active [-] [1]_."""
NIGHT_RESISTANCE = 200.0
"""Resistance of all leaves at night [s/m] [2]_."""
DORMANT = 5.0
"""Air temperature below which grass does not grow and evaporates nothing [°C] (common practice, no source)."""
EXTINCTION = 0.7
"""Extinction of net radiation in leaves [-] (Shuttleworth and Wallace 1985, Q. J. R. Meteorol. Soc. 111, 839-855; from
memory, to be checked)."""


def leaf_vapour_conductance(
    vapour_film: ArrayLike, temperature: ArrayLike, sun: ArrayLike, leaf_area: float = LEAF_AREA
) -> FloatArray:
    """Vapour from leaves to the air [kg/(m² s Pa)] per difference to saturation, of the broadcast shape.

    Parameters
    ----------
    vapour_film : array_like
        Between leaves and air [kg/(m² s Pa)].
    temperature : array_like
        Of the air [°C].
    sun : array_like
        Global irradiance [W/m²]; stomata close without.
    leaf_area : float
        Leaf area index [-].
    """
    warm = np.asarray(temperature, dtype=np.float64)
    open_by_day = np.asarray(sun, dtype=np.float64) > 0
    stomata = np.where(open_by_day, LEAF_RESISTANCE / (ACTIVE * leaf_area), NIGHT_RESISTANCE)
    series = 1.0 / np.asarray(vapour_film, dtype=np.float64) + stomata * VAPOUR_GAS_CONSTANT * (warm + KELVIN)
    return np.asarray(np.where(warm > DORMANT, 1.0 / series, 0.0))


def shading(leaf_area: float = LEAF_AREA) -> float:
    """Share of the sun that leaves keep from the ground [-]."""
    return float(-np.expm1(-EXTINCTION * leaf_area))
