"""A laboratory sheet: what was tested, how, and what came out, one value for each specimen."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field, model_validator

from stemwall.cases.inputs.field_types import PRACTICE, Strict, described, required
from stemwall.cases.laboratory import kinds
from stemwall.materials.material import Hatch, MouldClass

STANDARD_CLIMATE = "23 degC and 50 % of EN ISO 12571, 12572 and 15148 (from memory, to be checked)"
_ID = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,59}$")


class Table(Strict):
    """A table of a sheet; `units` says in what unit its plain numbers are."""

    units: dict[str, str] = described(
        {}, 'unit of the plain numbers of a key, e.g. { water = "mass-%", time = "min" }; by default SI'
    )
    note: str = described("", "anything worth saying about this test")


class About(Strict):
    """What was tested, and where."""

    id: str = required("name of the material in case files: letters, digits, _ and -")
    name: str = required("name in words")
    kind: Literal["solid", "soil", "membrane"] = described("solid", "what it is", "a building material")
    laboratory: str = described("", "who tested, when, and the number of the report")
    like: str | None = described(
        None, "id of a catalogue material: it stands in where nothing was tested; by default stated assumptions do"
    )
    hatch: Hatch | None = described(None, "pattern in drawings, which also tells what kind of solid it is")
    mould_class: MouldClass | None = described(None, "sensitivity to mould growth; by default none is judged")
    scatter: kinds.Scatter = described(
        "5 %", "scatter between specimens that is assumed where one value alone was stated", PRACTICE
    )
    draws: kinds.Draws = described(1000, "how many times the fits are repeated with resampled scatter", PRACTICE)
    seed: int = described(1, "the same seed gives the same draws")

    @model_validator(mode="after")
    def _plain_id(self) -> About:
        if not _ID.match(self.id):
            raise ValueError("an id of letters, digits, _ and -, that begins with a letter")
        return self


class DensityTest(Table):
    """Dry density."""

    value: kinds.Densities = required("dry density, one value for each specimen")


class HeatTest(Table):
    """Specific heat."""

    value: kinds.Heats = required("specific heat of the dry material, one value for each specimen")


class PorosityTest(Table):
    """Open porosity."""

    value: kinds.Porosities = required("open porosity, one value for each specimen")


class SaturationTest(Table):
    """Water content at zero suction."""

    value: kinds.Waters = required("free (capillary) saturation; of a soil that at zero suction")


class SorptionTest(Table):
    """Equilibrium moisture content over humidity."""

    branch: Literal["adsorption", "desorption"] = described("adsorption", "from which side equilibrium was reached")
    temperature: kinds.Warmth = described("23 degC", "temperature of the test", STANDARD_CLIMATE)
    humidity: tuple[kinds.Humidity, ...] = required("relative humidities")
    water: kinds.WaterPoints = required("moisture content at each of them, a number or one for each specimen")

    @model_validator(mode="after")
    def _as_many(self) -> SorptionTest:
        _same(self.humidity, self.water, "humidity", "water")
        if not all(0.0 < value < 1.0 for value in self.humidity):
            raise ValueError("humidities above 0 and below 100 %")
        return self


class RetentionTest(Table):
    """Moisture content over suction: a pressure plate, a suction table."""

    suction: tuple[kinds.Suction, ...] = required("suctions; a length is a head of water")
    water: kinds.WaterPoints = required("moisture content at each of them, a number or one for each specimen")

    @model_validator(mode="after")
    def _as_many(self) -> RetentionTest:
        _same(self.suction, self.water, "suction", "water")
        return self


class CupTest(Table):
    """One kind of cup: humidities on both sides, and what passed, in any one of several forms."""

    low: kinds.Humidity = Field(alias="from", description="relative humidity on the dry side")
    high: kinds.Humidity = Field(alias="to", description="relative humidity on the wet side")
    temperature: kinds.Warmth = described("23 degC", "temperature of the test", STANDARD_CLIMATE)
    thickness: kinds.Thickness | None = described(
        None, "thickness of the specimens; for mu and permeability not needed"
    )
    mu: kinds.Mus | None = described(None, "vapour resistance factor against still air")
    sd: kinds.Sds | None = described(None, "or equivalent air-layer thickness")
    permeability: kinds.Permeabilities | None = described(None, "or permeability")
    permeance: kinds.Permeances | None = described(None, "or permeance")
    flow: kinds.VapourFlows | None = described(None, "or flow of vapour through the specimen in the steady state")
    mass: kinds.MassSeries | None = described(None, "or mass of each cup at the times of `time`")
    time: tuple[kinds.Time, ...] | None = described(None, "times of `mass`")
    area: kinds.Area | None = described(None, "area of the specimens, with mass")
    air_layer: kinds.AirLayer = described(
        0.0,
        "still air between the specimen and what keeps the humidity, not yet taken off",
        "corrected by the laboratory",
    )
    outer_film: kinds.AirLayer = described(
        0.0, "film of air outside, as still air of that thickness, not yet taken off", "corrected by the laboratory"
    )

    @model_validator(mode="after")
    def _one_form(self) -> CupTest:
        forms = [name for name in ("mu", "sd", "permeability", "permeance", "flow", "mass") if getattr(self, name)]
        if len(forms) != 1:
            raise ValueError("one of mu, sd, permeability, permeance, flow and mass")
        if self.low >= self.high:
            raise ValueError(f"from below to = {self.high}")
        if self.mass is not None:
            if self.time is None or self.area is None:
                raise ValueError("time and area with mass")
            for series in self.mass:
                _same(self.time, series, "time", "each series of mass")
        return self


class UptakeTest(Table):
    """Uptake of water by partial immersion: coefficients, or the mass of each specimen over time."""

    coefficient: kinds.Absorptions | None = described(None, "water absorption coefficient, one for each specimen")
    time: tuple[kinds.Time, ...] | None = described(None, "or times since the first contact")
    mass: kinds.MassSeries | None = described(None, "and the mass of each specimen at these, or its gain")
    area: kinds.Area | None = described(None, "wetted area of each specimen, with mass")
    height: kinds.Thickness | None = described(None, "height of the specimens: tells what they hold when full")
    start: kinds.Humidity = described("50 %", "relative humidity of the specimens before", STANDARD_CLIMATE)
    temperature: kinds.Warmth = described("23 degC", "temperature of the test", STANDARD_CLIMATE)

    @model_validator(mode="after")
    def _one_form(self) -> UptakeTest:
        if (self.coefficient is None) == (self.mass is None):
            raise ValueError("coefficient, or time with mass and area")
        if self.mass is not None:
            if self.time is None or self.area is None:
                raise ValueError("time and area with mass")
            for series in self.mass:
                _same(self.time, series, "time", "each series of mass")
            if len(self.time) < 4:
                raise ValueError("at least four times")
        return self


class DryingTest(Table):
    """Drying of wet specimens into air: compared with a simulation, not fitted."""

    time: tuple[kinds.Time, ...] = required("times since the start")
    mass: kinds.MassSeries = required("water left in each specimen, or its mass, at these")
    area: kinds.Area = required("area of one drying face of each specimen")
    thickness: kinds.Thickness = required("thickness of the specimens")
    faces: Literal[1, 2] = described(1, "faces that dry", "the others are sealed")
    humidity: kinds.Humidity = described("50 %", "relative humidity of the air", STANDARD_CLIMATE)
    temperature: kinds.Warmth = described("23 degC", "its temperature", STANDARD_CLIMATE)
    film: kinds.Film = described(2.5e-8, "vapour film coefficient", "still indoor air, common practice, no source")
    heat_film: kinds.HeatFilm = described(8.0, "heat film coefficient", "still indoor air, common practice, no source")
    start: kinds.Water | None = described(None, "moisture content at the start; by default free saturation")

    @model_validator(mode="after")
    def _as_many(self) -> DryingTest:
        for series in self.mass:
            _same(self.time, series, "time", "each series of mass")
        if len(self.time) < 3:
            raise ValueError("at least three times")
        return self


class ConductivityTest(Table):
    """Thermal conductivity at moistures, at one mean temperature."""

    temperature: kinds.Warmth = described("10 degC", "mean temperature", "usual of a test; common practice, no source")
    moisture: kinds.Waters = described([0.0], "moisture contents", "dry")
    value: kinds.ConductivityPoints = required("conductivity at each of them, a number or one for each specimen")

    @model_validator(mode="after")
    def _as_many(self) -> ConductivityTest:
        if len(self.moisture) == 1 and len(self.value) > 1:
            # a plain list at one moisture is one value for each specimen
            self.__dict__["value"] = (tuple(one for point in self.value for one in point),)
        _same(self.moisture, self.value, "moisture", "value")
        return self


class HydraulicTest(Table):
    """Hydraulic conductivity of full pores."""

    value: kinds.SaturatedFlows = required("hydraulic conductivity, one value for each specimen")


class MembraneTest(Table):
    """What a membrane is besides its cups."""

    liquid: Literal["open", "break"] = described("break", "whether liquid water passes", "most membranes stop it")
    thickness: kinds.Thickness | None = described(None, "thickness of the product")


class Sheet(Strict):
    """The sheet of one product."""

    about: Annotated[About, Field(alias="sheet", description="what was tested, and where")]
    density: DensityTest | None = described(None, "dry density")
    specific_heat: HeatTest | None = described(None, "specific heat")
    porosity: PorosityTest | None = described(None, "open porosity")
    saturation: SaturationTest | None = described(None, "free saturation")
    sorption: tuple[SorptionTest, ...] = described((), "equilibrium moisture over humidity")
    retention: tuple[RetentionTest, ...] = described((), "moisture over suction: pressure plate, suction table")
    cup: tuple[CupTest, ...] = described((), "vapour cups")
    uptake: tuple[UptakeTest, ...] = described((), "uptake of water")
    drying: tuple[DryingTest, ...] = described((), "drying")
    conductivity: tuple[ConductivityTest, ...] = described((), "thermal conductivity")
    hydraulic: HydraulicTest | None = described(None, "hydraulic conductivity of a soil")
    membrane: MembraneTest | None = described(None, "of a membrane")

    @model_validator(mode="after")
    def _needed(self) -> Sheet:
        if self.about.kind == "membrane":
            if not self.cup:
                raise ValueError("at least one [[cup]] of a membrane")
        elif self.density is None:
            raise ValueError("a table [density]: contents in mass-% and all else refer to it")
        elif not (self.sorption or self.retention) and self.about.like is None:
            raise ValueError("[[sorption]] or [[retention]], or like = the id of a catalogue material")
        elif not self.cup and self.about.like is None and self.about.kind == "solid":
            raise ValueError("a [[cup]], or like = the id of a catalogue material")
        elif not self.conductivity and self.about.like is None:
            raise ValueError("[[conductivity]], or like = the id of a catalogue material")
        return self


def _same(first: tuple[object, ...], second: tuple[object, ...], one: str, other: str) -> None:
    if len(first) != len(second):
        raise ValueError(f"{one} and {other} of the same length, not {len(first)} and {len(second)}")
