"""Loads on surfaces: climates and ground edges turned into one row per surface and time.

Everything but water is joined linearly between the hours' ends, where it takes the
mean of the two hours that meet: sums are kept, and nothing jumps or bends within an
hour.  Water supply is constant within its hour.
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
    KELVIN,
    LOAD_COLUMNS,
    LONGWAVE,
    SIGMA,
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
#: conductance by which water under pressure leaves at each node of a drain [kg/(m s Pa)]
DRAIN_CONTACT = 1e-4
#: vapour film over convective film, Lewis relation [kg K/(J Pa)]; ISO 13788 practice of 7e-9 (rule of thumb)
LEWIS = 7e-9


def at_hour_ends(means: Floats) -> Floats:
    """Values at the ends of hours from hourly means along the first axis, one more than there are hours."""
    return np.concatenate([means[:1], 0.5 * (means[1:] + means[:-1]), means[-1:]])


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
        means = np.zeros((hours, len(network.surfaces), LOAD_COLUMNS))
        for k, surface in enumerate(network.surfaces):
            row = means[:, k]
            if surface.drain:
                row[:, UPTAKE] = DRAIN_CONTACT if surface.region >= 0 else RAIN_CONTACT
                continue
            if surface.region < 0 or surface.climate not in (None, *climates):
                continue  # inlets and controls of air zones, and faces that look into one
            if surface.climate is not None:
                self._climate(row, surface, climates[surface.climate], absorptance[k], emissivity[k])
            elif surface.edge is not None:
                section = network.mesh.section
                self._ground(row, surface, section.water_table, section.y0, ground, start)
        self.supply = means[:, :, SUPPLY].copy()
        self.rows = at_hour_ends(means)
        self._row = np.zeros(means.shape[1:])

    def at(self, seconds: float, during: float) -> Floats:
        """Load rows at a time [s]; ``during`` is a time within the hour whose water supply holds.

        The array is reused by the next call.
        """
        x = min(max(seconds / 3600.0, 0.0), float(self.hours))
        low = min(int(x), self.hours - 1)
        share = x - low
        np.multiply(self.rows[low], 1.0 - share, out=self._row)
        self._row += share * self.rows[low + 1]
        self._row[:, SUPPLY] = self.supply[min(max(int(during / 3600.0), 0), self.hours - 1)]
        return self._row

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
        cover = np.zeros(n) if loads.resistance is None else loads.resistance[:n]
        row[:, LONGWAVE] = np.where(seen, emissivity * loads.longwave[:n], 0.0)
        row[:, EMISSIVITY] = np.where(seen, emissivity, 0.0)
        row[:, SUN] = absorptance * loads.solar[:n]
        self._under_cover(row, cover)
        row[:, SUPPLY] = loads.rain[:n] if bare else 0.0
        row[:, UPTAKE] = RAIN_CONTACT if bare else 0.0

    @staticmethod
    def _under_cover(row: Floats, cover: Floats) -> None:
        """Put a cover (snow, mulch) of some resistance [m2 K/W] between the face and its climate.

        Sun and longwave act on top of the cover, which is taken at air temperature
        for what it emits; the share that reaches the face is that of its conductance.
        Vapour does not pass.
        """
        on = cover > 0.0
        air = row[on, AIR_T] + KELVIN
        emissivity = row[on, EMISSIVITY]
        film = row[on, FILM] + 4.0 * emissivity * SIGMA * air**3
        share = 1.0 / (1.0 + film * cover[on])
        row[on, FILM] = film * share
        row[on, LONGWAVE] = share * (row[on, LONGWAVE] - emissivity * SIGMA * air**4)
        row[on, SUN] *= share
        row[on, EMISSIVITY] = 0.0
        row[on, BETA] = 0.0

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
