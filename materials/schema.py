"""The written form of a material or a membrane, in a catalogue file or inline in a case.

A property is a table with its numbers and, beside them, `source`, `confidence`, `note`, `low` and
`high`. A single number may stand for a table with `value`.
"""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from stemwall.materials.described import described, required
from stemwall.materials.kinds import (
    Chi,
    Conductivity,
    Conversion,
    Exponent,
    Factor,
    Kappa,
    Mean,
    MoistureLimit,
    PerMoisture,
    PerWater,
    PointWarmth,
    PositiveShare,
    Resistance,
    Sd,
    Share,
    Slope,
    Solids,
    Thickness,
    Water,
)
from stemwall.materials.material import Hatch, MouldClass
from stemwall.materials.schema_common import DensityTable, PorosityTable, Sourced, Spec, SpecificHeatTable
from stemwall.materials.schema_moisture import LiquidSpec, StorageSpec, VapourSpec


class ThermalSpec(Sourced):
    """Common part: growth with temperature, as a slope [W/(m K2)] at `mean` or as factors."""

    PRINCIPAL = "dry"

    mean: Mean = described(
        10.0,
        "temperature in degC at which the conductivity is stated",
        "usual mean temperature of a test; common practice, no source",
    )
    slope: Slope | None = described(
        None, "growth of the conductivity with temperature in W/(m K2); instead of temperature and factor"
    )
    temperature: list[PointWarmth] = Field(
        default_factory=list,
        description="temperatures in degC of the factors, rising",
        json_schema_extra={"reason": "no dependence"},
    )
    factor: list[Factor] = Field(
        default_factory=list,
        description="factors on the conductivity at these temperatures",
        json_schema_extra={"reason": "no dependence"},
    )

    @model_validator(mode="after")
    def _temperature(self) -> "ThermalSpec":
        if len(self.temperature) != len(self.factor) or len(self.temperature) == 1:
            raise ValueError("temperature and factor of the same length, at least 2")
        if self.slope is not None and self.temperature:
            raise ValueError("either slope or temperature and factor")
        return self


class LinearSpec(ThermalSpec):
    """dry [W/(m K)] + per_water [W m2/(K kg)] w."""

    kind: Literal["linear"] = required("form of the conductivity over water content")
    dry: Conductivity = required("dry conductivity in W/(m K)")
    per_water: PerWater = described(0.0, "growth in W m2/(K kg), per kg/m3 of water", "no dependence")


class ConversionSpec(ThermalSpec):
    """Dry conductivity [W/(m K)] and its conversion to moist material [-].

    `solids` is the conductivity of the solids that bounds it [W/(m K)], `limit` the moisture up to which the
    conversion is stated [m3/m3] or [kg/kg], `service_water` what years of wet service have left [kg/m3].
    """

    kind: Literal["exponential-volume", "exponential-mass", "linear-mass"] = required(
        "form: exp(f psi) over volume, exp(f u) over mass (EN ISO 10456), or 1 + f u linear in mass"
    )
    dry: Conductivity = required("dry conductivity in W/(m K)")
    conversion: Conversion = required("moisture conversion coefficient f")
    solids: Solids | None = described(
        None,
        "conductivity of the solids in W/(m K), that with water and air in parallel bounds wet material",
        "not known: water beside dry material bounds it",
    )
    limit: MoistureLimit | None = described(
        None, "moisture up to which it was stated, in m3/m3 over volume, else kg/kg; beyond, water replaces air"
    )
    service_water: Water = described(
        0.0,
        "water in kg/m3 that years of wet service have left, counted by conductivity beside what is computed",
        "drained, as tested",
    )


class WoodConductivitySpec(ThermalSpec):
    """Wood: grain factor [-], dry value [W/(m K)] if not the formula's, growth [W/(m K)]."""

    PRINCIPAL = "grain"

    kind: Literal["wood"] = required("form of the conductivity: that of wood")
    dry: Conductivity | None = described(None, "dry conductivity in W/(m K); by default from the density")
    grain: Factor = described(1.0, "factor for heat along or across the grain", "across")
    per_moisture: PerMoisture = described(
        0.4064,
        "growth in W/(m K) per unit of specific gravity and kg/kg",
        "formula of wood handbooks, see materials/thermal.py",
    )


class SoilConductivitySpec(ThermalSpec):
    """Soil: quartz fraction [-] or solids [W/(m K)]; chi [W/(m K)], eta, kappa [-]."""

    PRINCIPAL = "quartz"

    kind: Literal["soil"] = required("form of the conductivity: that of soil")
    quartz: Share | None = described(None, "share of quartz in the solids; instead of solids")
    solids: Solids | None = described(None, "conductivity of the solids in W/(m K); instead of quartz")
    chi: Chi = required("constant of the dry conductivity in W/(m K)")
    eta: Exponent = required("exponent of the dry conductivity on porosity")
    kappa: Kappa = required("shape of the growth with saturation, unfrozen")
    kappa_frozen: Kappa | None = described(None, "the same, frozen; by default as unfrozen")

    @model_validator(mode="after")
    def _solids(self) -> "SoilConductivitySpec":
        if (self.quartz is None) == (self.solids is None):
            raise ValueError("one of quartz and solids")
        return self


