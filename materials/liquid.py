"""Liquid conductivity K over suction, at 20 degC [kg/(m s Pa)] = [s].

Flow is g = -K grad p_l, so K = K_s / g for a hydraulic conductivity K_s [m/s], and K = D |dw/dp_c|
for a moisture diffusivity D [m2/s].

References
----------
.. [1] Mualem, Y. (1976), Water Resour. Res. 12, 513-522; van Genuchten (1980).
.. [2] Vogel, van Genuchten, Cislerova (2001), Adv. Water Resour. 24, 133-144.
.. [3] Kuenzel (1995): exponential diffusivity with D(w_f) / D(0) = 1000.
.. [4] Parlange, J.-Y. (1975), Soil Sci. 119, 158-161: A^2 = integral of (w_f + w) D dw from dry.
.. [5] Gardner, W. R. (1958), Soil Sci. 85, 228-232.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, Protocol

import numpy as np

from stemwall.materials.interpolation import MonotoneCubic, root, trapezoid
from stemwall.materials.storage import Storage
from stemwall.materials.water import (
    DRY_SUCTION,
    GRAVITY,
    REFERENCE_TEMPERATURE,
    WATER_DENSITY,
    FloatArray,
    saturation_pressure,
    suction_from_humidity,
)

DIFFUSIVITY_RATIO = 1000.0
"""Diffusivity at saturation over that of the dry material in the exponential law [3]_."""
WET_CUP = (0.50, 0.95)
"""Relative humidities between which a wet-cup value is taken as the mean."""
CUTOFF_RANGE = (1.0e5, 3.0e7)
"""Least and greatest suction where the capillary law may fade out [Pa]."""


class LiquidModel(Protocol):
    """Liquid conductivity over suction."""

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s] for suctions of either sign [Pa]; constant below zero suction."""


@dataclass(frozen=True)
class NoLiquid:
    """No capillary flow."""

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """Zero [s]."""
        return np.zeros_like(suction)


@dataclass(frozen=True)
class Mualem:
    """van Genuchten-Mualem conductivity [1]_ with the air-entry correction [2]_.

    Parameters
    ----------
    saturated : float
        Hydraulic conductivity K_s [m/s].
    alpha : float
        Inverse suction scale [1/Pa].
    n : float
        Shape [-].
    air_entry : float
        Air-entry suction [Pa].
    connectivity : float
        Power of S_e [-].
    """

    saturated: float
    alpha: float
    n: float
    air_entry: float = 0.0
    connectivity: float = 0.5

    def _factors(self, suction: FloatArray) -> tuple[FloatArray, FloatArray]:
        """S_e of the full closed form and 1 - [1 - S_e^(1/m)]^m."""
        m = 1.0 - 1.0 / self.n
        x = (self.alpha * np.maximum(suction, 1e-9)) ** self.n
        return (1.0 + x) ** -m, -np.expm1(-m * np.log1p(1.0 / x))

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        entry_filling, entry_bundle = self._factors(np.array(self.air_entry))
        filling, bundle = self._factors(np.maximum(suction, self.air_entry))
        relative = (filling / entry_filling) ** self.connectivity * (bundle / entry_bundle) ** 2
        return np.asarray(self.saturated / GRAVITY * relative)


@dataclass(frozen=True)
class Absorption:
    """Capillary law of a building material, K = D(w) |dw/dp_c| / [1 + (p_c / cutoff)^2].

    D = D_f 1000^(w / w_f - 1) [3]_. The last factor ends capillary flow where the pore water is no
    longer connected; `fit_absorption` finds it. K never rises with suction: where the product would,
    because the retention curve flattens towards saturation, K keeps the largest value found drier.

    Parameters
    ----------
    diffusivity : float
        D_f, at saturation [m2/s].
    saturation : float
        w_f [kg/m3].
    cutoff : float
        Suction where the law has fallen to one half [Pa].
    """

    diffusivity: float
    saturation: float
    cutoff: float

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        curve: Any = storage.curve
        grid, logarithm, water, capacity = _sampled(curve, 4001)
        diffusivity = self.diffusivity * DIFFUSIVITY_RATIO ** (water / self.saturation - 1.0)
        law = diffusivity * capacity / (1.0 + (grid / self.cutoff) ** 2)
        falling = np.maximum.accumulate(law[::-1])[::-1]
        at = np.log(np.clip(suction, grid[0], grid[-1]))
        return np.exp(np.interp(at, logarithm, np.log(np.maximum(falling, 1e-300))))


