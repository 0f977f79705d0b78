"""What drives air zones by the hour: air through their inlets, gains of heat and moisture; and their start state."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from stemwall.materials.water import GAS_CONSTANT, ZERO_CELSIUS, suction_from_humidity
from stemwall.solver.discretisation.air_zones import AIR_HEAT, ZonedNetwork
from stemwall.solver.integration.system import State, potential_of_suction
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.arrays import Floats

#: what the groups of gains of zones begin with
GAINS = "gains: "


@dataclass(frozen=True)
class Giver:
    """What gives heat or water to a node: the gains of a zone.

    ``group`` and ``name`` head its rows in balances; ``at`` says what it gives in an hour, at the temperature of its
    node [degC]: heat [W/m] and water [kg/(m s)].  Where it gives water, its heat is what that water carries.
    """

    group: str
    name: str
    node: int
    at: Callable[[int, float], tuple[float, float]]


def givers(zoned: ZonedNetwork) -> Iterator[Giver]:
    """Everything that gives heat or water in a run, plants aside."""
    for zone, node in zip(zoned.zones, zoned.nodes, strict=True):
        group = GAINS + zone.key
        if zone.heat_gain is not None:
            yield Giver(group, f"{zone.key} | heat gain", node, partial(_warmth, zone.heat_gain))
        if zone.moisture_gain is not None:
            yield Giver(group, f"{zone.key} | moisture gain", node, partial(_vapour, zone.moisture_gain))


def _warmth(gain: Floats, hour: int, temperature: float) -> tuple[float, float]:
    return float(gain[hour]), 0.0


def _vapour(gain: Floats, hour: int, temperature: float) -> tuple[float, float]:
    """Vapour comes with its heat of evaporation."""
    return float(gain[hour]) * (layout.L_V + layout.C_V * temperature), float(gain[hour])


def inlet_row(row: Floats, temperature: Floats, vapour_pressure: Floats, flow: Floats | float) -> None:
    """Fill the load rows of an inlet: air at temperature [degC] and vapour pressure [Pa], flow [m3/(s m)]."""
    row[:, layout.AIR_T] = temperature
    row[:, layout.AIR_PV] = vapour_pressure
    row[:, layout.FILM] = AIR_HEAT * np.asarray(flow)
    row[:, layout.BETA] = np.asarray(flow) / (GAS_CONSTANT * (temperature + ZERO_CELSIUS))


def zone_start(state: State, zoned: ZonedNetwork) -> None:
    """Put the start state of every zone into a state."""
    for zone, node in zip(zoned.zones, zoned.nodes, strict=True):
        state.temperature[node] = zone.temperature
        state.potential[node] = potential_of_suction(suction_from_humidity(zone.humidity, zone.temperature))
