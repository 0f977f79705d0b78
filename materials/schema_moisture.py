"""The written form of moisture functions: storage, liquid and vapour."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from stemwall.materials.described import described, required
from stemwall.materials.schema_common import Fraction, NotNegative, Number, Points, Positive, Sourced, Spec


class SorptionSpec(Sourced):
    """Points over relative humidity [-], up to the content at zero suction [kg/m3]."""

    kind: Literal["sorption"] = required("form of the storage: a sorption curve")
    humidity: Points = required("relative humidities of the points, rising, as shares")
    water: Points = required("water contents at these points in kg/m3")
    saturation: Positive = required("water content at zero suction in kg/m3")
    filling: Positive = described(
        1e4, "suction in Pa where capillary filling ends", "a plain choice of the interpolation"
    )
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class OpenPoresSpec(Sourced):
    """Foam or fibre: sorption points, then pores that fill around a suction `entry` [Pa]."""

    kind: Literal["open-pores"] = required("form of the storage: a sorption curve, then wide pores")
    humidity: Points = required("relative humidities of the points, rising, as shares")
    water: Points = required("water contents at these points in kg/m3")
    saturation: Positive = required("water content at zero suction in kg/m3")
    entry: Positive = described(5e3, "suction in Pa around which the wide pores fill", "a plain choice")
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class VanGenuchtenSpec(Sourced):
    """Soil set: contents [m3/m3], alpha [1/m], n [-], air-entry head [m]."""

    kind: Literal["van-genuchten"] = required("form of the storage: that of soil")
    theta_r: NotNegative = required("residual water content in m3/m3")
    theta_s: Fraction = required("water content at zero suction in m3/m3")
    alpha: Positive = required("inverse of the head scale in 1/m")
    n: Annotated[float, Field(gt=1.0)] = required("shape, above 1")
    air_entry: NotNegative | None = described(
        None, "head in m below which the pores are full; by default 0.02 m for n up to 1.31, else none"
    )
    compressibility: Positive = described(
        1e-8, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )

    @model_validator(mode="after")
    def _order(self) -> "VanGenuchtenSpec":
        if self.theta_r >= self.theta_s:
            raise ValueError(f"theta_r below theta_s = {self.theta_s}")
        return self


class ModeSpec(Spec):
    """A pore class: share [-], alpha [1/Pa], n [-], m [-]."""

    weight: Fraction = required("share of the pores in this class")
    alpha: Positive = required("inverse of the suction scale in 1/Pa")
    n: Positive = required("shape of the class")
    m: Positive | None = described(None, "second shape; by default 1 - 1/n")

    @model_validator(mode="after")
    def _shape(self) -> "ModeSpec":
        if self.m is None and self.n <= 1.0:
            raise ValueError("n above 1, or m given")
        return self


class ModesSpec(Sourced):
    """Sum of van Genuchten modes in suction, contents [kg/m3]."""

    kind: Literal["modes"] = required("form of the storage: classes of pores")
    saturation: Positive = required("water content at zero suction in kg/m3")
    residual: NotNegative = described(0.0, "water content that stays in kg/m3", "none")
    modes: Annotated[list[ModeSpec], Field(min_length=1)] = required("classes of pores, whose weights add up to 1")
    junction: Positive | None = described(
        1.5e6,
        "suction in Pa around which drying along a straight line begins",
        "wilting point of soil science, 1.5 MPa",
    )
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )

    @model_validator(mode="after")
    def _shares(self) -> "ModesSpec":
        if abs(sum(mode.weight for mode in self.modes) - 1.0) > 1e-6:
            raise ValueError("weights that add up to 1")
        if self.residual >= self.saturation:
            raise ValueError(f"residual below the saturation {self.saturation}")
        return self


class WoodSpec(Sourced):
    """Isotherm of wood, scaled for panels [-], and content at zero suction [kg/m3]."""

    kind: Literal["wood"] = required("form of the storage: the isotherm of wood")
    saturation: Positive = required("water content at zero suction in kg/m3")
    scale: Positive = described(1.0, "factor on the isotherm, for panels of wood", "solid wood")
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class BendSpec(Sourced):
    """One-parameter isotherm through the content at 80 % RH [kg/m3]."""

    kind: Literal["b-function"] = required("form of the storage: one parameter")
    w80: Positive = required("water content at 80 % relative humidity in kg/m3")
    saturation: Positive = required("water content at zero suction in kg/m3")
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class TwoPointSpec(Sourced):
    """Contents at 50 and 80 % RH and at zero suction [kg/m3]."""

    kind: Literal["two-point"] = required("form of the storage: two parameters")
    w50: Positive = required("water content at 50 % relative humidity in kg/m3")
    w80: Positive = required("water content at 80 % relative humidity in kg/m3")
    saturation: Positive = required("water content at zero suction in kg/m3")
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class RetentionTableSpec(Sourced):
    """Points over suction [Pa], the first at zero; contents [kg/m3]."""

    kind: Literal["table"] = required("form of the storage: points over suction")
    suction: Points = required("suctions of the points in Pa, rising from 0")
    water: Points = required("water contents at these points in kg/m3")
    filling: Positive = described(
        1e4, "suction in Pa where capillary filling ends", "a plain choice of the interpolation"
    )
    compressibility: Positive = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


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

    kind: Literal["none"] = required("no capillary flow")


class MualemSpec(Sourced):
    """Saturated conductivity [m/s] with the shape of the van Genuchten storage."""

    kind: Literal["mualem"] = required("form of the flow: that of the storage's pores")
    saturated: Positive = required("conductivity of full pores in m/s")
    connectivity: Number = described(0.5, "exponent of the connection of pores", "the usual value of soil physics")


class AbsorptionSpec(Sourced):
    """Water absorption coefficient [kg/(m2 s^0.5)]."""

    kind: Literal["absorption"] = required("form of the flow: from the absorption of water")
    coefficient: Positive = required("water absorption coefficient in kg/(m2 s^0.5)")


class DiffusivitySpec(Sourced):
    """Constant moisture diffusivity [m2/s]."""

    kind: Literal["diffusivity"] = required("form of the flow: a constant diffusivity")
    value: Positive = required("moisture diffusivity in m2/s")


class PolynomialSpec(Sourced):
    """ln K [s] as a polynomial of w - centre [kg/m3]."""

    kind: Literal["polynomial"] = required("form of the flow: ln K as a polynomial of water content")
    coefficients: Points = required("coefficients, the constant first; K in s, water content in kg/m3")
    centre: Number = described(0.0, "water content in kg/m3 that the polynomial counts from", "from zero")


class GardnerSpec(Sourced):
    """Saturated conductivity [m/s] falling exponentially with head, alpha [1/m]."""

    kind: Literal["exponential"] = required("form of the flow: falling exponentially with head")
    saturated: Positive = required("conductivity of full pores in m/s")
    alpha: Positive = required("fall with head in 1/m")


class LiquidTableSpec(Sourced):
    """Points of K [s] over suction [Pa]."""

    kind: Literal["table"] = required("form of the flow: points over suction")
    suction: Annotated[list[NotNegative], Field(min_length=2)] = required("suctions of the points in Pa, rising")
    conductivity: Annotated[list[Positive], Field(min_length=2)] = required("K at these in s")


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

    kind: Literal["constant"] = required("form of the permeability: a constant resistance factor")
    mu: Positive = required("resistance factor against still air")


class CupsSpec(Sourced):
    """Resistance factors [-]: mean of 0-50 % RH and mean of 50-95 % RH; power of humidity [-]."""

    kind: Literal["cups"] = required("form of the permeability: dry and wet cup")
    mu_dry: Positive = required("resistance factor, mean of 0 to 50 % relative humidity")
    mu_wet: Positive = required("resistance factor, mean of 50 to 95 % relative humidity")
    power: Positive = described(4.0, "power of relative humidity in between", "a plain choice")

    @model_validator(mode="after")
    def _order(self) -> "CupsSpec":
        if self.mu_wet > self.mu_dry:
            raise ValueError(f"mu_wet not above mu_dry = {self.mu_dry}")
        return self


class GasSpec(Sourced):
    """Gas diffusion in soil by its air content."""

    kind: Literal["millington-quirk"] = required("form of the permeability: gas in the air-filled pores of soil")


class AirFilledSpec(Sourced):
    """Dry permeability [kg/(m s Pa)] falling as the pores fill to saturation [kg/m3]."""

    kind: Literal["air-filled"] = required("form of the permeability: falling as pores fill")
    dry: Positive = required("dry permeability in kg/(m s Pa)")
    saturation: Positive = required("water content in kg/m3 of full pores")
    shape: Fraction = described(0.497, "shape of the fall", "EN 15026 Annex A (constants recalled)")


class VapourTableSpec(Sourced):
    """Points of permeability [kg/(m s Pa)] over relative humidity [-]."""

    kind: Literal["table"] = required("form of the permeability: points")
    humidity: Annotated[list[NotNegative], Field(min_length=2)] = required(
        "relative humidities of the points, rising, as shares"
    )
    delta: Annotated[list[Positive], Field(min_length=2)] = required("permeabilities at these in kg/(m s Pa)")


VapourSpec = Annotated[
    MuSpec | CupsSpec | GasSpec | AirFilledSpec | VapourTableSpec, Field(discriminator="kind")
]
