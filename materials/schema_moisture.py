"""The written form of moisture functions: storage, liquid and vapour."""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from stemwall.materials.described import described, required
from stemwall.materials.kinds import (
    Absorption,
    AirEntry,
    Coefficient,
    Compressibility,
    Connectivity,
    CupTemperature,
    Factor,
    Filling,
    LiquidK,
    ModeShape,
    MoistureDiffusivity,
    Mu,
    PerHead,
    Permeability,
    Permeance,
    PerSuction,
    PointHumidity,
    PointSuction,
    PositiveShare,
    Power,
    Saturated,
    Saturation,
    Shape,
    Share,
    Sorbed50,
    Sorbed80,
    Specimen,
    Water,
)
from stemwall.materials.schema_common import Sourced, Spec

HumidityPoints = Annotated[list[PointHumidity], Field(min_length=1)]
WaterPoints = Annotated[list[Water], Field(min_length=1)]
SuctionPoints = Annotated[list[PointSuction], Field(min_length=1)]
Coefficients = Annotated[list[Coefficient], Field(min_length=1)]


class SorptionSpec(Sourced):
    """Points over relative humidity [-], up to the content at zero suction [kg/m3]."""

    PRINCIPAL = "scale"

    kind: Literal["sorption"] = required("form of the storage: a sorption curve")
    humidity: HumidityPoints = required("relative humidities of the points, rising, as shares")
    water: WaterPoints = required("water contents at these points in kg/m3")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    filling: Filling = described(
        1e4, "suction in Pa where capillary filling ends", "a plain choice of the interpolation"
    )
    scale: Factor = described(
        1.0, "factor on these water contents, fading out towards saturation, for studies of their spread", "as stated"
    )
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class OpenPoresSpec(Sourced):
    """Foam or fibre: sorption points, then pores that fill around a suction `entry` [Pa]."""

    PRINCIPAL = "scale"

    kind: Literal["open-pores"] = required("form of the storage: a sorption curve, then wide pores")
    humidity: HumidityPoints = required("relative humidities of the points, rising, as shares")
    water: WaterPoints = required("water contents at these points in kg/m3")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    entry: Filling = described(5e3, "suction in Pa around which the wide pores fill", "a plain choice")
    scale: Factor = described(
        1.0, "factor on these water contents, fading out towards saturation, for studies of their spread", "as stated"
    )
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class ClosedCellsSpec(Sourced):
    """Closed cells: sorption points, then cut surface cells that fill around a suction `entry` [Pa] to a limit.

    `limit` is what lasting immersion leaves in the whole board [kg/m3]. Cells inside take more only as vapour
    condenses in them; `compressibility` [1/Pa] is how much for the pressure this builds.
    """

    PRINCIPAL = "limit"

    kind: Literal["closed-cells"] = required("form of the storage: a sorption curve, then cut cells at the surface")
    humidity: HumidityPoints = required("relative humidities of the points, rising, as shares")
    water: WaterPoints = required("water contents at these points in kg/m3")
    limit: Water = required("water content in kg/m3 that lasting immersion leaves")
    entry: Filling = described(2e2, "suction in Pa around which cut cells fill", "cells of 0.7 mm; a plain choice")
    scale: Factor = described(
        1.0, "factor on these water contents, fading out towards saturation, for studies of their spread", "as stated"
    )
    compressibility: Compressibility = described(
        1e-7, "water that condenses into cells, per pressure it builds, in 1/Pa", "diffusion tests of foam boards"
    )

    @model_validator(mode="after")
    def _order(self) -> "ClosedCellsSpec":
        if self.limit <= self.water[-1]:
            raise ValueError(f"limit above the last sorption point, {self.water[-1]:g} kg/m3")
        return self


