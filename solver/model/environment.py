"""The environment of a run beyond given climates: air zones, air paths, leaks and floods."""

from __future__ import annotations

from dataclasses import dataclass

from stemwall.solver.model.air_path import AirPath
from stemwall.solver.model.air_zone import Zone
from stemwall.solver.model.water import Flood, WaterSource


@dataclass(frozen=True)
class Environment:
    """Zones, water sources, air paths and floods of a run."""

    zones: tuple[Zone, ...] = ()
    sources: tuple[WaterSource, ...] = ()
    air_paths: tuple[AirPath, ...] = ()
    floods: tuple[Flood, ...] = ()
