"""Loads on surfaces: climates and ground edges turned into one row per surface and time.

Everything but water is joined linearly between the hours' ends, where it takes the
mean of the two hours that meet: sums are kept, and nothing jumps or bends within an
hour.  Water supply is constant within its hour.

The rows are filled in blocks as the time goes: those of a run of years take a hundred megabytes, and
the first step should not wait for the last.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial

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
    LEVEL,
    LOAD_COLUMNS,
    LONGWAVE,
    SIGMA,
    SUN,
    SUPPLY,
    UPTAKE,
)
from stemwall.solver.climate import Climate, FacingLoads
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
#: hours filled at once
BLOCK = 24 * 14


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
        #: by surface with a climate or an edge: what fills its hourly means (hours, columns), told which hours
        self._fillers: dict[int, Callable[[Floats, slice], None]] = {}
        self._filled = 0
        self.supply = np.zeros((hours, len(network.surfaces)))
        self.rows = np.zeros((hours + 1, len(network.surfaces), LOAD_COLUMNS))
        for k, surface in enumerate(network.surfaces):
            bare = surface.membrane is None or surface.membrane.liquid == "open"
            if surface.drain:
                contact = DRAIN_CONTACT if surface.region >= 0 else RAIN_CONTACT
                self._fillers[k] = partial(self._drain, contact=contact if bare else 0.0)
                continue
            if surface.region < 0 or surface.climate not in (None, *climates):
                continue  # inlets and controls of air zones, and faces that look into one
            if surface.climate is not None:
                self._fillers[k] = partial(
                    self._climate, surface=surface, climate=climates[surface.climate], absorptance=absorptance[k],
                    emissivity=emissivity[k],
                )  # fmt: skip
            elif surface.edge is not None:
                section = network.mesh.section
                self._fillers[k] = partial(
                    self._ground, surface=surface, water_table=section.water_table, bottom=section.y0, ground=ground,
                    start=start,
                )  # fmt: skip
        #: level [m], temperature [degC] and film [W/(m2 K)] of water standing before each surface in the present hour
        self.standing = np.zeros((len(network.surfaces), LOAD_COLUMNS - LEVEL))
        self._row = np.zeros(self.rows.shape[1:])

    def _fill(self, hour: int) -> None:
        """Fill the rows up to the end of an hour; those that others write hour by hour are left alone."""
        while self._filled <= min(hour, self.hours - 1):
            first, end = self._filled, min(self._filled + BLOCK, self.hours)
            # the hours before and after, whose means the ends of the block need
            around = slice(max(first - 1, 0), min(end + 1, self.hours))
            here = slice(first - around.start, end - around.start)
            for k, fill in self._fillers.items():
                means = np.zeros((around.stop - around.start, LOAD_COLUMNS))
                fill(means, around)
                self.supply[first:end, k] = means[here, SUPPLY]
                ends = at_hour_ends(means)[here.start : here.stop + 1]
                self.rows[first : end + 1, k] = ends
            self._filled = end

    def at(self, seconds: float, during: float) -> Floats:
        """Load rows at a time [s]; ``during`` is a time within the hour whose water supply holds.

        The array is reused by the next call.
        """
        x = min(max(seconds / 3600.0, 0.0), float(self.hours))
        low = min(int(x), self.hours - 1)
        share = x - low
        self._fill(low)
        np.multiply(self.rows[low], 1.0 - share, out=self._row)
        self._row += share * self.rows[low + 1]
        self._row[:, SUPPLY] = self.supply[min(max(int(during / 3600.0), 0), self.hours - 1)]
        self._row[:, LEVEL:] = self.standing
        return self._row

    @staticmethod
    def _drain(row: Floats, hours: slice, *, contact: float) -> None:
        row[:, UPTAKE] = contact

    def _climate(
        self, row: Floats, hours: slice, *, surface: Surface, climate: Climate, absorptance: float, emissivity: float
    ) -> None:
        loads = climate.facings[surface.facing].during(hours)
        bare = surface.membrane is None or surface.membrane.liquid == "open"
        temperature = climate.temperature[hours]
        row[:, AIR_T] = temperature
        row[:, AIR_PV] = climate.relative_humidity[hours] * saturation_pressure(temperature)
        row[:, FILM] = loads.convective + loads.radiative
        row[:, BETA] = LEWIS * loads.convective
        seen = loads.longwave > 0
        cover = np.zeros(len(row)) if loads.resistance is None else loads.resistance
        row[:, LONGWAVE] = np.where(seen, emissivity * loads.longwave, 0.0)
        row[:, EMISSIVITY] = np.where(seen, emissivity, 0.0)
        row[:, SUN] = _absorbed(loads, absorptance) * loads.solar
        self._under_cover(row, cover)
        row[:, BETA] = _through_cover(row[:, BETA], cover, loads.vapour_resistance)
        row[:, SUPPLY] = loads.rain if bare else 0.0
        row[:, UPTAKE] = RAIN_CONTACT if bare else 0.0

    @staticmethod
    def _under_cover(row: Floats, cover: Floats) -> None:
        """Put a cover (snow, mulch) of some resistance [m2 K/W] between the face and its climate.

        Sun and longwave act on top of the cover, which is taken at air temperature
        for what it emits; the share that reaches the face is that of its conductance.
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

    def _ground(
        self,
        row: Floats,
        hours: slice,
        *,
        surface: Surface,
        water_table: float | None,
        bottom: float,
        ground: GroundWave,
        start: datetime,
    ) -> None:
        assert surface.edge is not None
        if surface.edge.kind == "ground":
            day = start.timetuple().tm_yday - 1 + (np.arange(hours.start, hours.stop) + 0.5) / 24.0
            row[:, AIR_T] = ground.temperature(max(0.0, -bottom), day)
            row[:, FILM] = HOLD_HEAT
        if surface.edge.water == "table":
            row[:, SUPPLY] = 1e33
            row[:, UPTAKE] = HOLD_WATER
            row[:, HELD_PC] = WATER_DENSITY * GRAVITY * (bottom - (bottom if water_table is None else water_table))
        elif surface.edge.water == "drainage":
            row[:, DRAIN] = 1.0


def _absorbed(loads: FacingLoads, own: float) -> Floats:
    """Share of the sun that a face of some absorptance and what hides it take in [-], (hours,)."""
    if loads.hidden is None:
        return np.full(loads.solar.size, own)
    return np.asarray(own + loads.hidden * (loads.hidden_absorptance - own))


def _through_cover(beta: Floats, cover: Floats, resistance: Floats | None) -> Floats:
    """Vapour film [s/m] over a face behind a cover (hours,); a cover of unknown resistance lets none pass."""
    passing = np.where(cover > 0.0, np.inf, 0.0) if resistance is None else resistance[: beta.size]
    lets = np.isfinite(passing)
    found = np.zeros_like(beta)
    found[lets] = beta[lets] / (1.0 + beta[lets] * passing[lets])
    return found
