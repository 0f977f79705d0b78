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
.. [6] Rucker-Gramm, P., Beddoe, R. E. (2010), Cem. Concr. Res. 40, 102-108: self-sealing of concrete limits uptake
   under pressure (abstract read); Martys, N. S., Ferraris, C. F. (1997), Cem. Concr. Res. 27, 747-760.
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
    GAS_CONSTANT,
    GRAVITY,
    REFERENCE_TEMPERATURE,
    VAPOUR_EXPONENT,
    WATER_DENSITY,
    ZERO_CELSIUS,
    FloatArray,
    fluidity_ratio,
    saturation_pressure,
    suction_from_humidity,
)

DIFFUSIVITY_RATIO = 1000.0
"""Diffusivity at saturation over that of the dry material in the exponential law [3]_."""
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
    longer connected; `fit_absorption` finds it. It is a law of the first hours to days of wetting. K
    never rises with suction: where the product would, because the retention curve flattens towards
    saturation, K keeps the largest value found drier.

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
        grid, logarithm, water, capacity = _sampled(curve, 2001)
        diffusivity = self.diffusivity * DIFFUSIVITY_RATIO ** (water / self.saturation - 1.0)
        law = diffusivity * capacity / (1.0 + (grid / self.cutoff) ** 2)
        falling = np.maximum.accumulate(law[::-1])[::-1]
        at = np.log(np.clip(suction, grid[0], grid[-1]))
        return np.exp(np.interp(at, logarithm, np.log(np.maximum(falling, 1e-300))))


@lru_cache(maxsize=8)
def _sampled(curve: Any, count: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Sample a curve at suctions evenly spaced in their logarithm from 0.1 Pa to dry.

    Suction [Pa], its logarithm, water content [kg/m3] and capacity [kg/(m3 Pa)]; kept, since a fit asks for the same
    curve again and again.
    """
    grid = np.geomspace(0.1, DRY_SUCTION, count)
    return grid, np.log(grid), curve.content(grid), curve.capacity(grid)


@dataclass(frozen=True)
class LongTerm:
    """Cement-bound material in lasting contact with water, K = K_s / g / [1 + (p_c / entry)^2].

    Within days of wetting the gel swells, cement goes on hydrating and pores seal: uptake falls behind
    sqrt(t) and what still flows is little and takes the few coarse ways left [6]_. `saturated` is what
    a long test under pressure measures; `entry` says how far from saturation these ways stay full.

    Parameters
    ----------
    saturated : float
        Hydraulic conductivity K_s [m/s].
    entry : float
        Suction where K has fallen to one half [Pa].
    """

    saturated: float
    entry: float

    def conductivity(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """K at 20 degC [s]."""
        return np.asarray(self.saturated / GRAVITY / (1.0 + (np.maximum(suction, 0.0) / self.entry) ** 2))


def absorption_coefficient(model: LiquidModel, storage: Storage, start: float = 0.0) -> float:
    """Absorption coefficient A [kg/(m2 s^0.5)] of liquid alone at 20 degC, by the integral of Parlange [4]_.

    Good to 0.3 % from dry for the exponential law; `uptake.uptake_coefficient` has no such error and counts
    vapour. `model` must share its storage.

    Parameters
    ----------
    start : float
        Water content before [kg/m3].
    """
    curve: Any = storage.curve
    p_c, logarithm, water, _ = _sampled(curve, 2001)
    integrand = np.maximum(water[0] + water - 2.0 * start, 0.0) * model.conductivity(p_c, storage) * p_c
    return float(np.sqrt(trapezoid(np.where(water > start, integrand, 0.0), logarithm)))


def as_vapour(model: LiquidModel, storage: Storage, humidity: FloatArray, temperature: float) -> FloatArray:
    """Liquid flow down a gradient of humidity at one temperature [degC], as vapour permeability [kg/(m s Pa)].

    Referred to vapour pressure at that temperature, and brought to 20 degC as a permeability is.
    """
    kelvin = temperature + ZERO_CELSIUS
    k = model.conductivity(suction_from_humidity(humidity, temperature), storage) * fluidity_ratio(temperature)
    flow = k * WATER_DENSITY * GAS_CONSTANT * kelvin / humidity / saturation_pressure(temperature)
    return np.asarray(flow * (kelvin / (REFERENCE_TEMPERATURE + ZERO_CELSIUS)) ** -VAPOUR_EXPONENT)


def cup_share(model: LiquidModel, storage: Storage, low: float, high: float, temperature: float) -> float:
    """Liquid flow through a cup between two relative humidities, as vapour permeability [kg/(m s Pa)]."""
    humidity = np.linspace(max(low, 1e-3), high, 401)
    return trapezoid(as_vapour(model, storage, humidity, temperature), humidity) / (high - low)


def fit_absorption(
    storage: Storage, coefficient: float, rise: float, wettest: float, start: float = 0.0, temperature: float = 20.0
) -> Absorption:
    """Capillary law that returns an absorption coefficient and carries no more than cups leave to it.

    The cutoff is the one at which liquid carries, at the wettest humidity that a cup covers, all by which
    permeability rose from dry; for every cutoff D_f is scaled so that free uptake gives the coefficient.
    When the rise is out of reach the cutoff stays at the nearer end of `CUTOFF_RANGE`.

    Parameters
    ----------
    storage : Storage
        Moisture storage.
    coefficient : float
        A of liquid alone [kg/(m2 s^0.5)], see `absorption_coefficient`.
    rise : float
        Permeability at `wettest` less that of the dry material [kg/(m s Pa)].
    wettest : float
        Relative humidity [-].
    start : float
        Water content before uptake [kg/m3].
    temperature : float
        Of the cups [degC].
    """
    humidity = np.array([wettest])

    def law(log_cutoff: float) -> Absorption:
        unit = Absorption(1.0, storage.saturation, float(np.exp(log_cutoff)))
        scale = (coefficient / absorption_coefficient(unit, storage, start)) ** 2
        return Absorption(scale, storage.saturation, unit.cutoff)

    def surplus(log_cutoff: float) -> float:
        return float(as_vapour(law(log_cutoff), storage, humidity, temperature)[0]) - rise

    low, high = (float(np.log(limit)) for limit in CUTOFF_RANGE)
    ends = surplus(low), surplus(high)
    if ends[0] >= 0.0:
        return law(low)
    if ends[1] <= 0.0:
        return law(high)
    return law(root(surplus, low, high, 1e-3, ends))


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