class VanGenuchtenSpec(Sourced):
    """Soil set: contents [m3/m3], alpha [1/m], n [-], air-entry head [m]."""

    PRINCIPAL = "alpha"

    kind: Literal["van-genuchten"] = required("form of the storage: that of soil")
    theta_r: Share = required("residual water content in m3/m3")
    theta_s: PositiveShare = required("water content at zero suction in m3/m3")
    alpha: PerHead = required("inverse of the head scale in 1/m")
    n: Shape = required("shape, above 1")
    air_entry: AirEntry | None = described(
        None, "head in m below which the pores are full; by default 0.02 m for n up to 1.31, else none"
    )
    compressibility: Compressibility = described(
        1e-8, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )

    @model_validator(mode="after")
    def _order(self) -> "VanGenuchtenSpec":
        if self.theta_r >= self.theta_s:
            raise ValueError(f"theta_r below theta_s = {self.theta_s}")
        return self


class ModeSpec(Spec):
    """A pore class: share [-], alpha [1/Pa], n [-], m [-]."""

    weight: PositiveShare = required("share of the pores in this class")
    alpha: PerSuction = required("inverse of the suction scale in 1/Pa")
    n: ModeShape = required("shape of the class")
    m: ModeShape | None = described(None, "second shape; by default 1 - 1/n")

    @model_validator(mode="after")
    def _shape(self) -> "ModeSpec":
        if self.m is None and self.n <= 1.0:
            raise ValueError("n above 1, or m given")
        return self


