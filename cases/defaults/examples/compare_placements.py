"""Insulation inside or outside: heat through every boundary, year by year, of two variants of the default case.

python compare_placements.py [HOURS]
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import default_path, load_case
from stemwall.cases.setup.build import build
from stemwall.solver.assessment.heatflow import yearly_heat


def main(folder: Path, hours: int = 3 * 8760) -> pd.DataFrame:
    """Return the net heat into the section [kWh per metre of wall], a column per variant."""
    file = load_case(default_path())
    found = {}
    for name in ("base", "foam outside"):
        setup = build(file.variant(name), years=hours / 8760)
        with xr.open_dataset(simulate_setup(setup, folder / f"{name}.nc")) as result:
            surfaces = [str(surface) for surface in result["surface"].values]
            found[name] = yearly_heat(result["time"].values, result["heat_flow"].values, surfaces)["net"]
    table = pd.DataFrame(found)
    print(table.round(2).to_string())
    return table


if __name__ == "__main__":
    main(Path(), *map(int, sys.argv[1:2]))
