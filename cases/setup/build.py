"""From a case to what the solver needs: section, materials, climates, settings; every problem at once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import dotted
from stemwall.cases.details.framing import SILL
from stemwall.cases.details.freeform import MembraneTable
from stemwall.cases.inputs.input_errors import CaseError, Problem, nearest
from stemwall.cases.inputs.toml_lines import Places
from stemwall.cases.section.construction_moisture import fresh
from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.cases.section.ground_contact import with_ground_contact
from stemwall.cases.section.section_checks import Finding, findings
from stemwall.cases.setup.environment import environment, troubles
from stemwall.cases.setup.material_library import Stock, take_stock
from stemwall.cases.setup.mesh_size import too_large
from stemwall.cases.setup.open_ground import SiteGround, ground_of
from stemwall.cases.setup.provenance import provenance
from stemwall.cases.setup.switched_off import (
    climates_without,
    environment_without,
    section_without,
    start_without,
    weather_without,
)
from stemwall.cases.surroundings.indoor_file import read_air_file
from stemwall.cases.surroundings.outdoor_climate import at_site, outdoors
from stemwall.cases.surroundings.outdoor_means import OutsideAir
from stemwall.cases.surroundings.weather_choice import choose_weather
from stemwall.cases.surroundings.without import SEASONED
from stemwall.materials.material import Material
from stemwall.solver.model.climate import Climate, indoor
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Edge, Membrane, Opening, Probe, Region, Section
from stemwall.solver.model.settings import YEAR, Accuracy, MeshRule, Output, SpinUp, StartState
from stemwall.weather.errors import WeatherError
from stemwall.weather.year import WeatherYear

Location = tuple[str | int, ...]


@dataclass(frozen=True)
class Setup:
    """What `stemwall.solver.simulate.simulate` is called with, and what it is made from."""

    case: Case
    section: Section
    materials: dict[str, Material]
    climates: dict[str, Climate]
    start: datetime
    hours: int
    ground: SiteGround
    start_state: StartState
    accuracy: Accuracy
    mesh: MeshRule
    output: Output
    provenance: dict[str, str]
    spin_up: SpinUp | None = None
    environment: Environment = field(default_factory=Environment)
    doubts: tuple[Problem, ...] = ()


def build(case: Case, years: float | None = None) -> Setup:
    """Return the set-up of a case.

    Parameters
    ----------
    case : Case
        A valid case.
    years : float or None
        Length of the run in years of 8760 h, instead of the case's own.

    Raises
    ------
    CaseError
        With every problem of materials, section, weather and indoor air.
    """
    stated = case.run.hours
    if years is not None:
        case = with_years(case, years)
    builder = _Builder(case)
    section = builder.section()
    year = builder.weather()
    climates = builder.climates(section, year)
    if year is not None:
        climates = climates_without(climates, year, case.run.start, case.without)
    builder.check_settling()
    # an event after the end of a run cut short is none; the case itself must have room for it
    builder.check_environment(section, max(stated, case.run.hours))
    if builder.problems or section is None or year is None:
        raise CaseError(builder.problems)
    index = year.hour_index(case.run.hours, case.run.start)
    ground = ground_of(case, section, builder.stock.materials, year)
    surroundings = environment(case, section, climates, year, index)
    return Setup(
        case=case,
        section=start_without(builder.moistened(section), builder.stock.materials, case.without),
        materials={key: builder.stock.materials[key] for key in section.materials},
        climates=climates,
        start=case.run.start,
        hours=case.run.hours,
        ground=ground,
        start_state=StartState(case.run.ground_suction, builder.start_humidity, case.run.indoor_temperature),
        accuracy=Accuracy(**case.accuracy.model_dump()),
        mesh=MeshRule(**case.mesh.model_dump()),
        output=Output(field_hours=max(1, round(case.run.field_every))),
        provenance=provenance(case, year, builder.doubts),
        spin_up=case.run.spin_up,
        environment=environment_without(surroundings, case.run.hours, case.without),
        doubts=builder.doubts,
    )


def with_years(case: Case, years: float) -> Case:
    """Return the case with another length of run [a]."""
    return case.model_copy(update={"run": case.run.model_copy(update={"years": years})})


def draw_section(case: Case) -> tuple[Section, dict[str, Material]]:
    """Return section and materials of a case, without reading any weather.

    Raises
    ------
    CaseError
        With every problem of materials and section.
    """
    builder = _Builder(case)
    section = builder.section()
    if builder.problems or section is None:
        raise CaseError(builder.problems)
    return section, {key: builder.stock.materials[key] for key in section.materials}


class _Builder:
    """Builds the parts of a set-up and collects problems with their places."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.places = Places(case.text)
        self.problems: list[Problem] = []
        self._doubts: list[Problem] = []
        self.stock: Stock = take_stock(case.material, self._material_problem, self._material_doubt, case.folder)

    @property
    def doubts(self) -> tuple[Problem, ...]:
        """What is unusual about the case and so may be a slip."""
        return (*self.case.doubts, *self._doubts)

    def section(self) -> Section | None:
        """Return the section, or None if it cannot even be drawn."""
        water_table = None if self.case.site.water_table is None else -self.case.site.water_table
        before = len(self.problems)
        free = self.case.detail is None
        section = self._free_section(water_table) if free else self._detail_section(water_table)
        for finding in findings(section, self.stock.materials, (OUTDOORS, BESIDE, *self.case.indoor, *self.case.zone)):
            self._section_problem(finding)
        if len(self.problems) == before:
            self._check_grain(section)
            section = section_without(self._at_site(section), self.stock.materials, self.case.without)
            self._check_size(section)
        return section if len(self.problems) == before else None

    def _check_grain(self, section: Section) -> None:
        """Note regions that state a grain of a material that has none."""
        for region in section.regions:
            if region.grain and self.stock.materials[region.material].along is None:
                found = f'grain = "{region.grain}" of {region.material}, which has no numbers along a grain'
                self._section_problem(Finding("region", region.name, found, "a wood, such as lumber_spf, or no grain"))

    def _check_size(self, section: Section) -> None:
        """Note a mesh that would be too large, before anybody makes it."""
        problem = too_large(section, self.case.mesh)
        if problem:
            key, found, expected = problem
            self._add(("mesh", key), found, expected)

    def _at_site(self, section: Section) -> Section:
        """Return the section with what the site adds; a strip that finds no place is noted."""
        shaped = at_site(section, self.case.site)
        if self.case.site.strip_differs and BESIDE not in shaped.climates:
            self._add(("site", "strip"), "no ground outdoors with a wall on its right", "a place for the strip")
        return shaped

    def weather(self) -> WeatherYear | None:
        """Return the weather, or None with its problems noted."""
        choice, run = self.case.weather, self.case.run
        try:
            year = choose_weather(choice, self.case.folder, (run.start, run.hours))
            for text in year.warnings:
                found, _, expected = text.partition("; expected ")
                self._doubts.append(self._problem(("weather", "file"), found, expected))
            return weather_without(year, self.case.without)
        except WeatherError as error:
            for problem in error.problems:
                self._add(("weather", "file"), f"{problem.place}: {problem.found}", problem.expected)
        except OSError as error:
            self._add(("weather", "file"), f'"{choice.file}": {error.strerror}', "a readable weather file")
        return None

    def climates(self, section: Section | None, year: WeatherYear | None) -> dict[str, Climate]:
        """Return the climates that the section refers to."""
        run = self.case.run
        wanted = None if section is None else section.climates
        climates: dict[str, Climate] = {}
        outside: OutsideAir | None = None
        if year is not None:
            try:
                beside = wanted is not None and BESIDE in wanted
                climates = outdoors(year, self.case.site, run.start, run.hours, beside=beside)
                outside = OutsideAir.of(year, run.start, run.hours)
            except ValueError as error:
                self._add(("weather", "file"), str(error), "whole years, and a start on the full hour")
        day, weekday = _days(run.start, run.hours), datetime(run.start.year, 1, 1).weekday()
        for key, air in self.case.indoor.items():
            try:
                temperature, humidity = air.series(day, self.case.folder, outside, weekday)
            except ValueError as error:
                if air.file is not None:
                    self._add(("indoor", key, "file"), f'"{air.file}"', str(error))
                continue
            if air.file is not None:
                for found, expected in read_air_file(self.case.folder / air.file).doubts:
                    self._doubts.append(self._problem(("indoor", key, "file"), found, expected))
            if wanted is None or key in wanted or self.case.zone:
                climates[key] = indoor(key, temperature, humidity, note=air.describe())
        return climates

    def check_settling(self) -> None:
        """Note a run that is to settle although it has no whole year to repeat."""
        run = self.case.run
        if run.spin_up and run.hours < YEAR:
            place = "start_moisture" if run.start_moisture in ("one year", "settled") else "settle"
            self._add(("run", place), f"years before a run of {run.years:.3g} years", "a run of a year at least")

    @property
    def start_humidity(self) -> float:
        """Relative humidity of parts other than soil at the start [-]."""
        stated = self.case.run.initial_humidity
        return min(stated, SEASONED) if self.case.without.construction_water else stated

    def check_environment(self, section: Section | None, hours: int) -> None:
        """Note what is wrong with zones, leaks, floods and air paths; events must fall into so many hours."""
        for place, found, expected in troubles(self.case, section, hours):
            self._add(place, found, expected)

    def moistened(self, section: Section) -> Section:
        """Return the section with the moisture of construction, if the case starts with it."""
        if self.case.run.start_moisture not in ("fresh", "one year"):
            return section
        return fresh(section, self.stock.materials, self._stated_humidities())

    def _stated_humidities(self) -> frozenset[str]:
        """Regions whose start humidity the case file states."""
        free = {table.name for table in self.case.region if table.initial_humidity is not None}
        sill = getattr(self.case.detail, "sill", None)
        return frozenset(free | ({SILL} if sill and "initial_humidity" in sill.model_fields_set else set()))

    def _detail_section(self, water_table: float | None) -> Section:
        detail, case = self.case.detail, self.case
        assert detail is not None
        section = detail.section(case.site.soil, water_table, self._membrane)
        extra = tuple(table.build() for table in case.probe)
        # what a person states about a place of his own stands; the places of a detail are looked at
        return _with_probes(with_ground_contact(section, self.stock.materials), extra)

    def _free_section(self, water_table: float | None) -> Section:
        case, bounds = self.case, self.case.bounds
        assert bounds is not None
        given = {table.side: table.build() for table in case.edge}
        closed = tuple(Edge(side) for side in ("left", "right", "bottom", "top") if side not in given)
        return Section(
            bounds.x[0],
            bounds.y[0],
            bounds.x[1],
            bounds.y[1],
            items=self._items_in_order(),
            membranes=tuple(self._table_membrane(number) for number in range(len(case.membrane))),
            finishes=tuple(table.build() for table in case.finish),
            drains=tuple(table.build() for table in case.drain),
            edges=(*(table.build() for table in case.edge), *closed),
            probes=tuple(table.build() for table in case.probe),
            water_table=water_table,
            lines_x=bounds.lines_x,
            lines_y=bounds.lines_y,
        )

    def _items_in_order(self) -> tuple[Region | Opening, ...]:
        """Return regions and openings in the order in which they stand in the file."""
        tables: list[tuple[int, Region | Opening]] = [
            *((self.places.line(("opening", n)) or 0, t.build()) for n, t in enumerate(self.case.opening)),
            *((self.places.line(("region", n)) or 0, t.build()) for n, t in enumerate(self.case.region)),
        ]
        return tuple(item for _, item in sorted(tables, key=lambda entry: entry[0]))

    def _table_membrane(self, number: int) -> Membrane:
        table: MembraneTable = self.case.membrane[number]
        if table.material is None:
            return table.build()
        return self._membrane(table.name, table.material, table.x[0], table.y[0], table.x[1], table.y[1])

    def _membrane(self, name: str, key: str, x0: float, y0: float, x1: float, y1: float) -> Membrane:
        """Return a membrane of the catalogue; an unknown one is noted and stands in as a free line."""
        product = self.stock.membranes.get(key)
        if product is None:
            hint = nearest(key, self.stock.membranes) or "see `stemwall materials list`"
            self._add(self._item("membrane", name), f"unknown membrane {key!r}", f"a membrane; {hint}")
            return Membrane(name, x0, y0, x1, y1, 0.0, 0.0)
        return Membrane(
            name, x0, y0, x1, y1, product.sd_dry, product.sd_wet, product.liquid, product.thermal_resistance
        )

    def _material_problem(self, key: str, found: str, expected: str) -> None:
        self._add(("material", *key.split(".")), found, expected)

    def _material_doubt(self, key: str, found: str, expected: str) -> None:
        self._doubts.append(self._problem(("material", *key.split(".")), found, expected))

    def _section_problem(self, finding: Finding) -> None:
        place = self._item(finding.kind, finding.name)
        named = f"{finding.kind} {finding.name!r}: {finding.found}" if finding.name else finding.found
        self._add(place, named, finding.expected)

    def _item(self, kind: str, name: str) -> Location:
        """Place in the file of a drawn item."""
        tables = getattr(self.case, kind, ())
        if isinstance(tables, tuple):
            key = "side" if kind == "edge" else "name"
            for number, table in enumerate(tables):
                if getattr(table, key) == name:
                    return (kind, number)
        return ("detail",) if self.case.detail is not None else ("bounds",)

    def _add(self, place: Location, found: str, expected: str) -> None:
        self.problems.append(self._problem(place, found, expected))

    def _problem(self, place: Location, found: str, expected: str) -> Problem:
        file, line = "", None
        if self.case.text:
            file, line = self.case.file, self.places.line(place)
        prefix = "" if self.case.name == "base" else f"variant {self.case.name}: "
        return Problem(prefix + dotted(place), found, expected, file, line)


def _with_probes(section: Section, probes: tuple[Probe, ...]) -> Section:
    return replace(section, probes=(*section.probes, *probes))


def _days(start: datetime, hours: int) -> NDArray[np.float64]:
    """Middle of each hour in days since the start of the first calendar year [d]."""
    first = (start - datetime(start.year, 1, 1)).total_seconds() / 86400.0
    return np.asarray(first + (np.arange(hours) + 0.5) / 24.0, dtype=np.float64)
