"""The written form of a material or a membrane, in a catalogue file or inline in a case.

A property is a table with its numbers and, beside them, `source`, `confidence`, `note`, `low` and
`high`. A single number may stand for a table with `value`.
"""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from stemwall.materials.material import Hatch, MouldClass
from stemwall.materials.schema_common import Fraction, NotNegative, Number, Positive, Scalar, Sourced, Spec
from stemwall.materials.schema_moisture import LiquidSpec, StorageSpec, VapourSpec


class ThermalSpec(Sourced):
    """Common part: growth with temperature, as a slope [W/(m K2)] at `mean` or as factors."""

    mean: Number = 10.0
    slope: Number | None = None
    temperature: list[Number] = Field(default_factory=list)
    factor: list[Positive] = Field(default_factory=list)

    @model_validator(mode="after")
    def _temperature(self) -> "ThermalSpec":
        if len(self.temperature) != len(self.factor) or len(self.temperature) == 1:
            raise ValueError("temperature and factor of the same length, at least 2")
        if self.slope is not None and self.temperature:
            raise ValueError("either slope or temperature and factor")
        return self


class LinearSpec(ThermalSpec):
    """dry [W/(m K)] + per_water [W m2/(K kg)] w."""

    kind: Literal["linear"]
    dry: Positive
    per_water: NotNegative = 0.0


class SupplementSpec(ThermalSpec):
    """Dry conductivity [W/(m K)] and a supplement per volume, mass or mass-per cent [-]."""

    kind: Literal["volume", "mass", "percent"]
    dry: Positive
    supplement: NotNegative
    ceiling: NotNegative = 0.0


class WoodConductivitySpec(ThermalSpec):
    """Wood: grain factor [-], dry value [W/(m K)] if not the formula's, growth [W/(m K)]."""

    kind: Literal["wood"]
    dry: Positive | None = None
    grain: Positive = 1.0
    per_moisture: Positive = 0.4064


class SoilConductivitySpec(ThermalSpec):
    """Soil: quartz fraction [-] or solids [W/(m K)]; chi [W/(m K)], eta, kappa [-]."""

    kind: Literal["soil"]
    quartz: Annotated[float, Field(ge=0.0, le=1.0)] | None = None
    solids: Positive | None = None
    chi: Positive
    eta: Positive
    kappa: Positive
    kappa_frozen: Positive | None = None

    @model_validator(mode="after")
    def _solids(self) -> "SoilConductivitySpec":
        if (self.quartz is None) == (self.solids is None):
            raise ValueError("one of quartz and solids")
        return self


class ConductivityTableSpec(ThermalSpec):
    """Points of lambda [W/(m K)] over water content [kg/m3]."""

    kind: Literal["table"]
    water: Annotated[list[NotNegative], Field(min_length=2)]
    value: Annotated[list[Positive], Field(min_length=2)]


ConductivitySpec = Annotated[
    LinearSpec | SupplementSpec | WoodConductivitySpec | SoilConductivitySpec | ConductivityTableSpec,
    Field(discriminator="kind"),
]


class SurfaceSpec(Sourced):
    """Solar absorptance and emissivity [-]."""

    absorptance: Fraction = 0.6
    emissivity: Fraction = 0.9


class FrostSpec(Sourced):
    """Critical degree of saturation [-] and soil group."""

    critical_saturation: Fraction | None = None
    group: str = ""


class MouldSpec(Sourced):
    """Sensitivity class."""

    value: MouldClass


class MaterialSpec(Spec):
    """A material."""

    name: str
    group: str = "user"
    hatch: Hatch = "board"
    note: str = ""
    density: Scalar
    specific_heat: Scalar
    porosity: Scalar | None = None
    storage: StorageSpec
    liquid: LiquidSpec | None = None
    vapour: VapourSpec
    conductivity: ConductivitySpec
    viscous: bool = True
    mould_class: MouldSpec | None = None
    surface: SurfaceSpec = SurfaceSpec()
    frost: FrostSpec = FrostSpec()


class PairSpec(Sourced):
    """Equivalent air layer thickness [m], dry and wet cup."""

    dry: NotNegative
    wet: NotNegative

    @model_validator(mode="after")
    def _order(self) -> "PairSpec":
        if self.wet > self.dry:
            raise ValueError(f"wet not above dry = {self.dry}")
        return self


class ResistanceSpec(Sourced):
    """Thermal resistance [m2 K/W]."""

    value: NotNegative


class MembraneSpec(Spec):
    """A membrane, marked by its vapour pair `sd`."""

    name: str
    group: str = "membrane"
    note: str = ""
    sd: PairSpec
    liquid: Literal["open", "break"]
    thickness: Positive | None = None
    thermal_resistance: ResistanceSpec | None = None
    mould_class: MouldSpec | None = None
