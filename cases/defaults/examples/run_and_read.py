"""Run the default case and read its result: what every limit says at every place, and one series of a probe.

python run_and_read.py [HOURS]
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import default_path, load_case
from stemwall.cases.setup.build import build
from stemwall.solver.assessment.verdicts import assess, to_table


def main(folder: Path, hours: int = 3 * 8760) -> pd.DataFrame:
    """Return one row per place, limit and period."""
    setup = build(load_case(default_path()).base, years=hours / 8760)
    path = simulate_setup(setup, folder / "default.nc")
    with xr.open_dataset(path) as result:
        table = to_table(assess(result))
        sill = result["probe_temperature"].sel(probe="sill core").to_series()
    print(table[["place", "criterion", "period", "value", "sense", "limit", "margin", "holds"]].to_string())
    print(f"sill: {sill.min():.1f} to {sill.max():.1f} degC")
    return table


if __name__ == "__main__":
    main(Path(), *map(int, sys.argv[1:2]))
