"""Heat and water ledger of a run: all that crossed the border of its balance in some hours, and what is stored since.

The balance holds the section and the air that is computed: what such air and its faces exchange stays inside.
Every table and figure of flows shows what `ledger` returns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from stemwall.cases.results.variant import Variant
from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.solver.assessment.series_statistics import TimeArray
from stemwall.solver.discretisation.air_zones import air_group
from stemwall.solver.forcing.air_zones import GAINS

Floats = NDArray[np.float64]
Hours = NDArray[np.bool_]

SECONDS = 3600.0
KILOWATT_HOUR = 3.6e6
#: October to March, the colder half of the year north of the equator
OCTOBER_TO_MARCH = (10, 11, 12, 1, 2, 3)
#: ways in which heat moves: conduction, radiation and dry air; vapour and liquid
WITHOUT_WATER, WITH_WATER = "without water", "with water"
WAYS = ("vapour in", "vapour out", "liquid in", "liquid out")
REFUSED = "refused"


@dataclass(frozen=True)
class Season:
    """A half-year: its name, months and which recorded hours of the run belong to it, of the last 12 months."""

    name: str
    months: str
    hours: Hours


@dataclass(frozen=True)
class Ledger:
    """Heat [kWh/m] and water [kg/m] of some hours.

    ``rows`` and ``inner`` have the index (group, name) and the columns `WITHOUT_WATER`, `WITH_WATER`, those of `WAYS`
    and `REFUSED`; positive enters, or leaves by ``out``.  What was `REFUSED` is rain, or water of
    a leak, that never entered, and what came out as liquid.
    The heat of vapour and liquid is that above liquid water at 0 degC.  ``inner`` is what the faces of computed air
    take from it.  ``heat`` and ``water`` are the change of what is stored.
    """

    rows: pd.DataFrame
    inner: pd.DataFrame
    heat: float
    water: float

    @property
    def heat_error(self) -> float:
        """What of the change no row explains [kWh/m]: the numerical error of the balance."""
        return self.heat - float(self.rows[[WITHOUT_WATER, WITH_WATER]].to_numpy().sum())

    @property
    def water_error(self) -> float:
        """What of the change no row explains [kg/m]."""
        return self.water - float(net(self.rows).sum())


def ledger(dataset: xr.Dataset, hours: Hours) -> Ledger:
    """Return the ledger of a result over some of its hours, (time,)."""
    inner = dataset["surface_inner"].values.astype(bool)
    rows = _rows(dataset, hours)
    through = rows.iloc[: inner.size]
    crossed = pd.concat([through[~inner], rows.iloc[inner.size :]])
    order = {group: number for number, group in enumerate(dict.fromkeys(crossed.index.get_level_values("group")))}
    groups = crossed.index.get_level_values("group").map(order)
    heat, water = (_change(dataset, name, hours) for name in ("stored_heat", "stored_water"))
    return Ledger(crossed.iloc[np.argsort(groups, kind="stable")], through[inner], heat / KILOWATT_HOUR, water)


def net(rows: pd.DataFrame) -> pd.Series:
    """Return the water that entered less what left, by row."""
    return rows["vapour in"] - rows["vapour out"] + rows["liquid in"] - rows["liquid out"]


def last_year(variant: Variant) -> Hours:
    """Mark the last 12 months of a run, or all of a shorter one, (time,)."""
    marked = np.zeros(variant.hours, dtype=bool)
    marked[variant.last_year] = True
    return marked


def seasons(variant: Variant) -> list[Season]:
    """Return the colder and the warmer half-year, told by the outdoor air of the run."""
    last = last_year(variant)
    month = _middles(variant.time).astype("datetime64[M]").astype(int) % 12 + 1
    first = np.isin(month, OCTOBER_TO_MARCH)
    outdoors, southern = variant.climate("outdoors"), False
    if outdoors is not None and (first & last).any() and (~first & last).any():
        southern = bool(outdoors[0][first & last].mean() > outdoors[0][~first & last].mean())
    halves = [(first & last, "Oct–Mar"), (~first & last, "Apr–Sep")]
    cold, warm = halves[::-1] if southern else halves
    return [Season("colder half-year", cold[1], cold[0]), Season("warmer half-year", warm[1], warm[0])]


def given_spaces(dataset: xr.Dataset) -> list[str]:
    """Return the indoor climates whose air is given, not computed."""
    inner = dataset["surface_inner"].values.astype(bool)
    computed = {str(name) for name in dataset["surface_climate"].values[inner]}
    names = [str(name) for name in dataset["climate"].values]
    return [name for name in names if name not in (OUTDOORS, BESIDE) and name not in computed]


def air_of(space: str) -> tuple[str, str]:
    """Groups of what passes between the air of a space and the section: by its faces, and by air that moves."""
    return space, air_group(space)


def _rows(dataset: xr.Dataset, hours: Hours) -> pd.DataFrame:
    """Return what came through every surface, and below them what every source gave."""
    through = ("heat_flow", "heat_with_water", "vapour_flow", "liquid_flow", "water_refused")
    heat, wet, vapour, liquid, refused, given, water = (
        np.asarray(dataset[name].values[hours], dtype=np.float64) for name in (*through, "source_heat", "source_water")
    )
    # heat of a source that gives no water comes alone; gains of computed air are vapour, what roots draw is liquid
    carried = np.where(water != 0.0, given, 0.0)
    moist = np.array([str(group).startswith(GAINS) for group in dataset["source_group"].values], dtype=bool)
    heat, wet = np.hstack([heat, given]), np.hstack([wet, carried])
    vapour, liquid = np.hstack([vapour, np.where(moist, water, 0.0)]), np.hstack([liquid, np.where(moist, 0.0, water)])
    refused = np.hstack([refused, np.zeros_like(water)])
    columns = {
        WITHOUT_WATER: (heat - wet) * SECONDS / KILOWATT_HOUR,
        WITH_WATER: wet * SECONDS / KILOWATT_HOUR,
        "vapour in": np.maximum(vapour, 0.0) * SECONDS,
        "vapour out": np.maximum(-vapour, 0.0) * SECONDS,
        "liquid in": np.maximum(liquid, 0.0) * SECONDS,
        "liquid out": np.maximum(-liquid, 0.0) * SECONDS,
        REFUSED: refused * SECONDS,
    }
    table = pd.DataFrame({name: values.sum(axis=0) for name, values in columns.items()})
    groups = [str(name) for kind in ("surface_group", "source_group") for name in dataset[kind].values]
    names = [str(name) for kind in ("surface", "source") for name in dataset[kind].values]
    labels = [_label(group, name) for group, name in zip(groups, names, strict=True)]
    table.index = pd.MultiIndex.from_arrays([groups, labels], names=["group", "name"])
    return table


def _label(group: str, name: str) -> str:
    """Return the name of a surface or source under the heading of its group."""
    place, _, what = name.partition(" | ")
    return what or name if place in (group, group.partition(": ")[2]) else name.replace(" | ", ": ")


def _change(dataset: xr.Dataset, name: str, hours: Hours) -> float:
    """Return by how much a stored amount changed in some hours."""
    values = np.asarray(dataset[name].values, dtype=np.float64)
    return float(np.diff(values, prepend=float(dataset.attrs[f"{name}_at_start"]))[hours].sum())


def _middles(time: TimeArray) -> TimeArray:
    """Middle of the hours that end at these stamps."""
    return np.asarray(time.astype("datetime64[m]") - np.timedelta64(30, "m"))
