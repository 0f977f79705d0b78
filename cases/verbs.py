"""The few verbs of a notebook or a script: load, change, build, run, assess, compare, why, steady, ledger, material.

    import stemwall.cases.verbs as sw

    base = sw.load("mycase.toml")
    dry = sw.change(base, {"detail.sill.capillary_break": False}, name="no break")
    runs = [sw.run(model, years=1) for model in (base, dry)]
    sw.compare(runs)
    runs[0].at("sill core").relative_humidity.plot()

Datasets are those of xarray, tables those of pandas; results are the files that the command line writes and reads.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version as _version
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pandas as pd
import xarray as xr

from stemwall.cases.batch.batch import carried_out_here, order_of, to_do
from stemwall.cases.batch.pool import Pool
from stemwall.cases.batch.single_run import result_path, simulate_setup
from stemwall.cases.batch.worker import Order, Outcome, Word
from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import default_path, load_case, parse_variant
from stemwall.cases.investigation.answer import Answer
from stemwall.cases.investigation.effects import effects_at
from stemwall.cases.investigation.part_ledger import part_ledger
from stemwall.cases.investigation.shares import Combination, combinations_for
from stemwall.cases.investigation.sources import KEYS, case_with, present
from stemwall.cases.laboratory import page
from stemwall.cases.setup import build as setups
from stemwall.cases.setup.build import Setup
from stemwall.cases.setup.run_hash import identified, input_hash, recorded_input
from stemwall.cases.steady import numbers
from stemwall.cases.steady.results import Steady
from stemwall.solver.assessment import verdicts
from stemwall.solver.model.errors import SolverError
from stemwall.solver.results.stored_result import ResultError, read_result

__version__ = _version("stemwall")
#: what a verdict tells in `assess`
TOLD = ["place", "criterion", "variant", "period", "value", "sense", "limit", "unit", "margin", "holds"]


@dataclass(frozen=True, repr=False)
class Model:
    """A case: one variant of a case file.

    Parameters
    ----------
    case : Case
        What it says.
    variants : tuple of str
        Names of all variants of its file.
    """

    case: Case
    variants: tuple[str, ...] = ("base",)

    @property
    def name(self) -> str:
        """Name of the variant."""
        return self.case.name

    def __repr__(self) -> str:
        """Return one line: title, variant, detail, length."""
        kind = "free section" if self.case.detail is None else self.case.detail.kind
        return f"<model {self.case.about.title!r}, {self.name}: {kind}, {self.case.run.years:g} years>"


@dataclass(frozen=True, repr=False)
class Run:
    """A result: its file, and what is in it.

    Parameters
    ----------
    path : Path
        Result file (netCDF).
    data : Dataset
        Everything in it, in memory.
    """

    path: Path
    data: xr.Dataset

    @property
    def name(self) -> str:
        """Name of the variant."""
        return str(self.data.attrs.get("variant", "")) or self.path.stem

    @property
    def places(self) -> list[str]:
        """Names of the places."""
        return [str(name) for name in self.data["probe"].values]

    def at(self, place: str) -> xr.Dataset:
        """Return temperature [degC], relative humidity [-] and water content [kg/m3] of a place over time.

        Raises
        ------
        KeyError
            If there is no such place.
        """
        if place not in self.places:
            raise KeyError(f"no place {place!r}; there are {', '.join(self.places)}")
        chosen = self.data.isel(probe=self.places.index(place))
        names = ("temperature", "relative_humidity", "water_content")
        return xr.Dataset({name: chosen[f"probe_{name}"] for name in names})

    def __repr__(self) -> str:
        """Return one line: variant, hours, places, file."""
        hours = self.data.sizes["time"]
        return f"<run {self.name}: {hours:,} h, {len(self.places)} places, {self.path.name}>"


def load(path: str | Path | None = None, variant: str = "base") -> Model:
    """Return a variant of a case file, of the default case without one.

    Raises
    ------
    CaseError
        With every problem of the file, or if there is no such variant.
    """
    file = load_case(default_path() if path is None else path)
    return Model(file.variant(variant), tuple(case.name for case in file.cases))


def change(model: Model, changes: Mapping[str, Any], name: str = "changed", note: str = "") -> Model:
    """Return a copy with new values at dotted paths, e.g. {"detail.sill.capillary_break": False}.

    Raises
    ------
    CaseError
        With every problem of the changed case.
    """
    case = model.case
    place = Path(case.folder, case.file)
    changed = parse_variant(case.text, place, name, note, {**case.change, **changes})
    return Model(changed, model.variants)


def build(model: Model, years: float | None = None) -> Setup:
    """Return what the solver would be given: section, materials, climates, settings.

    Raises
    ------
    CaseError
        With every problem of materials, section, weather and indoor air.
    """
    return setups.build(model.case, years)


def run(model: Model, folder: str | Path | None = None, years: float | None = None) -> Run:
    """Simulate a case, or read the result that the folder has of the very same input.

    Without a folder the result goes into a temporary one.

    Raises
    ------
    CaseError, SolverError
        If the case cannot be built or computed.
    """
    setup = build(model, years)
    target = Path(mkdtemp(prefix="stemwall-") if folder is None else folder)
    target.mkdir(parents=True, exist_ok=True)
    path = result_path(setup, target)
    if not _there(setup, path):
        simulate_setup(identified(setup), path)
    return Run(path, read_result(path))


def _there(setup: Setup, path: Path) -> bool:
    """Whether a result of the same input is there, and whole."""
    try:
        return recorded_input(path) == input_hash(setup)
    except ResultError:
        return False


def assess(result: Run | xr.Dataset, *, optional: bool = False) -> pd.DataFrame:
    """Return what every limit says at every place, a row each; of a run, or of any dataset with the same variables."""
    data = result.data if isinstance(result, Run) else result
    return verdicts.to_table(verdicts.assess(data, optional=optional))[TOLD]


def compare(runs: Sequence[Run], period: str = "whole run") -> pd.DataFrame:
    """Return the values of every limit, a row for each place and limit and a column for each run."""
    columns = {}
    for one in runs:
        table = assess(one)
        table = table[table["period"] == period].set_index(["place", "criterion", "variant"])
        columns[one.name] = table["value"]
    limits = pd.concat([assess(one).set_index(["place", "criterion", "variant"])["limit"] for one in runs])
    found = pd.DataFrame(columns)
    return found.assign(limit=limits[~limits.index.duplicated()].reindex(found.index))


@dataclass(frozen=True, repr=False)
class Why:
    """Why a place is wet: the answer in words, and every number as an array."""

    answer: Answer

    @property
    def shares(self) -> xr.DataArray:
        """Shapley's value of each source in each number of the place, (effect, source)."""
        effects, sources = self.answer.effects, self.answer.sources
        return xr.DataArray(
            [self.answer.shares(effect).share for effect in effects],
            dims=("effect", "source"),
            coords={"effect": [effect.key for effect in effects], "source": [source.key for source in sources]},
        )

    def __repr__(self) -> str:
        """Return the answer in sentences."""
        return "\n".join(self.answer.sentences())


