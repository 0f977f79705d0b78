"""A check by hand: foam between two constant airs, run until it rests, against its resistances in series.

python steady_check.py
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import xarray as xr

from stemwall.materials.catalogue import catalogue
from stemwall.solver.model.climate import indoor
from stemwall.solver.model.section import Edge, Region, Section
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave

THICKNESS, WARM, COLD = 0.05, 20.0, 0.0


def main(folder: Path, hours: int = 48) -> tuple[float, float]:
    """Return the heat flow computed and the one by hand [W per metre of wall]."""
    foam = catalogue().material("xps_25")
    edges = (Edge("left", "climate", climate="warm"), Edge("right", "climate", climate="cold"))
    section = Section(0.0, 0.0, THICKNESS, 1.0, (Region("foam", "xps_25", 0.0, 0.0, THICKNESS, 1.0),), edges=edges)
    dry = np.full(hours, 0.30)
    climates = {key: indoor(key, np.full(hours, t), dry) for key, t in (("warm", WARM), ("cold", COLD))}
    path = simulate(
        section,
        {"xps_25": foam},
        climates,
        start=datetime(2001, 1, 1),
        hours=hours,
        ground=GroundWave(10.0, 0.0, 0.0),
        path=folder / "steady.nc",
    )
    with xr.open_dataset(path) as result:
        computed = float(result["heat_flow"].isel(time=-1).max())
    films = 2.0 / (2.5 + 5.13)  # convection and radiation on both sides, see `indoor`
    middle = float(foam.thermal_conductivity([0.0], [0.5 * (WARM + COLD)])[0])
    by_hand = (WARM - COLD) / (films + THICKNESS / middle)
    print(f"computed {computed:.2f} W/m, by hand {by_hand:.2f} W/m")
    return computed, by_hand


if __name__ == "__main__":
    main(Path())
