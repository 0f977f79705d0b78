"""Moisture storage: water content as a function of suction.

A *retention curve* answers for suctions from zero to bone dry; `Storage` adds what happens under
water pressure. Curves from humidity data are interpolated monotonically in log suction.

References
----------
.. [1] Forest Products Laboratory (2021), Wood Handbook, FPL-GTR-282, chapter 4, equation 4-5.
.. [2] Kuenzel, H. M. (1995), Simultaneous heat and moisture transport in building components:
   approximation of measured storage by a hyperbola.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from stemwall.materials.interpolation import MonotoneCubic
from stemwall.materials.water import (
    DRY_SUCTION,
    GAS_CONSTANT,
    REFERENCE_TEMPERATURE,
    WATER_DENSITY,
    ZERO_CELSIUS,
    FloatArray,
    humidity_from_suction,
    suction_from_humidity,
)

ELASTIC_SUCTION = 100.0
"""Suction over which the elastic storage fades out on the unsaturated side [Pa]."""
FILLING_SUCTION = 1.0e4
"""Suction below which log suction turns linear, where capillary filling ends [Pa]."""


class RetentionCurve(Protocol):
    """Water content over suction, for suctions from 0 to `DRY_SUCTION`."""

    @property
    def saturation(self) -> float:
        """Water content at zero suction [kg/m3]."""

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3] at suctions >= 0 [Pa]."""

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)], >= 0."""


@dataclass(frozen=True)
class Storage:
    """Water content for any suction: a retention curve plus elastic storage.

    Under pressure w = w_sat + rho_w S_s (p_0 - p_c); at suctions p_c > 0 the elastic part is
    rho_w S_s p_0^2 / (p_0 + p_c). It is continuous with its slope, keeps w strictly decreasing in
    suction, and adds at most rho_w S_s p_0 (1e-4 kg/m3 for the default) to the retention curve.

    Parameters
    ----------
    curve : RetentionCurve
        Retention curve.
    compressibility : float
        Specific storage S_s [1/Pa].
    """

    curve: RetentionCurve
    compressibility: float = 1e-9

    def water(self, suction: ArrayLike) -> FloatArray:
        """Water content w [kg/m3] at suctions of either sign [Pa]."""
        p_c = np.asarray(suction, dtype=np.float64)
        positive = np.maximum(p_c, 0.0)
        elastic = ELASTIC_SUCTION**2 / (ELASTIC_SUCTION + positive) - np.minimum(p_c, 0.0)
        return self.curve.content(positive) + WATER_DENSITY * self.compressibility * elastic

    def capacity(self, suction: ArrayLike) -> FloatArray:
        """Minus dw/dp_c [kg/(m3 Pa)], > 0."""
        p_c = np.asarray(suction, dtype=np.float64)
        positive = np.maximum(p_c, 0.0)
        elastic = (ELASTIC_SUCTION / (ELASTIC_SUCTION + positive)) ** 2
        pores = np.where(p_c >= 0.0, self.curve.capacity(positive), 0.0)
        return np.asarray(pores + WATER_DENSITY * self.compressibility * elastic)

    @property
    def saturation(self) -> float:
        """Water content at zero suction without the elastic part [kg/m3]."""
        return self.curve.saturation


@dataclass(frozen=True)
class TabulatedRetention:
    """Monotone curve through (suction, water) points, cubic in x = ln(1 + p_c / filling).

    Parameters
    ----------
    suctions : tuple of float
        Strictly increasing, first 0 [Pa].
    waters : tuple of float
        Strictly decreasing [kg/m3].
    filling : float
        Suction where the abscissa changes from logarithmic to linear [Pa].

    Raises
    ------
    ValueError
        When the points are not monotone or do not start at zero suction.
    """

    suctions: tuple[float, ...]
    waters: tuple[float, ...]
    filling: float = FILLING_SUCTION

    def __post_init__(self) -> None:
        if len(self.suctions) != len(self.waters) or len(self.suctions) < 2:
            raise ValueError("suctions and waters need the same length, at least 2")
        if self.suctions[0] != 0.0 or any(b <= a for a, b in pairwise(self.suctions)):
            raise ValueError("suctions must start at 0 and increase strictly")
        if any(b >= a for a, b in pairwise(self.waters)):
            raise ValueError("water content must increase strictly towards saturation")

    @cached_property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(np.log1p(np.array(self.suctions) / self.filling), self.waters)

    @property
    def saturation(self) -> float:
        """Water content at zero suction [kg/m3]."""
        return self.waters[0]

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]; constant beyond the last point."""
        return np.asarray(self._curve(np.log1p(np.minimum(suction, self.suctions[-1]) / self.filling)))

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        inside = suction <= self.suctions[-1]
        slope = self._curve.slope(np.log1p(np.minimum(suction, self.suctions[-1]) / self.filling))
        return np.asarray(np.where(inside, np.maximum(-slope, 0.0) / (self.filling + suction), 0.0))


def sorption_curve(
    humidity: ArrayLike, water: ArrayLike, saturation: float, filling: float = FILLING_SUCTION
) -> TabulatedRetention:
    """Retention curve through sorption points, from bone dry to capillary saturation.

    Parameters
    ----------
    humidity : array_like
        Relative humidities in (0, 1), increasing [-].
    water : array_like
        Water contents, increasing [kg/m3].
    saturation : float
        Water content at zero suction [kg/m3].
    filling : float
        Suction where capillary filling ends [Pa].
    """
    suction = suction_from_humidity(humidity)[::-1]
    return TabulatedRetention(
        (0.0, *suction.tolist(), DRY_SUCTION),
        (saturation, *np.asarray(water, dtype=np.float64)[::-1].tolist(), 0.0),
        filling,
    )


