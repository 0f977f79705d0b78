"""Heat and water through the surfaces of a section, summed over the last 12 months of a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.cases.outdoors_strip import BESIDE, OUTDOORS
from stemwall.cases.report_data import Variant
from stemwall.solver.exposure import TimeArray

Floats = NDArray[np.float64]

SECONDS = 3600.0
#: October to March, the colder half of the year north of the equator
OCTOBER_TO_MARCH = (10, 11, 12, 1, 2, 3)
NOT_INDOORS = (OUTDOORS, BESIDE, "ground", "water")


@dataclass(frozen=True)
class Season:
    """A half-year: its name, months and which recorded hours of the last 12 months belong to it."""

    name: str
    months: str
    hours: NDArray[np.bool_]


def seasons(variant: Variant) -> list[Season]:
    """Return the colder and the warmer half-year, told by the outdoor air of the run."""
    time = _middles(variant.time[variant.last_year])
    month = time.astype("datetime64[M]").astype(int) % 12 + 1
    first = np.isin(month, OCTOBER_TO_MARCH)
    outdoors = variant.climate("outdoors")
    southern = False
    if outdoors is not None and first.any() and not first.all():
        air = outdoors[0][variant.last_year]
        southern = bool(air[first].mean() > air[~first].mean())
    halves = [(first, "Oct–Mar"), (~first, "Apr–Sep")]
    cold, warm = halves[::-1] if southern else halves
    return [Season("colder half-year", cold[1], cold[0]), Season("warmer half-year", warm[1], warm[0])]


def _middles(time: TimeArray) -> TimeArray:
    """Middle of the hours that end at these stamps."""
    return np.asarray(time.astype("datetime64[m]") - np.timedelta64(30, "m"))


def heat(variant: Variant) -> pd.DataFrame:
    """Return net heat into the section by surface [kWh/m], a column for each season and ``total``.

    The index holds (climate, surface); positive enters the section.
    """
    flow = np.asarray(variant.dataset["heat_flow"].values[variant.last_year], dtype=np.float64) / 1000.0
    table = pd.DataFrame(index=_surfaces(variant))
    for season in seasons(variant):
        table[season.name] = flow[season.hours].sum(axis=0)
    table["total"] = flow.sum(axis=0)
    return table


def water(variant: Variant) -> pd.DataFrame:
    """Return water through each surface [kg/m] by way and direction, ``net`` positive into the section.

    ``refused`` was offered as rain and ran off; it never entered.
    """
    data, last = variant.dataset, variant.last_year
    vapour, liquid, refused = (
        np.asarray(data[name].values[last], dtype=np.float64) * SECONDS
        for name in ("vapour_flow", "liquid_flow", "water_refused")
    )
    table = pd.DataFrame(index=_surfaces(variant))
    for word, flow in (("vapour", vapour), ("liquid", liquid)):
        table[f"{word} in"] = np.maximum(flow, 0.0).sum(axis=0)
        table[f"{word} out"] = np.maximum(-flow, 0.0).sum(axis=0)
    table["refused"] = refused.sum(axis=0)
    table["net"] = (vapour + liquid).sum(axis=0)
    return table


def by_climate(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table of surfaces summed over each climate, in the order of the surfaces."""
    return table.groupby(level="climate", sort=False).sum()


def storage_change(variant: Variant) -> float:
    """Change of the water in the section over the last 12 months [kg/m]; nan for shorter runs."""
    stored = np.asarray(variant.dataset["stored_water"].values, dtype=np.float64)
    begin = variant.last_year.start
    return float(stored[-1] - stored[begin - 1]) if begin else float("nan")


def indoor_heat(variant: Variant) -> pd.Series:
    """Return net heat that all indoor climates give to the section [kWh/m], by season and total."""
    table = by_climate(heat(variant))
    return table[~table.index.isin(NOT_INDOORS)].sum()


def _surfaces(variant: Variant) -> pd.MultiIndex:
    data = variant.dataset
    names = [str(name).partition(" | ")[2] or str(name) for name in data["surface"].values]
    climates = [str(name) for name in data["surface_climate"].values]
    return pd.MultiIndex.from_arrays([climates, names], names=["climate", "surface"])
