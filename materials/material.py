"""What a section is made of: materials that fill cells, and membranes that lie on faces."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from stemwall.materials.liquid import LiquidModel, NoLiquid
from stemwall.materials.storage import Storage
from stemwall.materials.thermal import ConductivityModel, SoilConductivity, TemperatureFactor
from stemwall.materials.vapour import VapourModel
from stemwall.materials.water import VAPOUR_EXPONENT, WATER_DENSITY, FloatArray

FROZEN_GAIN = 2.2 / 0.57
"""Conductivity of ice over that of water [-]."""
ICE_DENSITY = 917.0
"""[kg/m3]."""
Confidence = Literal["measured", "read", "read-secondary", "computed", "memory", "estimate", "unsourced"]
"""How far a number can be trusted: tested on the product itself, seen in the source, in a copy of it, derived,
recalled, guessed."""
Hatch = Literal["concrete", "masonry", "soil", "gravel", "sand", "insulation", "wood", "board", "flooring", "air"]
"""Pattern of a section drawing."""
MouldClass = Literal["VS", "S", "MR", "R"]
"""Very sensitive, sensitive, medium resistant, resistant."""


@dataclass(frozen=True)
class Provenance:
    """Where a property comes from.

    Parameters
    ----------
    source : str
        Identifier in the source register, or free text for a user's own data.
    confidence : Confidence
        Trust in the number.
    note : str
        Remarks.
    low, high : float or None
        Band, in the unit of the property.
    """

    source: str = ""
    confidence: Confidence = "unsourced"
    note: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Surface:
    """Radiative properties of an exposed face: solar absorptance and emissivity [-]."""

    absorptance: float = 0.6
    emissivity: float = 0.9


@dataclass(frozen=True)
class Frost:
    """Data of the frozen and the freezing state.

    Parameters
    ----------
    kappa_frozen : float or None
        Shape of the Kersten number when frozen [-].
    critical_saturation : float or None
        Degree of saturation above which frost damages [-].
    group : str
        Frost-susceptibility group of a soil.
    """

    kappa_frozen: float | None = None
    critical_saturation: float | None = None
    group: str = ""


@dataclass(frozen=True)
class Material:
    """A porous material: constants and functions of suction, water content and temperature.

    Parameters
    ----------
    id, name, group : str
        Identifier, trade name and catalogue group.
    density : float
        Dry density [kg/m3].
    specific_heat : float
        Of the dry material [J/(kg K)].
    storage : Storage
        Water content over suction.
    vapour : VapourModel
        Vapour permeability at 20 degC.
    conductivity : ConductivityModel
        Thermal conductivity over water content.
    liquid : LiquidModel
        Liquid conductivity at 20 degC.
    liquid_service : {"long-term", "short-term"} or None
        Which of two laws of liquid flow is in use; None where there is one.
    temperature : TemperatureFactor
        Factor on thermal conductivity.
    viscous : bool
        Whether liquid conductivity follows the viscosity of water.
    vapour_exponent : float
        delta(T) = delta(20 degC) (T / 293.15 K)^vapour_exponent.
    porosity : float or None
        Pore volume [m3/m3].
    mould_class : MouldClass or None
        Sensitivity to mould growth.
    surface : Surface
        Radiative properties.
    frost : Frost
        Frozen-state data.
    hatch : Hatch
        Pattern in drawings.
    along : Material or None
        The same wood along its grain: other transport, the same storage.
    provenance : mapping of str to Provenance
        By property name, and by ``property.number`` for each number.
    """

    id: str
    name: str
    group: str
    density: float
    specific_heat: float
    storage: Storage
    vapour: VapourModel
    conductivity: ConductivityModel
    liquid: LiquidModel = field(default_factory=NoLiquid)
    liquid_service: Literal["long-term", "short-term"] | None = None
    temperature: TemperatureFactor = field(default_factory=TemperatureFactor)
    viscous: bool = True
    vapour_exponent: float = VAPOUR_EXPONENT
    porosity: float | None = None
    mould_class: MouldClass | None = None
    surface: Surface = field(default_factory=Surface)
    frost: Frost = field(default_factory=Frost)
    hatch: Hatch = "board"
    along: "Material | None" = None
    provenance: Mapping[str, Provenance] = field(default_factory=dict)

    def water_content(self, suction: ArrayLike) -> FloatArray:
        """Water content w [kg/m3] at suctions [Pa]."""
        return self.storage.water(suction)

    def liquid_conductivity(self, suction: ArrayLike) -> FloatArray:
        """Liquid conductivity K at 20 degC [s] at suctions [Pa]."""
        return self.liquid.conductivity(np.asarray(suction, dtype=np.float64), self.storage)

    def vapour_permeability(self, suction: ArrayLike) -> FloatArray:
        """Vapour permeability at 20 degC [kg/(m s Pa)] at suctions [Pa]."""
        return self.vapour.permeability(np.asarray(suction, dtype=np.float64), self.storage)

    def thermal_conductivity(self, water: ArrayLike, temperature: ArrayLike | None = None) -> FloatArray:
        """Thermal conductivity [W/(m K)] at water contents [kg/m3] and, if given, temperatures [degC]."""
        value = self.conductivity.conductivity(np.asarray(water, dtype=np.float64))
        return value if temperature is None else np.asarray(value * self.temperature.factor(temperature))

    def frozen_conductivity(self, water: ArrayLike) -> FloatArray:
        """Thermal conductivity with all water frozen [W/(m K)] at water contents [kg/m3].

        Soils by their frozen Kersten number; elsewhere the part that moisture adds grows
        with the conductivity of ice over that of water, 2.2/0.57 (from memory, to be checked).
        """
        w = np.asarray(water, dtype=np.float64)
        if isinstance(self.conductivity, SoilConductivity) and self.frost.kappa_frozen is not None:
            return self.conductivity.frozen(w, self.frost.kappa_frozen)
        dry = self.conductivity.conductivity(np.zeros(1))
        ceiling = np.maximum(self.conductivity.conductivity(w), dry + 2.2 * w / ICE_DENSITY)
        return np.asarray(np.minimum(dry + FROZEN_GAIN * (self.conductivity.conductivity(w) - dry), ceiling))

    @property
    def has_liquid(self) -> bool:
        """Whether liquid can flow."""
        return not isinstance(self.liquid, NoLiquid)

    @property
    def heat_capacity(self) -> float:
        """Of the dry material, per volume [J/(m3 K)]."""
        return self.density * self.specific_heat

    @property
    def porosity_or_saturation(self) -> float:
        """Pore volume [m3/m3], from the saturated water content when not given."""
        return self.storage.saturation / WATER_DENSITY if self.porosity is None else self.porosity


@dataclass(frozen=True)
class MembraneProduct:
    """A layer too thin for cells: resistances on a face.

    Parameters
    ----------
    id, name, group : str
        Identifier, trade name and catalogue group.
    sd_dry, sd_wet : float
        Equivalent air layer thickness, dry cup and wet cup [m].
    liquid : {"open", "break"}
        Whether liquid passes.
    thermal_resistance : float
        [m2 K/W].
    thickness : float or None
        Of the tested specimen [m].
    mould_class : MouldClass or None
        Sensitivity to mould growth.
    provenance : mapping of str to Provenance
        By property name, and by ``property.number`` for each number.
    """

    id: str
    name: str
    group: str
    sd_dry: float
    sd_wet: float
    liquid: Literal["open", "break"]
    thermal_resistance: float = 0.0
    thickness: float | None = None
    mould_class: MouldClass | None = None
    provenance: Mapping[str, Provenance] = field(default_factory=dict)
