"""The written form of moisture functions: storage, liquid and vapour."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from stemwall.materials.schema_common import Fraction, NotNegative, Number, Points, Positive, Sourced, Spec


class SorptionSpec(Sourced):
    """Points over relative humidity [-], up to the content at zero suction [kg/m3]."""

    kind: Literal["sorption"]
    humidity: Points
    water: Points
    saturation: Positive
    filling: Positive = 1e4
    compressibility: Positive = 1e-9


class OpenPoresSpec(Sourced):
    """Foam or fibre: sorption points, then pores that fill around a suction `entry` [Pa]."""

    kind: Literal["open-pores"]
    humidity: Points
    water: Points
    saturation: Positive
    entry: Positive = 5e3
    compressibility: Positive = 1e-9


class VanGenuchtenSpec(Sourced):
    """Soil set: contents [m3/m3], alpha [1/m], n [-], air-entry head [m]."""

    kind: Literal["van-genuchten"]
    theta_r: NotNegative
    theta_s: Fraction
    alpha: Positive
    n: Annotated[float, Field(gt=1.0)]
    air_entry: NotNegative | None = None
    compressibility: Positive = 1e-8

    @model_validator(mode="after")
    def _order(self) -> "VanGenuchtenSpec":
        if self.theta_r >= self.theta_s:
            raise ValueError(f"theta_r below theta_s = {self.theta_s}")
        return self


class ModeSpec(Spec):
    """A pore class: share [-], alpha [1/Pa], n [-], m [-]."""

    weight: Fraction
    alpha: Positive
    n: Positive
    m: Positive | None = None

    @model_validator(mode="after")
    def _shape(self) -> "ModeSpec":
        if self.m is None and self.n <= 1.0:
            raise ValueError("n above 1, or m given")
        return self


class ModesSpec(Sourced):
    """Sum of van Genuchten modes in suction, contents [kg/m3]."""

    kind: Literal["modes"]
    saturation: Positive
    residual: NotNegative = 0.0
    modes: Annotated[list[ModeSpec], Field(min_length=1)]
    junction: Positive | None = 1.5e6
    compressibility: Positive = 1e-9

    @model_validator(mode="after")
    def _shares(self) -> "ModesSpec":
        if abs(sum(mode.weight for mode in self.modes) - 1.0) > 1e-6:
            raise ValueError("weights that add up to 1")
        if self.residual >= self.saturation:
            raise ValueError(f"residual below the saturation {self.saturation}")
        return self


class WoodSpec(Sourced):
    """Isotherm of wood, scaled for panels [-], and content at zero suction [kg/m3]."""

    kind: Literal["wood"]
    saturation: Positive
    scale: Positive = 1.0
    compressibility: Positive = 1e-9


class BendSpec(Sourced):
    """One-parameter isotherm through the content at 80 % RH [kg/m3]."""

    kind: Literal["b-function"]
    w80: Positive
    saturation: Positive
    compressibility: Positive = 1e-9


class TwoPointSpec(Sourced):
    """Contents at 50 and 80 % RH and at zero suction [kg/m3]."""

    kind: Literal["two-point"]
    w50: Positive
    w80: Positive
    saturation: Positive
    compressibility: Positive = 1e-9


class RetentionTableSpec(Sourced):
    """Points over suction [Pa], the first at zero; contents [kg/m3]."""

    kind: Literal["table"]
    suction: Points
    water: Points
    filling: Positive = 1e4
    compressibility: Positive = 1e-9


StorageSpec = Annotated[
    SorptionSpec
    | OpenPoresSpec
    | VanGenuchtenSpec
    | ModesSpec
    | WoodSpec
    | BendSpec
    | TwoPointSpec
    | RetentionTableSpec,
    Field(discriminator="kind"),
]


class NoLiquidSpec(Sourced):
    """No capillary flow."""

    kind: Literal["none"]


class MualemSpec(Sourced):
    """Saturated conductivity [m/s] with the shape of the van Genuchten storage."""

    kind: Literal["mualem"]
    saturated: Positive
    connectivity: Number = 0.5


class AbsorptionSpec(Sourced):
    """Water absorption coefficient [kg/(m2 s^0.5)]."""

    kind: Literal["absorption"]
    coefficient: Positive


class DiffusivitySpec(Sourced):
    """Constant moisture diffusivity [m2/s]."""

    kind: Literal["diffusivity"]
    value: Positive


class PolynomialSpec(Sourced):
    """ln K [s] as a polynomial of w - centre [kg/m3]."""

    kind: Literal["polynomial"]
    coefficients: Points
    centre: Number = 0.0


class GardnerSpec(Sourced):
    """Saturated conductivity [m/s] falling exponentially with head, alpha [1/m]."""

    kind: Literal["exponential"]
    saturated: Positive
    alpha: Positive


class LiquidTableSpec(Sourced):
    """Points of K [s] over suction [Pa]."""

    kind: Literal["table"]
    suction: Annotated[list[NotNegative], Field(min_length=2)]
    conductivity: Annotated[list[Positive], Field(min_length=2)]


LiquidSpec = Annotated[
    NoLiquidSpec
    | MualemSpec
    | AbsorptionSpec
    | DiffusivitySpec
    | PolynomialSpec
    | GardnerSpec
    | LiquidTableSpec,
    Field(discriminator="kind"),
]


class MuSpec(Sourced):
    """Constant resistance factor [-]."""

    kind: Literal["constant"]
    mu: Positive


class CupsSpec(Sourced):
    """Resistance factors [-]: mean of 0-50 % RH and mean of 50-95 % RH; power of humidity [-]."""

    kind: Literal["cups"]
    mu_dry: Positive
    mu_wet: Positive
    power: Positive = 4.0

    @model_validator(mode="after")
    def _order(self) -> "CupsSpec":
        if self.mu_wet > self.mu_dry:
            raise ValueError(f"mu_wet not above mu_dry = {self.mu_dry}")
        return self


class GasSpec(Sourced):
    """Gas diffusion in soil by its air content."""

    kind: Literal["millington-quirk"]


class AirFilledSpec(Sourced):
    """Dry permeability [kg/(m s Pa)] falling as the pores fill to saturation [kg/m3]."""

    kind: Literal["air-filled"]
    dry: Positive
    saturation: Positive
    shape: Fraction = 0.497


class VapourTableSpec(Sourced):
    """Points of permeability [kg/(m s Pa)] over relative humidity [-]."""

    kind: Literal["table"]
    humidity: Annotated[list[NotNegative], Field(min_length=2)]
    delta: Annotated[list[Positive], Field(min_length=2)]


VapourSpec = Annotated[
    MuSpec | CupsSpec | GasSpec | AirFilledSpec | VapourTableSpec, Field(discriminator="kind")
]