def equilibrium_moisture(humidity: ArrayLike, temperature: float = REFERENCE_TEMPERATURE) -> FloatArray:
    """Equilibrium moisture content of wood [kg/kg], two-hydrate sorption isotherm [1]_.

    Parameters
    ----------
    humidity : array_like
        Relative humidity, 0 to 0.95 [-].
    temperature : float
        -1 to 132 degC.
    """
    h, t = np.asarray(humidity, dtype=np.float64), temperature
    weight = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    hydrates = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2)
    return np.asarray(18.0 / weight * (kh / (1.0 - kh) + hydrates))


def wood_curve(density: float, saturation: float, scale: float = 1.0) -> TabulatedRetention:
    """Retention curve of wood: the 20 degC isotherm up to 95 % RH, then filling to saturation.

    Parameters
    ----------
    density : float
        Dry density [kg/m3].
    saturation : float
        Water content at zero suction [kg/m3].
    scale : float
        Factor on the isotherm of solid wood, below one for panels [-].
    """
    humidity = np.concatenate([[0.005, 0.01, 0.02, 0.035], np.arange(0.05, 0.951, 0.01)])
    return sorption_curve(humidity, scale * density * equilibrium_moisture(humidity), saturation)


def power_hyperbola(water_50: float, water_80: float, saturation: float) -> TabulatedRetention:
    """Retention curve from contents at 50 and 80 % RH [kg/m3]: a power law, then the `Hyperbola`."""
    power = np.log(water_80 / water_50) / np.log(1.6)
    low = np.concatenate([[0.01, 0.02], np.arange(0.05, 0.801, 0.05)])
    high = np.concatenate([np.arange(0.82, 0.99, 0.02), [0.99, 0.995, 0.999]])
    upper = Hyperbola.through(water_80, saturation).content(suction_from_humidity(high))
    lower = water_80 * (low / 0.8) ** power
    return sorption_curve(np.concatenate([low, high]), np.concatenate([lower, upper]), saturation)


def scaled(water: Sequence[float], saturation: float, factor: float) -> list[float]:
    """Water contents times a factor that fades out towards saturation, w / w_s = f r / (1 + (f - 1) r) of r = w / w_s.

    Rising contents keep rising and stay below saturation, whatever the factor.
    """
    if factor == 1.0:
        return list(water)
    return [factor * one / (1.0 + (factor - 1.0) * one / saturation) for one in water]


@dataclass(frozen=True)
class Hyperbola:
    """Isotherm w = w_s (b - 1) phi / (b - phi): a hyperbola through zero, one point and saturation [2]_.

    Parameters
    ----------
    saturation : float
        Water content at zero suction w_s [kg/m3].
    pole : float
        Relative humidity b > 1 at which it would grow without limit [-].
    """

    saturation: float
    pole: float

    @classmethod
    def through(cls, water_80: float, saturation: float) -> "Hyperbola":
        """The hyperbola that holds `water_80` [kg/m3] at 80 % RH; needs water_80 < 0.8 saturation."""
        if not 0.0 < water_80 < 0.8 * saturation:
            raise ValueError(f"water_80 = {water_80} must be between 0 and 0.8 of the saturation {saturation}")
        return cls(saturation, 0.8 * (saturation - water_80) / (0.8 * saturation - water_80))

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]."""
        phi = humidity_from_suction(suction)
        return np.asarray(self.saturation * (self.pole - 1.0) * phi / (self.pole - phi))

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        phi = humidity_from_suction(suction)
        per_humidity = self.saturation * (self.pole - 1.0) * self.pole / (self.pole - phi) ** 2
        kelvin = WATER_DENSITY * GAS_CONSTANT * (REFERENCE_TEMPERATURE + ZERO_CELSIUS)
        return np.asarray(per_humidity * phi / kelvin)


@dataclass(frozen=True)
class LinearIsotherm:
    """Water content proportional to relative humidity, w = w_100 phi (test material)."""

    saturation: float

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]."""
        return np.asarray(self.saturation * humidity_from_suction(suction))

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        kelvin = WATER_DENSITY * GAS_CONSTANT * (REFERENCE_TEMPERATURE + ZERO_CELSIUS)
        return self.content(suction) / kelvin


@dataclass(frozen=True)
class FunctionRetention:
    """Retention curve from a Python function, its slope by central differences in log suction.

    Parameters
    ----------
    function : callable
        Array of suctions >= 0 [Pa] to water contents [kg/m3], decreasing.
    """

    function: Callable[[FloatArray], FloatArray]

    @property
    def saturation(self) -> float:
        """Water content at zero suction [kg/m3]."""
        return float(self.function(np.zeros(1))[0])

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]."""
        return np.asarray(self.function(suction), dtype=np.float64)

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        step = 1e-5 * (suction + 1.0)
        below = np.maximum(suction - step, 0.0)
        drop = self.content(below) - self.content(suction + step)
        return np.asarray(np.maximum(drop, 0.0) / (suction + step - below))
