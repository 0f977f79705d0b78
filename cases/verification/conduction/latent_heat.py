"""Latent heat of every material of the catalogue, against its own retention curve."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.rig import bar
from stemwall.materials.catalogue import catalogue
from stemwall.materials.tables import tabulate
from stemwall.solver.discretisation.mesh import mesh_on_lines
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.integration.system import State, System, potential_of_suction
from stemwall.solver.kernels.physics.material_state import freezing_suction
from stemwall.solver.kernels.support.layout import C_I, C_W, L_F

Floats = NDArray[np.float64]

#: temperature to which all is cooled [degC]; by then the pores hold what the suction of 11 MPa leaves
COLD = -10.0
#: thickness of a layer [m], and water below which nothing is compared [kg/m3]
LAYER, LEAST = 0.1, 1.0


def _drawn(system: System, nodes: NDArray[np.int64], suction: float) -> Floats:
    """Heat [J/m3] that cooling from 0 degC draws from the materials round some nodes, at one suction of all water."""
    network = system.network
    volume = np.bincount(network.scv_node, network.scv_volume, network.nodes)
    held = []
    for t in (0.0, COLD):
        state = State(
            np.full(network.nodes, t), np.array(np.broadcast_to(potential_of_suction(suction), network.nodes))
        )
        system.evaluate(state)
        held.append(system.storage[:, 0] / volume)
    return np.asarray((held[0] - held[1])[nodes])


def catalogue_freezes() -> list[Comparison]:
    """Heat drawn by cooling every material of the catalogue from 0 to -10 °C, full and at 33 kPa (field-moist).

    Sensible heat of solids, liquid and ice, and 334 kJ per kg of the water that the retention curve loses between the
    suction at the start and that of ice at -10 °C.  Materials that freeze less than 1 kg/m³ are left out.
    """
    materials = catalogue().materials
    names = list(materials)
    lines = np.arange(2 * len(names) + 1, dtype=np.float64) * (0.5 * LAYER)
    network = build_network(
        mesh_on_lines(bar([(n, LAYER) for n in names], left=False, right=False), lines, np.array([0.0, 0.1]))
    )
    system = System(network, tabulate([materials[n] for n in names]))
    middles = LAYER * (np.arange(len(names)) + 0.5)
    nodes = np.array([int(np.argmin(np.hypot(network.node_x - x, network.node_y))) for x in middles], dtype=np.int64)
    at_ice = float(freezing_suction(COLD)[0])
    found = []
    for name, suction in (("full", 0.0), ("field-moist", 3.3e4)):
        water, liquid = (
            np.array([float(m.storage.water(np.array([p]))[0]) for m in materials.values()]) for p in (suction, at_ice)
        )
        ice = water - liquid
        solids = np.array([m.density * m.specific_heat for m in materials.values()])
        sensible = -COLD * (solids + C_W * liquid + C_I * ice)
        some = ice > LEAST
        latent = _drawn(system, nodes, suction) - sensible
        what, axis = "latent heat [J/m³]", "water [kg/m³]"
        found.append(
            compare(f"{int(some.sum())} materials, {name}", "retention curve of the material", what, water[some],
                    latent[some], L_F * ice[some], 1e-2, RELATIVE, axis=axis)
        )  # fmt: skip
    return found
