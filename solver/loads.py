"""Loads on surfaces: climates and ground edges turned into one row per surface and time.

Temperatures, vapour pressures, films and radiation are joined linearly between
mid-hours (so that daily sums are kept); water supply is constant within the hour.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.water import GRAVITY, WATER_DENSITY
from stemwall.solver.balance_kernels import (
    AIR_PV,
    AIR_T,
    BETA,
    DRAIN,
    EMISSIVITY,
    FILM,
    HELD_PC,
    LOAD_COLUMNS,
    LONGWAVE,
    SUN,
    SUPPLY,
    UPTAKE,
)
from stemwall.solver.climate import Climate
from stemwall.solver.network import Network, Surface
from stemwall.solver.settings import GroundWave
from stemwall.weather.moistair import saturation_pressure

Floats = NDArray[np.float64]

#: conductance that holds a node at a given temperature [W/(m2 K)]
HOLD_HEAT = 1e5
#: conductance that holds a node at a given suction [kg/(m2 s Pa)]
HOLD_WATER = 1e-4
#: conductance by which offered water enters a surface that still has suction [kg/(m2 s Pa)]
RAIN_CONTACT = 1e-5
#: vapour film over convective film, Lewis relation [kg K/(J Pa)]; ISO 13788 practice of 7e-9 (rule of thumb)
LEWIS = 7e-9


class Loads:
    """Hourly load rows of every surface; `at` gives the rows at a time, (surfaces, columns)."""

    def __init__(
        self,
        network: Network,
        climates: Mapping[str, Climate],
        absorptance: Floats,
        emissivity: Floats,
        *,
        ground: GroundWave,
        start: datetime,
        hours: int,
    ) -> None:
        self.hours = hours
        self.rows = np.zeros((hours, len(network.surfaces), LOAD_COLUMNS))
        for k, surface in enumerate(network.surfaces):
            row = self.rows[:, k]
            if surface.climate is not None:
                self._climate(row, surface, climates[surface.climate], absorptance[k], emissivity[k])
            elif surface.edge is not None:
                section = network.mesh.section
                self._ground(row, surface, section.water_table, section.y0, ground, start)
        self._row = np.zeros(self.rows.shape[1:])

    def at(self, seconds: float) -> Floats:
        """Load rows at a time [s] since the start; the array is reused by the next call."""
        hour = seconds / 3600.0
        within = min(max(int(np.ceil(hour - 1e-9)) - 1, 0), self.hours - 1)
        x = hour - 0.5
        low = min(max(int(np.floor(x)), 0), self.hours - 1)
        high = min(low + 1, self.hours - 1)
        share = min(max(x - low, 0.0), 1.0)
        np.multiply(self.rows[low], 1.0 - share, out=self._row)
        self._row += share * self.rows[high]
        self._row[:, SUPPLY] = self.rows[within, :, SUPPLY]
        return self._row

    def supply_jumps(self, hour: int) -> bool:
        """Whether the offered water changes at the start of an hour."""
        if hour <= 0 or hour >= self.hours:
            return True
        now, before = self.rows[hour, :, SUPPLY], self.rows[hour - 1, :, SUPPLY]
        return bool(np.any(np.abs(now - before) > 1e-7 + 0.2 * np.maximum(now, before)))

    def _climate(
        self, row: Floats, surface: Surface, climate: Climate, absorptance: float, emissivity: float
    ) -> None:
        loads, n = climate.facings[surface.facing], self.hours
        bare = surface.membrane is None or surface.membrane.liquid == "open"
        row[:, AIR_T] = climate.temperature[:n]
        row[:, AIR_PV] = climate.relative_humidity[:n] * saturation_pressure(climate.temperature[:n])
        row[:, FILM] = loads.convective[:n] + loads.radiative[:n]
        row[:, BETA] = LEWIS * loads.convective[:n]
        seen = loads.longwave[:n] > 0
        row[:, LONGWAVE] = np.where(seen, emissivity * loads.longwave[:n], 0.0)
        row[:, EMISSIVITY] = np.where(seen, emissivity, 0.0)
        row[:, SUN] = absorptance * loads.solar[:n]
        row[:, SUPPLY] = loads.rain[:n] if bare else 0.0
        row[:, UPTAKE] = RAIN_CONTACT if bare else 0.0

    def _ground(
        self,
        row: Floats,
        surface: Surface,
        water_table: float | None,
        bottom: float,
        ground: GroundWave,
        start: datetime,
    ) -> None:
        assert surface.edge is not None
        if surface.edge.kind == "ground":
            day = start.timetuple().tm_yday - 1 + (np.arange(self.hours) + 0.5) / 24.0
            row[:, AIR_T] = ground.temperature(max(0.0, -bottom), day)
            row[:, FILM] = HOLD_HEAT
        if surface.edge.water == "table":
            row[:, SUPPLY] = 1e33
            row[:, UPTAKE] = HOLD_WATER
            row[:, HELD_PC] = WATER_DENSITY * GRAVITY * (bottom - (bottom if water_table is None else water_table))
        elif surface.edge.water == "drainage":
            row[:, DRAIN] = 1.0