def why(
    model: Model,
    place: str,
    folder: str | Path,
    *,
    sources: Sequence[str] = KEYS,
    years: float | None = None,
    workers: int = 1,
) -> Why:
    """Say whose water it is at a place; runs that the folder has already are not repeated.

    Parameters
    ----------
    model : Model
        The case.
    place : str
        Name of the place.
    folder : str or Path
        Where the runs are kept.
    sources : sequence of str
        Keys of `[without]` that are asked about.
    years : float or None
        Length of the runs [a], None for the case's own.
    workers : int
        Runs at once; more than one begins processes of their own.

    Raises
    ------
    CaseError
        If the case cannot be built.
    SolverError
        If a run failed.
    KeyError
        If there is no such place.
    """
    setup = build(model, years)
    kinds = {probe.name: probe.kind for probe in setup.section.probes}
    if place not in kinds:
        raise KeyError(f"no place {place!r}; there are {', '.join(kinds)}")
    acting, absent = present(setup, sources)
    paths = {}
    orders = []
    for combination in combinations_for(len(acting)):
        one = setups.build(case_with(model.case, acting, combination), years)
        paths[combination] = result_path(one, Path(folder))
        orders.append(order_of(one, paths[combination], years))
    Path(folder).mkdir(parents=True, exist_ok=True)
    left = to_do(orders, {order.name for order in orders})
    _carry_out(left, workers)
    values: dict[Combination, dict[str, float]] = {c: effects_at(path, place) for c, path in paths.items()}
    return Why(Answer(place, kinds[place], setup.case.title, acting, absent, values))


def _carry_out(orders: Sequence[Order], workers: int) -> None:
    """Carry out orders here or by processes.

    Raises
    ------
    SolverError
        If one failed.
    """

    def through(outcomes: Iterable[Outcome]) -> None:
        for outcome in outcomes:
            if outcome.failure:
                raise SolverError(f"{outcome.name}: {outcome.failure}")

    if workers > 1 and len(orders) > 1:
        with Pool(min(workers, len(orders))) as pool:
            through(pool.outcomes(orders))
    else:
        through(carried_out_here(orders, _nothing))


def _nothing(word: Word) -> None:
    """Tell nobody how far a run is."""


def steady(model: Model, **options: Any) -> Steady:
    """Return the numbers of standards and codes, see `stemwall.cases.steady.numbers.steady` for options."""
    return numbers.steady(model.case, **options)


def ledger(model: Model, part: str, years: float | None = None) -> pd.DataFrame:
    """Return heat [kWh/m], vapour and liquid [kg/m] that crossed each face of a region, by season.

    Raises
    ------
    KeyError
        If there is no such region.
    """
    return part_ledger(build(model, years), part).to_frame()


def material(sheet: str | Path, out: str | Path | None = None, report: str | Path | None = None) -> page.Answer:
    """Evaluate a laboratory sheet and write its material file and page, see `page.material_of_sheet`.

    Raises
    ------
    CaseError
        With every problem of the sheet.
    """
    return page.material_of_sheet(sheet, Path(out) if out else None, Path(report) if report else None)
