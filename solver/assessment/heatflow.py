"""Heat accounting: what an hourly heat flow adds up to, by direction and by year."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import TimeArray, step_hours

#: A year of the account [h]; weather years are laid end to end without leap days.
YEAR_HOURS = 8760.0


def yearly_heat(time: TimeArray, heat_flow: ArrayLike, boundaries: list[str]) -> pd.DataFrame:
    """Heat through each boundary, by year of the run and direction.

    Parameters
    ----------
    time : ndarray of datetime64, shape (time,)
        Regular time axis.
    heat_flow : array_like, shape (time, boundary)
        Mean heat flow of each step [W per metre of wall], positive into the section.
    boundaries : list of str
        Names of the boundaries.

    Returns
    -------
    DataFrame
        Index (boundary, year), years counted from 1 at 8760 h each; columns
        ``hours`` [h] covered, ``into`` and ``out_of`` the section and ``net``
        [kWh/m].  At an indoor boundary `into` is what heating replaces and
        `out_of` what cooling removes; a year of fewer hours is not scaled up.
    """
    flow = np.asarray(heat_flow, dtype=np.float64)
    if flow.shape != (len(time), len(boundaries)):
        raise ValueError(f"heat flow has shape {flow.shape}, expected ({len(time)}, {len(boundaries)})")
    step = step_hours(time)
    year = (np.arange(len(time)) * step // YEAR_HOURS).astype(int) + 1
    rows = []
    for name, energy in zip(boundaries, flow.T * step / 1000.0, strict=True):
        into = np.bincount(year, weights=np.maximum(energy, 0.0))[1:]
        out_of = np.bincount(year, weights=np.maximum(-energy, 0.0))[1:]
        covered = np.bincount(year)[1:] * step
        rows += [
            {"boundary": name, "year": k + 1, "hours": covered[k], "into": into[k], "out_of": out_of[k]}
            for k in range(len(covered))
        ]
    table = pd.DataFrame(rows).set_index(["boundary", "year"])
    table["net"] = table["into"] - table["out_of"]
    return table
