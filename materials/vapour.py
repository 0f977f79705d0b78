"""Vapour permeability over suction, at 20 degC [kg/(m s Pa)].

References
----------
.. [1] Millington, R. J., Quirk, J. P. (1961), Trans. Faraday Soc. 57, 1200-1207.
.. [2] EN 15026:2007, Annex A.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from stemwall.materials.interpolation import MonotoneCubic
from stemwall.materials.liquid import WET_CUP
from stemwall.materials.storage import Storage
from stemwall.materials.water import AIR_PERMEABILITY, WATER_DENSITY, FloatArray, humidity_from_suction

DRY_CUP = (0.0, 0.50)
"""Relative humidities between which a dry-cup value is taken as the mean."""


class VapourModel(Protocol):
    """Vapour permeability over suction."""

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta at 20 degC [kg/(m s Pa)] for suctions of either sign [Pa]."""


def _humidity(suction: FloatArray) -> FloatArray:
    """Equilibrium relative humidity at 20 degC, at most one [-]."""
    return np.minimum(humidity_from_suction(suction), 1.0)


@dataclass(frozen=True)
class ConstantVapour:
    """Constant permeability delta [kg/(m s Pa)]."""

    delta: float

    @classmethod
    def from_resistance_factor(cls, mu: float) -> "ConstantVapour":
        """Permeability of still air divided by a resistance factor mu [-]."""
        return cls(AIR_PERMEABILITY / mu)

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        return np.full_like(suction, self.delta)


@dataclass(frozen=True)
class HumidityPower:
    """delta = base + rise phi^power, at most that of still air.

    Parameters
    ----------
    base, rise : float
        [kg/(m s Pa)].
    power : float
        [-].
    """

    base: float
    rise: float
    power: float

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        delta = self.base + self.rise * _humidity(suction) ** self.power
        return np.minimum(delta, AIR_PERMEABILITY)


def power_mean(power: float, low: float, high: float) -> float:
    """Integral mean of phi^power between two relative humidities [-]."""
    rise = float(high ** (power + 1.0) - low ** (power + 1.0))
    return rise / ((power + 1.0) * (high - low))


def fit_cups(dry: float, wet: float, power: float = 4.0) -> HumidityPower:
    """Permeability whose integral means over the dry and the wet cup are the measured values.

    The cups are 0-50 % RH and 50-95 % RH. A cup value is a mean over its range, not the value at
    the middle of it.

    Parameters
    ----------
    dry, wet : float
        Mean permeabilities, wet >= dry [kg/(m s Pa)].
    power : float
        Power of humidity: wood 3-5, concrete 4-6, gypsum 1-2 (estimates).

    Raises
    ------
    ValueError
        When the ratio wet / dry is below one or too large for the power.
    """
    dry_mean, wet_mean = power_mean(power, *DRY_CUP), power_mean(power, *WET_CUP)
    if not 1.0 <= wet / dry < wet_mean / dry_mean:
        raise ValueError(f"wet/dry = {wet / dry:.3g} must be from 1 to below {wet_mean / dry_mean:.3g}")
    rise = (wet - dry) / (wet_mean - dry_mean)
    return HumidityPower(dry - rise * dry_mean, rise, power)


@dataclass(frozen=True)
class MillingtonQuirk:
    """Soil gas diffusion, delta = delta_air (n - theta)^(10/3) / n^2 [1]_.

    Parameters
    ----------
    porosity : float
        n [m3/m3].
    """

    porosity: float

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        air = np.maximum(self.porosity - storage.water(suction) / WATER_DENSITY, 0.0)
        return np.asarray(AIR_PERMEABILITY * air ** (10.0 / 3.0) / self.porosity**2)


@dataclass(frozen=True)
class AirFilledPores:
    """delta = dry a / [(1 - c) a^2 + c], a = 1 - w / w_sat, falling as the pores fill [2]_.

    Parameters
    ----------
    dry : float
        delta of the dry material [kg/(m s Pa)].
    saturation : float
        w_sat [kg/m3].
    shape : float
        c [-].
    """

    dry: float
    saturation: float
    shape: float = 0.497

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        water = storage.curve.content(np.maximum(suction, 0.0))
        air = np.maximum(1.0 - water / self.saturation, 0.0)
        return np.asarray(self.dry * air / ((1.0 - self.shape) * air**2 + self.shape))


@dataclass(frozen=True)
class TabulatedVapour:
    """Permeability through points over relative humidity, monotone cubic, constant beyond them.

    Parameters
    ----------
    humidities : tuple of float
        Strictly increasing, 0 to 1 [-].
    deltas : tuple of float
        [kg/(m s Pa)].
    """

    humidities: tuple[float, ...]
    deltas: tuple[float, ...]

    @cached_property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(self.humidities, self.deltas)

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        phi = np.clip(_humidity(suction), self.humidities[0], self.humidities[-1])
        return np.asarray(self._curve(phi))


@dataclass(frozen=True)
class FunctionVapour:
    """Permeability from a Python function of relative humidity [-], in kg/(m s Pa) at 20 degC."""

    function: Callable[[FloatArray], FloatArray]

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        return np.asarray(self.function(_humidity(suction)), dtype=np.float64)
