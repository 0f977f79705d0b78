"""The case: everything that a run is asked to do, read from one TOML file.

A case draws its section either from a parametric ``[detail]`` or from
free-form tables (``[bounds]``, ``[[region]]``, ``[[opening]]``, ...).
"""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, PrivateAttr, model_validator

from stemwall.cases.details.basement import Basement, FormedBasement
from stemwall.cases.details.crawlspace import Crawlspace, VentedCrawlspace
from stemwall.cases.details.freeform import (
    Bounds,
    DrainTable,
    EdgeTable,
    FinishTable,
    MembraneTable,
    OpeningTable,
    ProbeTable,
    RegionTable,
)
from stemwall.cases.details.slab import SlabOnGrade
from stemwall.cases.inputs.dates import LAST_YEAR, Moment
from stemwall.cases.inputs.field_types import PRACTICE, Name, SpaceName, Strict, described
from stemwall.cases.inputs.input_errors import Problem
from stemwall.cases.inputs.quantities import (
    SETTLING,
    Cells,
    CoarsestCell,
    Duration,
    FinestCell,
    Growth,
    Humidity,
    IndoorTemperature,
    LongestStep,
    ResolvedTime,
    SettledShare,
    SettledTemperature,
    SettleMost,
    ShareError,
    ShortestStep,
    Suction,
    TemperatureError,
    Years,
)
from stemwall.cases.section.construction_moisture import StartMoisture
from stemwall.cases.surroundings.air_path import AirPathTable
from stemwall.cases.surroundings.air_zone import ZoneTable
from stemwall.cases.surroundings.indoor_air import Air
from stemwall.cases.surroundings.site import Site
from stemwall.cases.surroundings.spaces import unstated
from stemwall.cases.surroundings.water_events import FloodTable, LeakTable
from stemwall.cases.surroundings.weather_choice import WeatherChoice
from stemwall.cases.surroundings.without import Without
from stemwall.materials.ranges import Quantity
from stemwall.solver.model.settings import Accuracy, SpinUp

Detail = Annotated[Crawlspace | VentedCrawlspace | Basement | FormedBasement | SlabOnGrade, Field(discriminator="kind")]
AnyDetail = type[Crawlspace] | type[VentedCrawlspace] | type[Basement] | type[FormedBasement] | type[SlabOnGrade]
DETAILS: dict[str, AnyDetail] = {
    "conditioned crawlspace": Crawlspace,
    "vented crawlspace": VentedCrawlspace,
    "basement": Basement,
    "insulated concrete form wall": FormedBasement,
    "slab on grade": SlabOnGrade,
}
DESIGN_ACCURACY = "settings of the solver"
#: false, true, or a number of years
SettleYears = bool | Annotated[int, Quantity(SETTLING)]


class About(Strict):
    """What the case is called."""

    title: str = described("Untitled case", "appears on drawings and reports")
    text: str = described("", "anything worth saying about it")


class Run(Strict):
    """Start, length and output."""

    start: Moment = described(
        "2001-10-01",
        "first hour of the run, local standard time",
        "autumn: wet season ahead; the year is nominal",
    )
    years: Years = described(1.0, "length of the run in years of 8760 h", "a first answer; judge on three or more")
    field_every: Duration = described("1 week", "how often whole fields are stored", PRACTICE)
    initial_humidity: Humidity = described(
        0.80,
        "relative humidity of all parts but soil at the start",
        "EN 15026 and ASHRAE 160 use about 80 % (from memory, to be checked)",
    )
    start_moisture: StartMoisture = described(
        "stated",
        '"stated": initial_humidity; "fresh": concrete as cast, wood as delivered; '
        '"one year": fresh, then a year before the record; "settled": years repeated until they no longer differ',
        "a building in use, not one just built",
    )
    settle: SettleYears = described(
        False,
        "repeat the first year before the record: true until years no longer differ, or a number of years, or false",
    )
    settle_temperature: SettledTemperature = described(
        0.1, "settled below this change of a monthly mean temperature at any probe from year to year, in K", PRACTICE
    )
    settle_humidity: SettledShare = described(
        0.01, "settled below this change of a monthly mean relative humidity at any probe", PRACTICE
    )
    settle_most: SettleMost = described(10, "years after which the record begins, settled or not", PRACTICE)
    ground_suction: Suction = described(
        "33 kPa",
        "suction of the soil at the start, at most; if it is not stated, soil starts as open ground that has settled",
        "field capacity, common practice",
    )
    indoor_temperature: IndoorTemperature = described(
        20.0, "temperature of the parts above grade at the start", PRACTICE
    )

    @model_validator(mode="after")
    def _within_calendar(self) -> Run:
        end = self.start + timedelta(hours=self.hours)
        if end.year > LAST_YEAR:
            raise ValueError(f"a run that ends before {LAST_YEAR + 1}; this one ends in {end.year}")
        return self

    @property
    def hours(self) -> int:
        """Length of the run [h]."""
        return max(1, round(self.years * 8760))

    @property
    def spin_up(self) -> SpinUp | None:
        """What passes before the record; None if nothing does."""
        least = 1 if self.start_moisture == "one year" else 0
        if self.settle is True or self.start_moisture == "settled":
            return SpinUp(self.settle_temperature, self.settle_humidity, least, self.settle_most)
        years = max(least, int(self.settle))
        return SpinUp(self.settle_temperature, self.settle_humidity, years, years) if years else None


