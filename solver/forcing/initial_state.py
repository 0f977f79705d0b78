"""The start state: undisturbed ground, hydrostatic or stated suction, stated humidity by region."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from stemwall.materials.material import Material
from stemwall.materials.water import GRAVITY, WATER_DENSITY, suction_from_humidity
from stemwall.solver.discretisation.network import Network
from stemwall.solver.integration.system import State, potential_of_suction
from stemwall.solver.model.arrays import Floats
from stemwall.solver.model.ground import Ground
from stemwall.solver.model.settings import StartState


def start_state(
    network: Network,
    materials: Sequence[Material],
    *,
    ground: Ground,
    settings: StartState,
    start: datetime,
) -> State:
    """State of every node at the start.

    Parameters
    ----------
    network : Network
        With nodes and sub-control volumes.
    materials : sequence of Material
        In the order of ``section.materials``.
    ground, settings, start
        Undisturbed ground, start settings, and the moment the run starts.
    """
    day = start.timetuple().tm_yday - 1 + start.hour / 24.0
    below, moist = ground.at_start(np.maximum(-network.node_y, 0.0), day)
    temperature = np.where(network.node_y < 0.0, below, settings.indoor_temperature)
    suction = _suction(network, materials, settings, moist)
    return State(np.ascontiguousarray(temperature), potential_of_suction(suction))


def _suction(network: Network, materials: Sequence[Material], settings: StartState, ground: Floats | None) -> Floats:
    """Suction [Pa] of every node: that of the sub-control volume which holds most water there."""
    suctions = _scv_suction(network, materials, settings, ground)
    held = np.zeros(suctions.size)
    for m, material in enumerate(materials):
        own = network.scv_material == m
        held[own] = network.scv_volume[own] * material.water_content(suctions[own])
    order = np.argsort(held, kind="stable")
    suction = np.empty(network.nodes)
    suction[network.scv_node[order]] = suctions[order]
    return suction


def _scv_suction(
    network: Network, materials: Sequence[Material], settings: StartState, ground: Floats | None
) -> Floats:
    section = network.mesh.section
    height = network.node_y[network.scv_node]
    suction = np.full(height.size, suction_from_humidity(settings.relative_humidity))
    for k, region in enumerate(section.regions):
        own = network.scv_region == k
        material = materials[section.materials.index(region.material)]
        if region.initial_rh is not None:
            suction[own] = suction_from_humidity(region.initial_rh)
        elif material.group == "soil" and ground is not None:
            suction[own] = ground[network.scv_node[own]]
        elif material.group == "soil":
            suction[own] = _soil_suction(height[own], section.water_table, settings.ground_suction)
        else:
            suction[own] = suction_from_humidity(settings.relative_humidity)
    return suction


def _soil_suction(height: Floats, water_table: float | None, driest: float) -> Floats:
    if water_table is None:
        return np.full(height.size, driest)
    return np.minimum(WATER_DENSITY * GRAVITY * (height - water_table), driest)