class ModesSpec(Sourced):
    """Sum of van Genuchten modes in suction, contents [kg/m3]."""

    PRINCIPAL = "saturation"

    kind: Literal["multimodal"] = required("form of the storage: classes of pores")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    residual: Water = described(0.0, "water content that stays in kg/m3", "none")
    modes: Annotated[list[ModeSpec], Field(min_length=1)] = required("classes of pores, whose weights add up to 1")
    junction: Filling | None = described(
        1.5e6,
        "suction in Pa around which drying along a straight line begins",
        "wilting point of soil science, 1.5 MPa",
    )
    compressibility: Compressibility = described(
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

    PRINCIPAL = "scale"

    kind: Literal["wood"] = required("form of the storage: the isotherm of wood")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    scale: Factor = described(1.0, "factor on the isotherm, for panels of wood", "solid wood")
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class HyperbolaSpec(Sourced):
    """A hyperbola from zero through the contents at 80 % RH and at zero suction [kg/m3]."""

    PRINCIPAL = "water_80"

    kind: Literal["hyperbola"] = required("form of the storage: a hyperbola through two points")
    water_80: Sorbed80 = required("water content at 80 % relative humidity in kg/m3")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class PowerHyperbolaSpec(Sourced):
    """Contents at 50 and 80 % RH and at zero suction [kg/m3]: a power law to 80 % RH, then the hyperbola."""

    PRINCIPAL = "water_80"

    kind: Literal["power-hyperbola"] = required("form of the storage: a power law, then a hyperbola")
    water_50: Sorbed50 = required("water content at 50 % relative humidity in kg/m3")
    water_80: Sorbed80 = required("water content at 80 % relative humidity in kg/m3")
    saturation: Saturation = required("water content at zero suction in kg/m3")
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


class RetentionTableSpec(Sourced):
    """Points over suction [Pa], the first at zero; contents [kg/m3]."""

    PRINCIPAL = "scale"

    kind: Literal["table"] = required("form of the storage: points over suction")
    suction: SuctionPoints = required("suctions of the points in Pa, rising from 0")
    water: WaterPoints = required("water contents at these points in kg/m3")
    filling: Filling = described(
        1e4, "suction in Pa where capillary filling ends", "a plain choice of the interpolation"
    )
    scale: Factor = described(
        1.0, "factor on these water contents, fading out towards saturation, for studies of their spread", "as stated"
    )
    compressibility: Compressibility = described(
        1e-9, "elastic storage under pressure in 1/Pa", "in pores that are full; small against what they hold"
    )


StorageSpec = Annotated[
    SorptionSpec
    | OpenPoresSpec
    | ClosedCellsSpec
    | VanGenuchtenSpec
    | ModesSpec
    | WoodSpec
    | HyperbolaSpec
    | PowerHyperbolaSpec
    | RetentionTableSpec,
    Field(discriminator="kind"),
]


class NoLiquidSpec(Sourced):
    """No capillary flow."""

    kind: Literal["none"] = required("no capillary flow")


class MualemSpec(Sourced):
    """Saturated conductivity [m/s] with the shape of the van Genuchten storage."""

    PRINCIPAL = "saturated"

    kind: Literal["mualem"] = required("form of the flow: that of the storage's pores")
    saturated: Saturated = required("conductivity of full pores in m/s")
    connectivity: Connectivity = described(
        0.5, "exponent of the connection of pores", "the usual value of soil physics"
    )


class LongTermSpec(Sourced):
    """Cement-bound material in lasting contact with water: K_s [m/s], halved at a suction `entry` [Pa]."""

    PRINCIPAL = "saturated"

    saturated: Saturated = required("hydraulic conductivity K_s in m/s of a long test under pressure")
    entry: Filling = required("suction in Pa at which the conductivity has fallen to one half")


class AbsorptionSpec(Sourced):
    """Water absorption coefficient [kg/(m2 s^0.5)], from 50 % RH at 23 degC.

    Cement-bound materials have a second law, `long_term`; `service` says which is in use: "long-term" in
    lasting contact with soil or water, "short-term" for hours to days of rain on a fresh face.
    """

    PRINCIPAL = "coefficient"

    kind: Literal["absorption"] = required("form of the flow: from the absorption of water")
    coefficient: Absorption = required("water absorption coefficient in kg/(m2 s^0.5), from 50 % RH at 23 degC")
    service: Literal["long-term", "short-term"] | None = described(
        None,
        "law of liquid flow in use: long-term in lasting contact with water, short-term for days of rain",
        "long-term where there is a table long_term",
    )
    long_term: LongTermSpec | None = described(None, "second law of liquid flow, that of lasting contact")

    @model_validator(mode="after")
    def _laws(self) -> "AbsorptionSpec":
        if self.service == "long-term" and self.long_term is None:
            raise ValueError("a table long_term to go with service = 'long-term'")
        return self

    @property
    def law(self) -> Literal["long-term", "short-term"] | None:
        """The law in use: the long-term one where there is one and nothing else is said; None if there is no choice."""
        return None if self.long_term is None else self.service or "long-term"


class DiffusivitySpec(Sourced):
    """Constant moisture diffusivity [m2/s]."""

    kind: Literal["diffusivity"] = required("form of the flow: a constant diffusivity")
    value: MoistureDiffusivity = required("moisture diffusivity in m2/s")


class PolynomialSpec(Sourced):
    """ln K [s] as a polynomial of w - centre [kg/m3]."""

    kind: Literal["polynomial"] = required("form of the flow: ln K as a polynomial of water content")
    coefficients: Coefficients = required("coefficients, the constant first; K in s, water content in kg/m3")
    centre: Water = described(0.0, "water content in kg/m3 that the polynomial counts from", "from zero")


class GardnerSpec(Sourced):
    """Saturated conductivity [m/s] falling exponentially with head, alpha [1/m]."""

    PRINCIPAL = "saturated"

    kind: Literal["exponential"] = required("form of the flow: falling exponentially with head")
    saturated: Saturated = required("conductivity of full pores in m/s")
    alpha: PerHead = required("fall with head in 1/m")


class LiquidTableSpec(Sourced):
    """Points of K [s] over suction [Pa]."""

    kind: Literal["table"] = required("form of the flow: points over suction")
    suction: Annotated[list[PointSuction], Field(min_length=2)] = required("suctions of the points in Pa, rising")
    conductivity: Annotated[list[LiquidK], Field(min_length=2)] = required("K at these in s")


LiquidSpec = Annotated[
    NoLiquidSpec | MualemSpec | AbsorptionSpec | DiffusivitySpec | PolynomialSpec | GardnerSpec | LiquidTableSpec,
    Field(discriminator="kind"),
]


class MuSpec(Sourced):
    """Constant resistance factor [-]."""

    PRINCIPAL = "mu"

    kind: Literal["constant"] = required("form of the permeability: a constant resistance factor")
    mu: Mu = required("resistance factor against still air")


class CupSpec(Spec):
    """One cup: humidities on both sides [-], temperature [degC], and mu [-] or permeance and thickness.

    A permeance is in kg/(m2 s Pa), with the thickness of the specimen in m.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    low: Annotated[PointHumidity, Field(alias="from", description="relative humidity on the dry side, a share")]
    high: Annotated[PointHumidity, Field(alias="to", description="relative humidity on the wet side, a share")]
    mu: Mu | None = described(None, "resistance factor, mean of that range")
    permeance: Permeance | None = described(None, "in place of it, permeance of the specimen in kg/(m2 s Pa)")
    thickness: Specimen | None = described(None, "its thickness in m")
    temperature: CupTemperature = described(23.0, "temperature in degC", "EN ISO 12572")

    @model_validator(mode="after")
    def _one(self) -> "CupSpec":
        if self.low >= self.high:
            raise ValueError(f"from below to = {self.high}")
        if (self.mu is None) == (self.permeance is None) or (self.permeance is None) != (self.thickness is None):
            raise ValueError("mu, or permeance with thickness")
        return self


class CupsSpec(Sourced):
    """Cup tests: any number of `cups`, or the pair mu_dry of 0-50 % RH and mu_wet of 50-93 % RH at 23 degC [-].

    Two cups are joined by a `power` of humidity [-]; more bend as little as they can from such a law.
    """

    PRINCIPAL = "mu_dry"

    kind: Literal["cups"] = required("form of the permeability: through cup tests")
    mu_dry: Mu | None = described(None, "resistance factor of the dry cup, mean of 0 to 50 % relative humidity")
    mu_wet: Mu | None = described(None, "resistance factor of the wet cup, mean of 50 to 93 % relative humidity")
    cups: list[CupSpec] = described([], "in place of this pair, any number of cup tests")
    power: Power = described(4.0, "power of relative humidity in between", "a plain choice")
    scale: Factor = described(1.0, "factor on all resistance factors, for studies of their spread", "as stated")

    @model_validator(mode="after")
    def _order(self) -> "CupsSpec":
        pair = self.mu_dry is not None and self.mu_wet is not None
        if pair == bool(self.cups) or (self.mu_dry is None) != (self.mu_wet is None):
            raise ValueError("both mu_dry and mu_wet, or a list of cups")
        if self.mu_dry is not None and self.mu_wet is not None and self.mu_wet > self.mu_dry:
            raise ValueError(f"mu_wet not above mu_dry = {self.mu_dry}")
        return self


class GasSpec(Sourced):
    """Gas diffusion in soil by its air content."""

    kind: Literal["millington-quirk"] = required("form of the permeability: gas in the air-filled pores of soil")


class AirFilledSpec(Sourced):
    """Dry permeability [kg/(m s Pa)] falling as the pores fill to saturation [kg/m3]."""

    PRINCIPAL = "dry"

    kind: Literal["air-filled"] = required("form of the permeability: falling as pores fill")
    dry: Permeability = required("dry permeability in kg/(m s Pa)")
    saturation: Saturation = required("water content in kg/m3 of full pores")
    shape: PositiveShare = described(0.497, "shape of the fall", "EN 15026 Annex A (constants recalled)")


class VapourTableSpec(Sourced):
    """Points of permeability [kg/(m s Pa)] over relative humidity [-]."""

    kind: Literal["table"] = required("form of the permeability: points")
    humidity: Annotated[list[PointHumidity], Field(min_length=2)] = required(
        "relative humidities of the points, rising, as shares"
    )
    delta: Annotated[list[Permeability], Field(min_length=2)] = required("permeabilities at these in kg/(m s Pa)")


VapourSpec = Annotated[MuSpec | CupsSpec | GasSpec | AirFilledSpec | VapourTableSpec, Field(discriminator="kind")]
