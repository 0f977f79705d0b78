"""Thermal conductivity over water content and temperature, and the heat capacity of wood.

Each model gives lambda(w) at its reference temperature; a `TemperatureFactor` scales it.

References
----------
.. [1] EN ISO 10456:2007: moisture conversion by f_psi and f_u.
.. [2] Forest Products Laboratory (2021), Wood Handbook, FPL-GTR-282, chapter 4, equation 4-15.
.. [3] Cote, J., Konrad, J.-M. (2005), Can. Geotech. J. 42, 443-458.
.. [4] Johansen, O. (1975), Thermal conductivity of soils, CRREL TL 637: lambda of the solids.
"""

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from stemwall.materials.interpolation import MonotoneCubic
from stemwall.materials.water import (
    AIR_CONDUCTIVITY,
    WATER_CONDUCTIVITY,
    WATER_DENSITY,
    FloatArray,
)

POOR_SOLIDS, CELL_GAS_CONDUCTIVITY = 0.05, 0.010
"""Least conductivity of solids (grains of foam glass) and of blowing agents in cells [W/(m K)] (estimates)."""
SOIL_WATER_CONDUCTIVITY = 0.57
ICE_CONDUCTIVITY = 2.2
"""Conductivity of water in the soil mixing rule [W/(m K)] [4]_."""


class ConductivityModel(Protocol):
    """Thermal conductivity over water content."""

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda at the reference temperature [W/(m K)] for water contents >= 0 [kg/m3]."""


@dataclass(frozen=True)
class LinearConductivity:
    """lambda = dry + slope w.

    Parameters
    ----------
    dry : float
        [W/(m K)].
    slope : float
        [W m2/(K kg)].
    """

    dry: float
    slope: float = 0.0

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda [W/(m K)]."""
        return np.asarray(self.dry + self.slope * water)


@dataclass(frozen=True)
class MoistConductivity:
    """Dry conductivity converted to moist material, bounded above.

    ``exponential-volume`` lambda = dry exp(f psi) [1]_; ``exponential-mass`` lambda = dry exp(f u) [1]_;
    ``linear-mass`` lambda = dry (1 + f u), f in per cent per mass-per cent. psi [m3/m3], u [kg/kg]. Beyond the
    moisture up to which the conversion was stated, water takes the place of air in parallel. The result does not exceed
    solids, water and air in parallel, nor dry material with water in place of air where that is more, and does
    not fall below solids, water and cell gas in series.

    Parameters
    ----------
    dry : float
        [W/(m K)].
    kind : {"exponential-volume", "exponential-mass", "linear-mass"}
        Form of the conversion.
    factor : float
        f [-].
    density : float
        Dry density [kg/m3].
    solids : float
        Conductivity of the solids [W/(m K)]; 0 where it is not known, and nothing but poor ones are assumed.
    porosity : float
        Pore volume [m3/m3].
    limit : float
        psi or u up to which the conversion was stated [-].
    service_water : float
        Water that years of wet service have left, beside the water content that is computed [kg/m3].
    """

    dry: float
    kind: Literal["exponential-volume", "exponential-mass", "linear-mass"]
    factor: float
    density: float
    solids: float = 0.0
    porosity: float = 1.0
    limit: float = np.inf
    service_water: float = 0.0

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda [W/(m K)]."""
        water = np.minimum(water + self.service_water, WATER_DENSITY * self.porosity)
        psi, per_water = (
            water / WATER_DENSITY,
            1.0 / (WATER_DENSITY if self.kind == "exponential-volume" else self.density),
        )
        moisture = np.minimum(water * per_water, self.limit)
        growth = 1.0 + self.factor * moisture if self.kind == "linear-mass" else np.exp(self.factor * moisture)
        replaced = WATER_CONDUCTIVITY - AIR_CONDUCTIVITY
        beyond = np.maximum(psi - self.limit / per_water / WATER_DENSITY, 0.0)
        air, matrix = np.maximum(self.porosity - psi, 0.0), 1.0 - self.porosity
        parallel = matrix * self.solids + psi * WATER_CONDUCTIVITY + air * AIR_CONDUCTIVITY
        resistance = psi / WATER_CONDUCTIVITY + air / CELL_GAS_CONDUCTIVITY
        series = 1.0 / (matrix / (self.solids or POOR_SOLIDS) + resistance)
        above = np.maximum(parallel, self.dry + psi * replaced)
        return np.asarray(np.maximum(np.minimum(self.dry * growth + beyond * replaced, above), series))


@dataclass(frozen=True)
class WoodConductivity:
    """lambda = grain [G (0.1941 + 0.4064 u) + 0.01864] [2]_, or from a given dry value.

    Valid to u = 0.25 (kg/kg); beyond, water adds in parallel.

    Parameters
    ----------
    density : float
        Dry density [kg/m3]; G = density / 1000.
    dry : float or None
        Dry conductivity replacing the formula's [W/(m K)].
    grain : float
        Factor on conductivity along the grain, 1.8 on average [-].
    per_moisture : float
        Growth per unit G and kg/kg [W/(m K)].
    """

    density: float
    dry: float | None = None
    grain: float = 1.0
    per_moisture: float = 0.4064

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda [W/(m K)]."""
        gravity, limit = self.density / WATER_DENSITY, 0.25 * self.density
        dry = self.grain * (0.1941 * gravity + 0.01864) if self.dry is None else self.dry
        slope = self.grain * self.per_moisture / WATER_DENSITY
        bound = (WATER_CONDUCTIVITY - AIR_CONDUCTIVITY) / WATER_DENSITY
        extra = np.maximum(water - limit, 0.0) * min(slope, bound)
        return np.asarray(dry + slope * np.minimum(water, limit) + extra)