class Mesh(Strict):
    """How finely the section is cut."""

    finest: FinestCell = described("10 mm", "cell size at surfaces and interfaces", "halve it to check")
    growth: Growth = described(1.5, "ratio of neighbouring cells away from there", PRACTICE)
    coarsest: CoarsestCell = described("1.5 m", "largest cell, in deep soil", PRACTICE)
    layer_cells: Cells = described(3, "cells across any layer, at least", PRACTICE)


class AccuracyTable(Strict):
    """Wanted error per time step."""

    temperature: TemperatureError = described(Accuracy.temperature, "local error of temperature in K", DESIGN_ACCURACY)
    humidity: ShareError = described(Accuracy.humidity, "local error of relative humidity", DESIGN_ACCURACY)
    saturation: ShareError = described(
        Accuracy.saturation, "local error of water content, share of saturation", DESIGN_ACCURACY
    )
    resolved: ResolvedTime = described(
        Accuracy.resolved, "transients shorter than this in s are passed over", DESIGN_ACCURACY
    )
    shortest_step: ShortestStep = described(
        Accuracy.shortest_step, "the run gives up if its iteration asks for a step below this, in s", DESIGN_ACCURACY
    )
    longest_step: LongestStep = described(
        Accuracy.longest_step, "no step is longer, in s", "one hour, the weather's own step"
    )


class Case(Strict):
    """One variant of a case file, complete and valid in itself."""

    about: About = Field(default=About(), alias="case", description="what the case is called")
    weather: WeatherChoice = described(WeatherChoice(), "the outdoor weather")
    site: Site = described(Site(), "where the section stands")
    run: Run = described(Run(), "start, length and output")
    mesh: Mesh = described(Mesh(), "how finely the section is cut")
    accuracy: AccuracyTable = described(AccuracyTable(), "wanted error per time step")
    without: Without = described(Without(), "sources of moisture that are switched off, to see what each of them does")
    indoor: dict[SpaceName, Air] = described({}, "the air of each space")
    zone: dict[SpaceName, ZoneTable] = described({}, "spaces whose air is computed")
    leak: tuple[LeakTable, ...] = described((), "water brought to a place: a leak, or rain that gets in")
    flood: tuple[FloodTable, ...] = described((), "water that stands outdoors or in a space for a time")
    air_path: tuple[AirPathTable, ...] = described((), "air that moves along a joint from one space to another")
    detail: Detail | None = described(None, "a parametric section")
    bounds: Bounds | None = described(None, "outer rectangle of a free-form section")
    region: tuple[RegionTable, ...] = described(
        (), "solid rectangles of a free-form section; later ones paint over earlier ones"
    )
    opening: tuple[OpeningTable, ...] = described((), "air spaces of a free-form section")
    membrane: tuple[MembraneTable, ...] = described((), "layers without thickness of a free-form section")
    drain: tuple[DrainTable, ...] = described((), "places of a free-form section that hold no water under pressure")
    finish: tuple[FinishTable, ...] = described((), "how faces of a free-form section take up sun and radiate")
    edge: tuple[EdgeTable, ...] = described((), "what holds on the sides of a free-form section")
    probe: tuple[ProbeTable, ...] = described((), "places that are recorded, besides those of the detail")
    material: dict[Name, dict[str, Any]] = described({}, "materials of this case, by id")

    _assumed: frozenset[str] = PrivateAttr(frozenset())
    _name: str = PrivateAttr("base")
    _note: str = PrivateAttr("")
    _change: dict[str, Any] = PrivateAttr({})
    _folder: Path = PrivateAttr(Path())
    _text: str = PrivateAttr("")
    _doubts: tuple[Problem, ...] = PrivateAttr(())
    _file: str = PrivateAttr("")

    @model_validator(mode="after")
    def _one_section(self) -> Case:
        free = self.bounds is not None
        if (self.detail is not None) == free:
            raise ValueError("either a [detail] or [bounds] with [[region]] tables")
        if not free and any((self.region, self.opening, self.membrane, self.drain, self.finish, self.edge)):
            raise ValueError(
                "no [[region]], [[opening]], [[membrane]], [[drain]], [[finish]] or [[edge]] beside a [detail]"
            )
        return self

    @model_validator(mode="after")
    def _air_of_every_space(self) -> Case:
        if self.detail is not None:
            given, computed = unstated(self.detail.kind, {**self.indoor, **self.zone})
            # the fields are frozen for others; what is filled in does not count as stated
            self.__dict__.update(indoor={**self.indoor, **given}, zone={**self.zone, **computed})
            self._assumed = frozenset((*given, *computed))
        return self

    @property
    def assumed(self) -> frozenset[str]:
        """Spaces of the detail whose air the case does not state."""
        return self._assumed

    @property
    def name(self) -> str:
        """Name of the variant."""
        return self._name

    @property
    def note(self) -> str:
        """What the variant is about."""
        return self._note

    @property
    def change(self) -> dict[str, Any]:
        """Dotted paths of the base and the values that the variant puts there."""
        return self._change

    @property
    def folder(self) -> Path:
        """Folder that file names in the case start from."""
        return self._folder

    @property
    def doubts(self) -> tuple[Problem, ...]:
        """What is unusual about stated values, and so may be a slip."""
        return self._doubts

    @property
    def text(self) -> str:
        """TOML text that the case was read from."""
        return self._text

    @property
    def file(self) -> str:
        """Name of the file that the case was read from."""
        return self._file

    @property
    def title(self) -> str:
        """Title of the case and name of the variant."""
        return self.about.title if self._name == "base" else f"{self.about.title}: {self._name}"
