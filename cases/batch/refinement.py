"""Convergence: a case computed again with finer cells, smaller steps and more ground, and what that changes.

What is compared are the last 12 months, or a shorter run without its first 30 days, in which
the given start state jumps to what the climates ask for: every probe hour by hour, its worst
mould index (of the whole run) and wood moisture, and the heat that each climate gives.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.inputs.csv_cells import plain
from stemwall.cases.results.ledger import WITH_WATER, WITHOUT_WATER, ledger
from stemwall.cases.setup.build import Setup
from stemwall.solver.assessment.mould import mould_index
from stemwall.solver.assessment.probe_series import ProbeSeries, series_of
from stemwall.solver.model.section import Section
from stemwall.solver.model.settings import YEAR, Accuracy
from stemwall.solver.results.output_places import write_whole
from stemwall.solver.simulate import Progress

#: hours at the start of a run that are not compared, if twice as many are there
FIRST_HOURS = 720
#: a side of a drawn item lies on the frame if it is no further from it [m]
TOUCHING = 1e-6


@dataclass(frozen=True)
class PlaceChange:
    """What a finer computation changes at one probe.

    Parameters
    ----------
    place : str
        Name of the probe.
    temperature_max, temperature_mean : float
        Largest and mean absolute difference of hourly temperature [K].
    humidity_max, humidity_mean : float
        The same for relative humidity [-].
    mould, mould_change : float or None
        Worst mould index as given, for the probe's own class, and its change [-]; None without a class.
    moisture, moisture_change : float or None
        Highest wood moisture as given, and its change [% dry mass]; None where there is no wood.
    """

    place: str
    temperature_max: float
    temperature_mean: float
    humidity_max: float
    humidity_mean: float
    mould: float | None = None
    mould_change: float | None = None
    moisture: float | None = None
    moisture_change: float | None = None


@dataclass(frozen=True)
class HeatChange:
    """Net heat that one climate gives to the section as given, and its change [kWh/m] over the hours compared."""

    climate: str
    heat: float
    change: float


@dataclass(frozen=True)
class Finding:
    """One finer computation against the case as given."""

    study: str
    what: str
    cells: int
    steps: int
    places: tuple[PlaceChange, ...]
    heat: tuple[HeatChange, ...]


@dataclass(frozen=True)
class Convergence:
    """All findings on one variant, and what they belong to."""

    title: str
    variant: str
    case_sha256: str
    hours: int
    compared_hours: int
    cells: int
    steps: int
    findings: tuple[Finding, ...]


def finer_mesh(setup: Setup) -> Setup:
    """Return the set-up with cells of half the size."""
    return replace(setup, mesh=setup.mesh.refined())


def finer_steps(setup: Setup) -> Setup:
    """Return the set-up with every wanted error, and the longest step, halved."""
    a = setup.accuracy
    halved = Accuracy(
        temperature=a.temperature / 2,
        humidity=a.humidity / 2,
        saturation=a.saturation / 2,
        pressure=a.pressure / 2,
        resolved=a.resolved / 2,
        shortest_step=a.shortest_step,
        longest_step=a.longest_step / 2,
    )
    return replace(setup, accuracy=halved)


def more_ground(setup: Setup) -> Setup:
    """Return the set-up with twice the ground: outward from the wall and down from grade."""
    return replace(setup, section=with_more_ground(setup.section))


def with_more_ground(section: Section) -> Section:
    """Return a section whose left and lower sides lie twice as far from x = 0 and from grade.

    Whatever touches these sides grows with them.  The right side is the middle of the
    building and stays.  A side that lies at or beyond the origin stays as well.
    """
    x0 = 2.0 * section.x0 if section.x0 < 0 else section.x0
    y0 = 2.0 * section.y0 if section.y0 < 0 else section.y0
    return with_ground_to(section, x0, y0)


def with_ground_to(section: Section, x0: float, y0: float) -> Section:
    """Return a section whose left and lower sides lie at x0 and y0 [m]; whatever touches them moves with them."""

    def moved(item: Any) -> Any:
        new: dict[str, float] = {}
        for name in ("x0", "x1"):
            if abs(getattr(item, name) - section.x0) <= TOUCHING:
                new[name] = x0
        for name in ("y0", "y1"):
            if abs(getattr(item, name) - section.y0) <= TOUCHING:
                new[name] = y0
        return replace(item, **new)

    return replace(
        section,
        x0=x0,
        y0=y0,
        items=tuple(moved(item) for item in section.items),
        membranes=tuple(moved(membrane) for membrane in section.membranes),
        finishes=tuple(moved(finish) for finish in section.finishes),
    )


#: what is tried: name, in words, and how the set-up changes
STUDIES: Mapping[str, tuple[str, Callable[[Setup], Setup]]] = {
    "mesh": ("cells of half the size", finer_mesh),
    "steps": ("wanted errors and longest step halved", finer_steps),
    "ground": ("twice the ground outward and down", more_ground),
}


def converge(
    setup: Setup,
    studies: Mapping[str, tuple[str, Callable[[Setup], Setup]]] = STUDIES,
    progress: Callable[[str, Progress], None] | None = None,
) -> Convergence:
    """Run a set-up as given and once for every study, and compare.

    Parameters
    ----------
    setup : Setup
        What is run.
    studies : mapping
        Name, words and change of each study.
    progress : callable, optional
        Told the name of the study, "as given" first, and how far it is.
    """
    with TemporaryDirectory() as folder:

        def computed(name: str, changed: Setup) -> xr.Dataset:
            told = None if progress is None else lambda step: progress(name, step)
            with xr.open_dataset(simulate_setup(changed, Path(folder, "run.nc"), told)) as opened:
                return opened.load()

        base = computed("as given", setup)
        findings = tuple(
            compare(base, computed(name, change(setup)), name, what) for name, (what, change) in studies.items()
        )
    return Convergence(
        setup.case.about.title,
        setup.case.name,
        text_hash(setup.case.text),
        setup.hours,
        len(range(*compared(setup.hours).indices(setup.hours))),
        int(base.attrs["cells"]),
        int(base.attrs["integrator_steps"]),
        findings,
    )


def compared(hours: int) -> slice:
    """Return the hours of a run that are compared."""
    return slice(max(hours - YEAR, FIRST_HOURS if hours >= 2 * FIRST_HOURS else 0), hours)


def text_hash(text: str) -> str:
    """Return what tells one case text from another."""
    return hashlib.sha256(text.encode()).hexdigest()


def compare(base: xr.Dataset, finer: xr.Dataset, study: str, what: str) -> Finding:
    """Return what differs between a result and a finer one of the same probes and hours."""
    names = [str(name) for name in base["probe"].values]
    places = tuple(_place(series_of(base, name), series_of(finer, name)) for name in names)
    return Finding(
        study, what, int(finer.attrs["cells"]), int(finer.attrs["integrator_steps"]), places, _heat(base, finer)
    )


def _place(base: ProbeSeries, finer: ProbeSeries) -> PlaceChange:
    part = compared(base.time.size)
    temperature = np.abs(finer.temperature - base.temperature)[part]
    humidity = np.abs(finer.relative_humidity - base.relative_humidity)[part]
    mould, mould_change = _pair(_worst_index(base), _worst_index(finer))
    wood = base.kind == "wood"
    moisture, moisture_change = _pair(_wettest(base, part), _wettest(finer, part)) if wood else (None, None)
    return PlaceChange(
        base.name, float(temperature.max()), float(temperature.mean()), float(humidity.max()), float(humidity.mean()),
        mould, mould_change, moisture, moisture_change,
    )  # fmt: skip


def _pair(base: float | None, finer: float | None) -> tuple[float | None, float | None]:
    """Return a value and its change."""
    return (None, None) if base is None or finer is None else (base, finer - base)


def _worst_index(series: ProbeSeries) -> float | None:
    """Largest mould index of the whole run, for the class of the face."""
    if series.mould_class is None:
        return None
    index = mould_index(series.temperature, series.relative_humidity, series.mould_class, step=series.step)
    return float(np.max(index))


def _wettest(series: ProbeSeries, part: slice) -> float | None:
    return None if series.moisture is None else float(series.moisture[part].max())


def _heat(base: xr.Dataset, finer: xr.Dataset) -> tuple[HeatChange, ...]:
    """Heat from all that meets as much of the section in both; more ground meets more weather."""
    rows = []
    given, found = _given(base), _given(finer)
    for climate, (heat, length) in given.items():
        other, reached = found.get(climate, (0.0, 0.0))
        if abs(length - reached) <= TOUCHING:
            rows.append(HeatChange(climate, heat, other - heat))
    return tuple(rows)


def _given(dataset: xr.Dataset) -> dict[str, tuple[float, float]]:
    """Net heat [kWh/m] from each group of the ledger over the hours compared, and the length of its faces [m]."""
    hours = np.zeros(dataset.sizes["time"], dtype=bool)
    hours[compared(hours.size)] = True
    rows = ledger(dataset, hours).rows
    heat = rows[[WITHOUT_WATER, WITH_WATER]].sum(axis=1).groupby(level="group", sort=False).sum()
    groups, lengths = dataset["surface_group"].values, dataset["surface_length"].values
    return {str(group): (float(value), float(lengths[groups == group].sum())) for group, value in heat.items()}


def write(convergence: Convergence, as_json: Path, as_csv: Path) -> tuple[Path, Path]:
    """Write the findings as JSON and, one row per study and place, as CSV; return both paths.

    Raises
    ------
    OutputError
        If they cannot be written.
    """
    write_whole(as_json, json.dumps(asdict(convergence), ensure_ascii=False, indent=1) + "\n")
    rows = io.StringIO(newline="")
    writer = csv.DictWriter(rows, ["study", *PlaceChange.__dataclass_fields__])
    writer.writeheader()
    for f in convergence.findings:
        found = ({"study": f.study, **asdict(place)} for place in f.places)
        writer.writerows({key: plain(value) for key, value in row.items()} for row in found)
    write_whole(as_csv, rows.getvalue())
    return as_json, as_csv


def read(path: Path) -> Convergence:
    """Read findings written by `write`.

    Raises
    ------
    ValueError
        If the file holds something else.
    """
    from pydantic import TypeAdapter

    wrong = f"{path}: found no findings of `stemwall refine`; expected its JSON file"
    if not path.is_file():
        raise ValueError(wrong)
    try:
        return TypeAdapter(Convergence).validate_json(path.read_bytes())
    except (ValueError, OSError) as error:
        raise ValueError(wrong) from error
