"""Wood moisture content, in percent of the dry mass.

References
----------
.. [1] Wood Handbook (2021), FPL-GTR-282, chapter 4: equilibrium moisture content
   (Hailwood and Horrobin 1946), coefficients in degC.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import checked, hours
from stemwall.solver.model.arrays import Floats

#: Lines that days are counted above [% dry mass], and what the trade ties to them.
MOISTURE_LINES = {
    16.0: "mould seen on wood from about 15 to 18 % (extension-service summary of field work)",
    20.0: "long-standing upper guide for wood in buildings (extension-service summary of field work)",
    26.0: "lower edge of fibre saturation, 26 to 30 %; decay needs about that (common practice, no source)",
}


def moisture_content(water_content: ArrayLike, dry_density: float) -> Floats:
    """Moisture content [% dry mass] from water content [kg/m3] and dry density [kg/m3]."""
    if not dry_density > 0.0:
        raise ValueError(f"dry density must be positive, got {dry_density}")
    return 100.0 * np.asarray(water_content, dtype=np.float64) / dry_density


def equilibrium_moisture_content(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Equilibrium moisture content of solid wood [% dry mass], [1]_.

    Parameters
    ----------
    temperature, relative_humidity : array_like
        Temperature [degC], fitted for -1 to 132, and relative humidity [-], fitted for 0.05 to 0.95.

    Notes
    -----
    A mean of adsorption and desorption.  At saturation the formula gives about
    29 %, which is the end of the fit and not the fibre saturation point.
    """
    t, h = checked(temperature, relative_humidity)
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    hydrated = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2)
    return 1800.0 / w * (kh / (1.0 - kh) + hydrated)


def days_above(moisture: Floats, limit: float, step: float = 1.0) -> Any:
    """Days above a moisture content [% dry mass]; a float, or shape (place,). `step` in hours."""
    return hours(moisture > limit, step) / 24.0
