"""A material of one's own: a case as text, whose foam takes its conductivity from a (here invented) data sheet.

python own_material.py [HOURS]
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd
import xarray as xr

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import build
from stemwall.solver.assessment.indicators import indicator_table

CASE = """
[case]
title = "Foam of an invented data sheet"

[material.own_foam]
base = "xps_25"
conductivity = { dry = 0.028 }          # invented

[detail]
kind = "conditioned crawlspace"
insulation = { placement = "inside", inside = { material = "own_foam", thickness = "2 in" } }
"""


def main(folder: Path, hours: int = 8760) -> pd.DataFrame:
    """Return a row per place: hours above 80 %, at the dew point, of wetness, below freezing."""
    setup = build(parse_case(CASE, folder / "own.toml").base, years=hours / 8760)
    with xr.open_dataset(simulate_setup(setup, folder / "own.nc")) as result:
        table = indicator_table(result)
    print(table.to_string())
    return table


if __name__ == "__main__":
    main(Path(), *map(int, sys.argv[1:2]))