@dataclass(frozen=True)
class SoilConductivity:
    """lambda = (lambda_sat - lambda_dry) kappa S / (1 + (kappa - 1) S) + lambda_dry [3]_.

    lambda_dry = chi 10^(-eta n), lambda_sat = lambda_solids^(1-n) 0.57^n.

    Parameters
    ----------
    porosity : float
        n [m3/m3].
    solids : float
        Conductivity of the solids [W/(m K)].
    chi : float
        [W/(m K)].
    eta, kappa : float
        [-].
    """

    porosity: float
    solids: float
    chi: float
    eta: float
    kappa: float

    @property
    def dry(self) -> float:
        """lambda_dry [W/(m K)]."""
        return float(self.chi * 10.0 ** (-self.eta * self.porosity))

    @property
    def saturated(self) -> float:
        """lambda_sat, unfrozen [W/(m K)]."""
        return float(self.solids ** (1.0 - self.porosity) * SOIL_WATER_CONDUCTIVITY**self.porosity)

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda [W/(m K)]."""
        s = np.clip(water / (WATER_DENSITY * self.porosity), 0.0, 1.0)
        kersten = self.kappa * s / (1.0 + (self.kappa - 1.0) * s)
        return np.asarray(self.dry + (self.saturated - self.dry) * kersten)

    def frozen(self, water: FloatArray, kappa: float) -> FloatArray:
        """lambda with all water frozen [W/(m K)], with the Kersten shape ``kappa`` of frozen soil [3]_."""
        s = np.clip(water / (WATER_DENSITY * self.porosity), 0.0, 1.0)
        kersten = kappa * s / (1.0 + (kappa - 1.0) * s)
        saturated = self.solids ** (1.0 - self.porosity) * ICE_CONDUCTIVITY**self.porosity
        return np.asarray(self.dry + (saturated - self.dry) * kersten)


def solids_conductivity(quartz: float) -> float:
    """Conductivity of soil solids [W/(m K)] from the quartz fraction [-] [4]_."""
    other = 2.0 if quartz > 0.2 else 3.0
    return float(7.7**quartz * other ** (1.0 - quartz))


@dataclass(frozen=True)
class TabulatedConductivity:
    """lambda through points over water content, monotone cubic, constant beyond the last.

    Parameters
    ----------
    waters : tuple of float
        Strictly increasing [kg/m3].
    values : tuple of float
        [W/(m K)].
    """

    waters: tuple[float, ...]
    values: tuple[float, ...]

    def conductivity(self, water: FloatArray) -> FloatArray:
        """lambda [W/(m K)]."""
        curve = MonotoneCubic(self.waters, self.values)
        return np.asarray(curve(np.clip(water, self.waters[0], self.waters[-1])))


@dataclass(frozen=True)
class TemperatureFactor:
    """Factor on conductivity through (temperature, factor) points, monotone cubic.

    Two points give a straight line. Beyond the points the factor is constant.

    Parameters
    ----------
    temperatures : tuple of float
        Strictly increasing [degC]; empty for no dependence.
    factors : tuple of float
        [-].
    """

    temperatures: tuple[float, ...] = ()
    factors: tuple[float, ...] = ()

    @classmethod
    def linear(cls, slope: float, dry: float, reference: float) -> "TemperatureFactor":
        """Straight line from -40 to 80 degC: slope [W/(m K2)] on dry lambda at a reference [degC]."""
        ends = (-40.0, 80.0)
        low, high = (1.0 + slope / dry * (end - reference) for end in ends)
        return cls(ends, (low, high))

    def factor(self, temperature: ArrayLike) -> FloatArray:
        """Factor on lambda [-] at temperatures [degC]."""
        t = np.asarray(temperature, dtype=np.float64)
        if not self.temperatures:
            return np.ones_like(t)
        curve = MonotoneCubic(self.temperatures, self.factors)
        return np.asarray(curve(np.clip(t, self.temperatures[0], self.temperatures[-1])))
