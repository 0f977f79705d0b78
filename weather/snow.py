"""Snow on the ground: what falls as snow, how it lies and melts, how it shields the ground.

A degree-day model of one layer. Precipitation below a threshold temperature falls as snow; a pack melts in
proportion to the air temperature above the melting point; rain and meltwater reach the ground in the hour in
which they arise. Water that a pack holds back, sublimation and drift are left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stemwall.weather.moistair import FloatArray

WATER_DENSITY = 1000.0
"""[kg/m³]"""
HOURS_PER_DAY = 24.0
FULL_COVER_DEPTH = 0.1
"""Depth from which snow hides the ground completely [m]; below it the hidden share grows with the depth
(Verseghy: CLASS, a land surface scheme, Int. J. Climatology 11 (1991) 111; from memory, to be checked)."""


@dataclass(frozen=True)
class SnowModel:
    """Parameters of the degree-day model.

    Parameters
    ----------
    threshold : float
        Precipitation below this air temperature is snow [°C]; 1 is the mean of the northern hemisphere
        (Jennings et al., Nature Communications 9 (2018) 1148; from memory, to be checked).
    melt_temperature : float
        Air temperature from which snow melts [°C].
    degree_day_factor : float
        Melt per kelvin and day [mm/(K d)]; measured in the open about 2 to 6 (Hock, J. Hydrology 282 (2003)
        104; from memory, to be checked).
    fresh_density, settled_density : float
        Of new snow, and what a pack settles towards [kg/m³]; 100 and 300 (Verseghy 1991, as above).
    settling_time : float
        Hours in which the difference to the settled density falls to 1/e [h]; 100 (Verseghy 1991, as above).
    """

    threshold: float = 1.0
    melt_temperature: float = 0.0
    degree_day_factor: float = 3.0
    fresh_density: float = 100.0
    settled_density: float = 300.0
    settling_time: float = 100.0


@dataclass(frozen=True, eq=False)
class SnowPack:
    """Snow hour by hour, shape (n,) each.

    Parameters
    ----------
    rain, snowfall : ndarray
        Liquid and solid precipitation [mm/h].
    melt : ndarray
        Meltwater that leaves the pack [mm/h].
    equivalent : ndarray
        Water equivalent of the pack at the end of the hour [mm].
    depth : ndarray
        At the end of the hour [m].
    density : ndarray
        At the end of the hour; the settled density where there is no snow [kg/m³].
    """

    rain: FloatArray
    snowfall: FloatArray
    melt: FloatArray
    equivalent: FloatArray
    depth: FloatArray
    density: FloatArray

    @property
    def water(self) -> FloatArray:
        """Rain and meltwater that reach the ground [mm/h]."""
        return np.asarray(self.rain + self.melt)


def split_precipitation(
    precipitation: ArrayLike, temperature: ArrayLike, threshold: float = 1.0
) -> tuple[FloatArray, FloatArray]:
    """Rain and snow [mm/h] of a precipitation [mm/h], snow below an air temperature [°C]."""
    total = np.asarray(precipitation, dtype=np.float64)
    cold = np.asarray(temperature, dtype=np.float64) < threshold
    return np.asarray(np.where(cold, 0.0, total)), np.asarray(np.where(cold, total, 0.0))


def snow_pack(
    temperature: ArrayLike,
    precipitation: ArrayLike,
    model: SnowModel | None = None,
    *,
    start: float = 0.0,
    start_density: float | None = None,
) -> SnowPack:
    """Snow of successive hours.

    Parameters
    ----------
    temperature : array_like, shape (n,)
        Air temperature [°C].
    precipitation : array_like, shape (n,)
        Water of rain and snow together [mm/h].
    model : SnowModel or None
        Its parameters; None takes the defaults.
    start : float
        Water equivalent of the snow before the first hour [mm].
    start_density : float or None
        Its density [kg/m³]; None takes settled snow.

    Notes
    -----
    The equivalent follows w_i = max(0, w_(i-1) + snowfall_i - potential_i), solved in closed form by the
    running minimum of the sum of all gains and losses.
    """
    model = model or SnowModel()
    air = np.asarray(temperature, dtype=np.float64)
    rain, snowfall = split_precipitation(precipitation, air, model.threshold)
    potential = model.degree_day_factor / HOURS_PER_DAY * np.maximum(air - model.melt_temperature, 0.0)
    total = start + np.cumsum(snowfall - potential)
    equivalent = total - np.minimum(np.minimum.accumulate(total), 0.0) if total.size else total
    before = np.concatenate([[start], equivalent[:-1]])
    melt = np.minimum(before + snowfall, potential)
    density = _density(before, snowfall, equivalent, model, start_density or model.settled_density)
    return SnowPack(rain, snowfall, melt, equivalent, np.asarray(equivalent / density), density)


def lying_snow(temperature: ArrayLike, precipitation: ArrayLike, model: SnowModel | None = None) -> SnowPack:
    """Snow of weather that repeats, shape (n,) each.

    The weather is passed twice; snow that a whole period does not melt is counted from the first only.
    """
    first = snow_pack(temperature, precipitation, model)
    end, density = float(first.equivalent[-1]), float(first.density[-1])
    return snow_pack(temperature, precipitation, model, start=end, start_density=density)


def no_snow(precipitation: ArrayLike) -> SnowPack:
    """All of a precipitation [mm/h] as rain, shape (n,)."""
    rain = np.asarray(precipitation, dtype=np.float64)
    none = np.zeros(rain.size)
    return SnowPack(rain, none, none, none, none, none + SnowModel().settled_density)


def _density(
    before: FloatArray, snowfall: FloatArray, equivalent: FloatArray, model: SnowModel, value: float
) -> FloatArray:
    """Density of the pack [kg/m³]: it settles exponentially from ``value``, and new snow mixes in by volume."""
    keep = float(np.exp(-1.0 / model.settling_time))
    settled = model.settled_density
    density = np.full(snowfall.size, settled)
    for i in np.flatnonzero(equivalent > 0):
        held, new = float(before[i]), float(snowfall[i])
        value = settled + (value - settled) * keep if held > 0 else settled
        value = (held + new) / (held / value + new / model.fresh_density)
        density[i] = value
    return density


def snow_conductivity(density: ArrayLike) -> FloatArray:
    """Thermal conductivity of snow [W/(m K)] from its density [kg/m³].

    With r in g/cm³: 0.138 - 1.01 r + 3.233 r² from r = 0.156 up, 0.023 + 0.234 r below [1]_.

    References
    ----------
    .. [1] Sturm, Holmgren, König, Morris: The thermal conductivity of seasonal snow, J. Glaciology 43 (1997)
       26 (equations from memory, to be checked).

    Examples
    --------
    >>> round(float(snow_conductivity(300.0)), 5)
    0.12597
    """
    r = np.asarray(density, dtype=np.float64) / WATER_DENSITY
    return np.asarray(np.where(r < 0.156, 0.023 + 0.234 * r, 0.138 - 1.01 * r + 3.233 * r**2))


def snow_resistance(depth: ArrayLike, density: ArrayLike) -> FloatArray:
    """Thermal resistance of snow [m² K/W] from its depth [m] and density [kg/m³]."""
    return np.asarray(np.asarray(depth, dtype=np.float64) / snow_conductivity(density))


def hidden_share(depth: ArrayLike) -> FloatArray:
    """Share of the ground that snow of a depth [m] hides from the sun [-]."""
    return np.asarray(np.minimum(np.asarray(depth, dtype=np.float64) / FULL_COVER_DEPTH, 1.0))
