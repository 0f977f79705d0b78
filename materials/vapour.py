"""Vapour permeability over suction, at 20 degC [kg/(m s Pa)].

References
----------
.. [1] Millington, R. J., Quirk, J. P. (1961), Trans. Faraday Soc. 57, 1200-1207.
.. [2] EN 15026:2007, Annex A.
.. [3] EN ISO 12572:2016: cups at 23 degC, set A 0-50 % RH and set C 50-93 % RH (from memory, to be checked).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from stemwall.materials.interpolation import MonotoneCubic
from stemwall.materials.storage import Storage
from stemwall.materials.water import (
    AIR_PERMEABILITY,
    REFERENCE_TEMPERATURE,
    VAPOUR_EXPONENT,
    WATER_DENSITY,
    ZERO_CELSIUS,
    FloatArray,
    humidity_from_suction,
)

DRY_CUP, WET_CUP = (0.0, 0.50), (0.50, 0.93)
"""Relative humidities between which a dry-cup and a wet-cup value is the mean, if nothing else is stated [3]_."""
CUP_TEMPERATURE = 23.0
"""Temperature of a cup test, if nothing else is stated [degC] [3]_."""


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


@dataclass(frozen=True)
class Cup:
    """A cup test: a permeability that is the mean between two relative humidities.

    Parameters
    ----------
    low, high : float
        Relative humidities on both sides [-].
    delta : float
        Permeability that was measured, brought to 20 degC [kg/(m s Pa)].
    temperature : float
        Of the test [degC].
    """

    low: float
    high: float
    delta: float
    temperature: float = CUP_TEMPERATURE

    @classmethod
    def of_permeance(cls, low: float, high: float, permeance: float, thickness: float, temperature: float) -> "Cup":
        """Cup of a permeance [kg/(m2 s Pa)] of a specimen [m] at the temperature of the test."""
        warmth = (temperature + ZERO_CELSIUS) / (REFERENCE_TEMPERATURE + ZERO_CELSIUS)
        return cls(low, high, permeance * thickness * warmth**-VAPOUR_EXPONENT, temperature)


@dataclass(frozen=True)
class CupCurve:
    """Permeability through `HUMIDITIES`, monotone cubic; see `fit_cups`.

    Parameters
    ----------
    deltas : tuple of float
        At `HUMIDITIES` [kg/(m s Pa)].
    """

    deltas: tuple[float, ...]

    @cached_property
    def _curve(self) -> MonotoneCubic:
        return MonotoneCubic(HUMIDITIES, self.deltas)

    def permeability(self, suction: FloatArray, storage: Storage) -> FloatArray:
        """delta [kg/(m s Pa)]."""
        return np.minimum(self._curve(_humidity(suction)), AIR_PERMEABILITY)


HUMIDITIES = np.linspace(0.0, 1.0, 41)
"""Knots of the curve through three and more cups [-]."""
_EXACT = 1e-4
"""Weight of the bend of that curve against the cups: they are met to a hundredth of a per cent."""


def fit_cups(cups: Sequence[Cup], power: float = 4.0) -> HumidityPower | CupCurve:
    """Permeability whose integral means over every cup are the measured values.

    A cup value is a mean over its range, not the value at the middle of it. One cup gives a constant, two
    the straight line in phi^power, more the curve that bends least from such a line (least squares of the
    second differences over phi^power). Cups that contradict each other are met in the mean.

    Parameters
    ----------
    cups : sequence of Cup
        At least one.
    power : float
        Power of humidity: wood 3-5, concrete 4-6, gypsum 1-2 (estimates).

    Raises
    ------
    ValueError
        When the permeability would have to fall below zero, or fall with humidity between two cups.
    """
    if len(cups) == 1:
        return HumidityPower(cups[0].delta, 0.0, power)
    if len(cups) > 2:
        return _curve_through(cups, power)
    dry, wet = sorted(cups, key=lambda cup: cup.low + cup.high)
    dry_mean, wet_mean = (power_mean(power, cup.low, cup.high) for cup in (dry, wet))
    limit = wet_mean / dry_mean if dry_mean > 0.0 else np.inf
    if not 1.0 <= wet.delta / dry.delta < limit:
        raise ValueError(f"wet/dry = {wet.delta / dry.delta:.3g} must be from 1 to below {limit:.3g}")
    rise = (wet.delta - dry.delta) / (wet_mean - dry_mean)
    return HumidityPower(dry.delta - rise * dry_mean, rise, power)


def _curve_through(cups: Sequence[Cup], power: float) -> CupCurve:
    """Least bent curve over phi^power whose means over three and more cups are what was measured."""
    means = np.array([_hat_means(cup.low, cup.high) / cup.delta for cup in cups])
    scale = np.array([cup.delta for cup in cups]).mean()
    step = np.diff(HUMIDITIES**power)
    bend = np.diff(np.diff(np.eye(HUMIDITIES.size), axis=0) / step[:, None], axis=0)
    bend *= _EXACT * np.sqrt(np.minimum(step[1:], step[:-1]))[:, None] / scale
    target = np.concatenate([np.ones(len(cups)), np.zeros(len(bend))])
    deltas = np.linalg.lstsq(np.concatenate([means, bend]), target, rcond=None)[0]
    if deltas.min() <= 0.0:
        at = HUMIDITIES[int(np.argmin(deltas))]
        raise ValueError(f"cups that one curve can meet; at {100.0 * at:.0f} % RH it would be negative")
    return CupCurve(tuple(deltas.tolist()))


def _hat_means(low: float, high: float) -> FloatArray:
    """Weights of the values at `HUMIDITIES` in the mean of their polygon over a range, (41,)."""
    ends = np.array(sorted({low, high, *np.clip(HUMIDITIES, low, high).tolist()}))
    width = np.diff(ends)
    weight = np.zeros(HUMIDITIES.size)
    for at, share in ((ends[:-1], 0.5 * width), (ends[1:], 0.5 * width)):
        place = at / HUMIDITIES[1]
        left = np.minimum(place.astype(int), HUMIDITIES.size - 2)
        np.add.at(weight, left, share * (left + 1.0 - place))
        np.add.at(weight, left + 1, share * (place - left))
    return weight / (high - low)


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