class ConductivityTableSpec(ThermalSpec):
    """Points of lambda [W/(m K)] over water content [kg/m3]."""

    PRINCIPAL = "scale"

    kind: Literal["table"] = required("form of the conductivity: points")
    water: Annotated[list[Water], Field(min_length=2)] = required("water contents of the points in kg/m3, rising")
    value: Annotated[list[Conductivity], Field(min_length=2)] = required("conductivities at these in W/(m K)")
    scale: Factor = described(1.0, "factor on these conductivities, for studies of their spread", "as stated")


ConductivitySpec = Annotated[
    LinearSpec | ConversionSpec | WoodConductivitySpec | SoilConductivitySpec | ConductivityTableSpec,
    Field(discriminator="kind"),
]


class SurfaceSpec(Sourced):
    """Solar absorptance and emissivity [-]."""

    PRINCIPAL = "absorptance"

    absorptance: PositiveShare = described(0.6, "share of the sun absorbed", "common practice, no source")
    emissivity: PositiveShare = described(0.9, "longwave emissivity", "common practice, no source")


class FrostSpec(Sourced):
    """Critical degree of saturation [-] and soil group."""

    PRINCIPAL = "critical_saturation"

    critical_saturation: PositiveShare | None = described(
        None, "degree of saturation above which frost damages, as a share; by default none is judged"
    )
    group: str = described("", "susceptibility group of a soil to frost")


class MouldSpec(Sourced):
    """Sensitivity class."""

    value: MouldClass = required("VS very sensitive, S sensitive, MR medium resistant, R resistant")


class AlongSpec(Spec):
    """Wood along the grain; what is not said is as across."""

    liquid: LiquidSpec | None = described(None, "capillary flow along the grain; by default as across")
    vapour: VapourSpec | None = described(None, "vapour permeability along the grain; by default as across")
    conductivity: ConductivitySpec | None = described(
        None, "thermal conductivity along the grain; by default as across"
    )


class MaterialSpec(Spec):
    """A material."""

    name: str = required("name in words")
    group: str = described("user", "where lists show it", "a material of this case")
    hatch: Hatch = described("board", "pattern in drawings", "a plain choice")
    note: str = described("", "anything worth saying about it")
    density: DensityTable = required("dry density in kg/m3")
    specific_heat: SpecificHeatTable = required("specific heat of the dry material in J/(kg K)")
    porosity: PorosityTable | None = described(
        None, "pore volume as a share; by default from the water content at zero suction"
    )
    storage: StorageSpec = required("water content over suction or relative humidity")
    liquid: LiquidSpec | None = described(None, "capillary flow; by default none")
    vapour: VapourSpec = required("vapour permeability")
    conductivity: ConductivitySpec = required("thermal conductivity")
    along: AlongSpec | None = described(
        None, "transport along the grain of wood, in regions that state a direction of grain; by default as across"
    )
    viscous: bool = described(
        True, "whether liquid flow follows the viscosity of water as temperature changes", "as water does"
    )
    mould_class: MouldSpec | None = described(None, "sensitivity to mould growth; by default none is judged")
    surface: SurfaceSpec = described(SurfaceSpec(), "how an exposed face takes up sun and radiates")
    frost: FrostSpec = described(FrostSpec(), "what frost does to it")


class PairSpec(Sourced):
    """Equivalent air layer thickness [m], dry and wet cup."""

    PRINCIPAL = "dry"

    dry: Sd = required("equivalent air-layer thickness in m at low humidity (dry cup)")
    wet: Sd = required("the same at high humidity (wet cup); not above dry")
    scale: Factor = described(1.0, "factor on both, for studies of their spread", "as stated")

    @model_validator(mode="after")
    def _order(self) -> "PairSpec":
        if self.wet > self.dry:
            raise ValueError(f"wet not above dry = {self.dry}")
        return self


class ResistanceSpec(Sourced):
    """Thermal resistance [m2 K/W]."""

    value: Resistance = required("thermal resistance in m2 K/W")


class MembraneSpec(Spec):
    """A membrane, marked by its vapour pair `sd`."""

    name: str = required("name in words")
    group: str = described("membrane", "where lists show it", "a membrane")
    note: str = described("", "anything worth saying about it")
    sd: PairSpec = required("equivalent air-layer thickness of dry and wet cup; marks a membrane")
    liquid: Literal["open", "break"] = required("whether liquid water passes")
    thickness: Thickness | None = described(None, "thickness in m, for information")
    thermal_resistance: ResistanceSpec | None = described(None, "thermal resistance; by default none")
    mould_class: MouldSpec | None = described(None, "sensitivity to mould growth; by default none is judged")