@lru_cache(maxsize=8)
def _sampled(curve: Any, count: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Suctions evenly spaced in their logarithm from 0.1 Pa to dry [Pa], their logarithms, and the water content
    [kg/m3] and capacity [kg/(m3 Pa)] there; kept, since a fit asks for the same curve again and again."""
    grid = np.geomspace(0.1, DRY_SUCTION, count)
    return grid, np.log(grid), curve.content(grid), curve.capacity(grid)


def absorption_coefficient(model: LiquidModel, storage: Storage) -> float:
    """Absorption coefficient A [kg/(m2 s^0.5)] from dry, by the integral of Parlange [4]_.

    Good to 0.3 % for the exponential law. `model` must share its storage.
    """
    curve: Any = storage.curve
    p_c, logarithm, water, _ = _sampled(curve, 4001)
    integrand = (water[0] + water) * model.conductivity(p_c, storage) * p_c
    return float(np.sqrt(trapezoid(integrand, logarithm)))


def wet_cup_share(model: LiquidModel, storage: Storage) -> float:
    """Liquid flow through a wet cup, as an equivalent vapour permeability [kg/(m s Pa)]."""
    dry, wet = suction_from_humidity(np.array(WET_CUP))
    p_c = np.geomspace(wet, dry, 401)
    flow = trapezoid(model.conductivity(p_c, storage) * p_c, np.log(p_c))
    pressure = float(saturation_pressure(REFERENCE_TEMPERATURE))
    return flow / (pressure * (WET_CUP[1] - WET_CUP[0]))


def fit_absorption(storage: Storage, coefficient: float, wet_cup_excess: float) -> Absorption:
    """Capillary law that returns a measured absorption coefficient and a measured wet cup.

    The cutoff is chosen so that the liquid flow through the wet cup equals the measured excess of
    the wet over the dry cup, so nothing is counted twice; for every cutoff D_f is scaled so that
    free uptake from dry gives the coefficient. When the excess is out of reach the cutoff stays at
    the nearer end of `CUTOFF_RANGE`, and the vapour model must account for the rest.

    Parameters
    ----------
    storage : Storage
        Moisture storage.
    coefficient : float
        A [kg/(m2 s^0.5)].
    wet_cup_excess : float
        Wet-cup minus dry-cup permeability [kg/(m s Pa)].
    """

    def law(log_cutoff: float) -> Absorption:
        unit = Absorption(1.0, storage.saturation, float(np.exp(log_cutoff)))
        scale = (coefficient / absorption_coefficient(unit, storage)) ** 2
        return Absorption(scale, storage.saturation, unit.cutoff)

    def surplus(log_cutoff: float) -> float:
        return wet_cup_share(law(log_cutoff), storage) - wet_cup_excess

    low, high = (float(np.log(limit)) for limit in CUTOFF_RANGE)
    ends = surplus(low), surplus(high)
    if ends[0] >= 0.0:
        return law(low)
    if ends[1] <= 0.0:
        return law(high)
    return law(root(surplus, low, high, 1e-6, ends))


@dataclass(frozen=True)
class ConstantDiffusivity:
    """K = D |dw/dp_c| with a constant moisture diffusivity D [m2/s]."""

    diffusivity: float

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K [s]."""
        return np.asarray(self.diffusivity * storage.curve.capacity(np.maximum(suction, 0.0)))


@dataclass(frozen=True)
class LogPolynomial:
    """ln K = sum of c_i (w - centre)^i, with K [s] and w [kg/m3], as in EN 15026 Annex A.

    Parameters
    ----------
    coefficients : tuple of float
        c_0, c_1, ...
    centre : float
        Water content the polynomial is expanded about [kg/m3].
    """

    coefficients: tuple[float, ...]
    centre: float = 0.0

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K [s]."""
        water = storage.curve.content(np.maximum(suction, 0.0))
        return np.asarray(np.exp(np.polynomial.polynomial.polyval(water - self.centre, self.coefficients)))


@dataclass(frozen=True)
class Gardner:
    """K = K_s / g exp(-alpha h) [5]_.

    Parameters
    ----------
    saturated : float
        Hydraulic conductivity K_s [m/s].
    alpha : float
        [1/Pa].
    """

    saturated: float
    alpha: float

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        return np.asarray(self.saturated / GRAVITY * np.exp(-self.alpha * np.maximum(suction, 0.0)))


@dataclass(frozen=True)
class TabulatedLiquid:
    """K through points, monotone cubic in the logarithms of K and of 1 + p_c / 1 Pa.

    Parameters
    ----------
    suctions : tuple of float
        Strictly increasing, >= 0 [Pa].
    conductivities : tuple of float
        Positive [s]; constant towards saturation, falling as p_c^-3 beyond the last point.
    """

    suctions: tuple[float, ...]
    conductivities: tuple[float, ...]

    @cached_property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(np.log1p(np.array(self.suctions)), np.log(np.array(self.conductivities)))

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        inside = np.clip(suction, self.suctions[0], self.suctions[-1])
        beyond = np.maximum(suction / self.suctions[-1], 1.0)
        return np.asarray(np.exp(self._curve(np.log1p(inside))) * beyond**-3.0)


@dataclass(frozen=True)
class FunctionLiquid:
    """K from a Python function of suction >= 0 [Pa], in seconds at 20 degC."""

    function: Callable[[FloatArray], FloatArray]

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        return np.asarray(self.function(np.maximum(suction, 0.0)), dtype=np.float64)


def soil_conductivity(saturated: float, alpha: float, n: float, air_entry: float) -> Mualem:
    """Mualem model in soil units: K_s [m/s], alpha [1/m], n [-], air-entry head [m]."""
    weight = WATER_DENSITY * GRAVITY
    return Mualem(saturated, alpha / weight, n, air_entry * weight)
