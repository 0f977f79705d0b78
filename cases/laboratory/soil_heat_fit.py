"""Thermal conductivity of a soil over its degree of saturation, by least squares relative to each value.

References
----------
.. [1] Cote, J., Konrad, J.-M. (2005), Can. Geotech. J. 42, 443-458: chi 0.75 W/(m K) and eta 1.2 of natural mineral
   soils, kappa 1.9 of silty and clayey ones (recalled); solids of 2.9 W/(m K) (their table, recalled).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from stemwall.cases.laboratory.heat_fit import HeatPoints
from stemwall.cases.laboratory.resampling import Floats, Generator, Scatter
from stemwall.materials.thermal import SoilConductivity
from stemwall.materials.water import WATER_DENSITY

#: what is taken where the moistures of the tests do not say it [1]_
CHI, ETA, KAPPA, SOLIDS = 0.75, 1.2, 1.9, 2.9
#: limits of the logarithms of chi, solids and kappa
LOW, HIGH = np.log([0.05, 0.3, 0.05]), np.log([15.0, 12.0, 15.0])
#: degree of saturation below which a test says the dry value, and above which it says that of the solids
DRY, MOIST = 0.05, 0.10


@dataclass(frozen=True)
class SoilHeatFit:
    """Conductivity of `SoilConductivity`, with eta of mineral soils.

    Parameters
    ----------
    points : HeatPoints
    porosity : float
        [m3/m3].
    best : ndarray, shape (3,)
        chi, solids [W/(m K)], kappa [-].
    scatter : Scatter
    draws : ndarray, shape (B, 3)
    fitted : tuple of bool
        Which of the three the tests say; the others are assumed.
    """

    points: HeatPoints
    porosity: float
    best: Floats
    scatter: Scatter
    draws: Floats
    fitted: tuple[bool, bool, bool]

    names = ("chi", "solids", "kappa")
    labels = (("dry constant χ", "W/(m K)"), ("conductivity of the solids", "W/(m K)"), ("shape κ", "-"))

    def curve(self, water: Floats, number: int | None = None, temperature: float = 10.0) -> Floats:
        """Conductivity [W/(m K)] of the best fit or of one draw, at any temperature."""
        return _law(self.best if number is None else self.draws[number], self.porosity, water)

    def brought(self) -> Floats:
        """Measured conductivities; they are not brought to another temperature."""
        return self.points.value

    def written(self, number: int | None = None) -> dict[str, object]:
        """Written form of the best fit, or of one draw."""
        chi, solids, kappa = (float(f"{v:.5g}") for v in (self.best if number is None else self.draws[number]))
        return {"kind": "soil", "solids": solids, "chi": chi, "eta": ETA, "kappa": kappa}


def _law(row: Floats, porosity: float, water: Floats) -> Floats:
    chi, solids, kappa = (float(value) for value in row)
    return SoilConductivity(porosity, solids, chi, ETA, kappa).conductivity(water)


def fit_soil_heat(points: HeatPoints, porosity: float, assumed: float, rng: Generator, count: int) -> SoilHeatFit:
    """Fit of what the moistures can say.

    Parameters
    ----------
    points : HeatPoints
    porosity : float
        [m3/m3].
    assumed : float
        Relative scatter where no residual is left over.
    rng : Generator
    count : int
        Draws.
    """
    filled = points.water / (WATER_DENSITY * porosity)
    fitted = (bool(filled.min() < DRY), bool(filled.max() > MOIST), np.unique(np.round(filled, 2)).size >= 3)
    free = np.array(fitted)
    taken = np.log([CHI, SOLIDS, KAPPA])

    def whole(values: Floats) -> Floats:
        logarithms = taken.copy()
        logarithms[free] = values
        return np.asarray(np.exp(logarithms))

    def residual(values: Floats) -> Floats:
        return np.asarray(np.log(_law(whole(values), porosity, points.water) / points.value))

    found = least_squares(residual, taken[free], bounds=(LOW[free], HIGH[free]))
    scatter = Scatter.of(found.fun, int(free.sum()), assumed)
    answer = np.linalg.pinv(np.asarray(found.jac))
    errors = np.array([scatter.draw(rng, points.value.size) for _ in range(count)])
    rows = np.clip(found.x + errors @ answer.T, LOW[free], HIGH[free])
    return SoilHeatFit(points, porosity, whole(found.x), scatter, np.array([whole(row) for row in rows]), fitted)
