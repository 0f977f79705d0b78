"""What a report is made from: result files read back, with their section, places and verdicts."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path

import numpy as np
import xarray as xr

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import parse_case, parse_variant
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import draw_section
from stemwall.cases.setup.run_hash import CHANGE
from stemwall.materials.material import Material
from stemwall.solver.assessment.criteria import Verdict
from stemwall.solver.assessment.probe_series import YEAR_HOURS, ProbeSeries, series_of
from stemwall.solver.assessment.series_statistics import TimeArray
from stemwall.solver.assessment.verdicts import assess
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.section import Section
from stemwall.solver.results.stored_result import ResultError, read_result

#: kinds of place that are shown over time: those that can carry mould or rot, and those where liquid may gather
CRITICAL_KINDS = ("wood", "interface", "surface", "ground contact")


@dataclass(frozen=True)
class Variant:
    """One result, read.

    Parameters
    ----------
    name : str
        Name of the variant, with a mark if it did not reach its end; unique in a report.
    file : str
        Name of the result file, without its folder.
    dataset : Dataset
        The result, in memory.
    case, section, materials
        Rebuilt from the case text in the result; None and empty where that is not possible.
    """

    name: str
    file: str
    dataset: xr.Dataset
    case: Case | None
    section: Section | None
    materials: Mapping[str, Material]

    def text(self, attribute: str, otherwise: str = "not recorded") -> str:
        """Return an attribute of the result as text."""
        return str(self.dataset.attrs.get(attribute, "")) or otherwise

    def number(self, attribute: str) -> float:
        """Return an attribute of the result as a number; nan if it is not there."""
        return float(self.dataset.attrs.get(attribute, np.nan))

    @property
    def complete(self) -> bool:
        """Whether the run reached its end."""
        return self.text("completed", "yes") == "yes"

    @property
    def stopped(self) -> str:
        """What ended a run before its end, and how far it came; empty for a complete one."""
        if self.complete:
            return ""
        last = f"{np.datetime64(self.time[-1], 'h')}".replace("T", " ") + ":00"
        return f"{self.text('reason').rstrip('.')}. {self.hours:,} hours were recorded, the last ends at {last}."

    @property
    def time(self) -> TimeArray:
        """End of every recorded hour."""
        return np.asarray(self.dataset["time"].values)

    @property
    def hours(self) -> int:
        """Number of recorded hours."""
        return int(self.dataset.sizes["time"])

    @property
    def start(self) -> datetime:
        """Start of the first hour."""
        return datetime.fromisoformat(self.text("start"))

    @property
    def last_year(self) -> slice:
        """The last 8760 hours, or all there are."""
        return slice(max(0, self.hours - int(YEAR_HOURS)), None)

    @cached_property
    def places(self) -> dict[str, ProbeSeries]:
        """Record of every probe, by name, in the order of the drawing."""
        names = [str(name) for name in self.dataset["probe"].values]
        return {name: series_of(self.dataset, name) for name in names}

    @cached_property
    def verdicts(self) -> list[Verdict]:
        """Verdicts on all places, the optional criteria included."""
        return assess(self.dataset, optional=True)

    def climate(self, key: str) -> tuple[Floats, Floats] | None:
        """Return temperature [degC] and relative humidity [-] of a climate, None if it is not there."""
        keys = [str(name) for name in self.dataset["climate"].values]
        if key not in keys:
            return None
        chosen = self.dataset.isel(climate=keys.index(key))
        return (
            np.asarray(chosen["climate_temperature"].values, dtype=np.float64),
            np.asarray(chosen["climate_relative_humidity"].values, dtype=np.float64),
        )


def load(results: Sequence[Path]) -> list[Variant]:
    """Read result files; the first is the base that the others are compared with.

    Raises
    ------
    ValueError
        If there is no file.
    ResultError
        If one is no result, or a damaged one.
    """
    if not results:
        raise ValueError("a report needs at least one result file")
    variants, problems = load_each(results)
    if problems:
        raise problems[0]
    return variants


def load_each(results: Sequence[Path]) -> tuple[list[Variant], list[ResultError]]:
    """Read those result files that can be read, and say what is wrong with the others."""
    variants: list[Variant] = []
    problems: list[ResultError] = []
    for path in results:
        try:
            variant = _read(Path(path))
        except ResultError as error:
            problems.append(error)
            continue
        taken = {other.name for other in variants}
        name = variant.name if variant.name not in taken else f"{variant.name} ({path.stem})"
        variants.append(Variant(name, variant.file, variant.dataset, variant.case, variant.section, variant.materials))
    return variants, problems


def _read(path: Path) -> Variant:
    dataset = read_result(path)
    if dataset.sizes["time"] < 2:
        raise ResultError(path, "fewer than two recorded hours", "a longer run")
    if "surface_group" not in dataset:
        raise ResultError(path, "a result of an earlier version, whose flows have no names", "one of this version")
    try:
        case = _case(dataset)
        section, materials = _section(case)
        state = str(dataset.attrs.get("completed", "yes"))
        mark = "" if state == "yes" else f" ({state})"
        name = (str(dataset.attrs.get("variant", "")) or path.stem) + mark
        variant = Variant(name, path.name, dataset, case, section, materials)
        # what the page needs of every result is made here, where a file of another program can still be refused
        _ = variant.start, variant.verdicts, variant.places, json.loads(variant.text("versions", "{}"))
    except Exception as error:
        raise ResultError(path, f"what no report can be made of ({type(error).__name__}: {error})") from error
    return variant


def _case(dataset: xr.Dataset) -> Case | None:
    """Return the case that a result keeps, None if its text is missing or no longer valid."""
    text, name = str(dataset.attrs.get("case", "")), str(dataset.attrs.get("variant", "base"))
    if not text:
        return None
    path = Path(str(dataset.attrs.get("case_file", "case.toml")))
    try:
        if CHANGE in dataset.attrs:
            change = json.loads(str(dataset.attrs[CHANGE]))
            return parse_variant(text, path, name, str(dataset.attrs.get("variant_note", "")), change)
        return parse_case(text, path).variant(name)
    except CaseError:
        return None


def _section(case: Case | None) -> tuple[Section | None, Mapping[str, Material]]:
    if case is None:
        return None, {}
    try:
        return draw_section(case)
    except CaseError:
        return None, {}


def shared_places(variants: Sequence[Variant], kinds: Sequence[str] = CRITICAL_KINDS) -> list[str]:
    """Return the places of these kinds, in the order of the base and then of the other variants."""
    found: dict[str, None] = {}
    for variant in variants:
        for name, series in variant.places.items():
            if series.kind in kinds:
                found.setdefault(name)
    return list(found)
