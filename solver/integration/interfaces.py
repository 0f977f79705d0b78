"""Coefficients of membranes inside a section, on exposed faces, and of films before air zones."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.network import Network
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Membrane

Floats = NDArray[np.float64]

#: liquid conductance of a membrane that lets liquid through [kg/(m2 s Pa)]; large
#: against any neighbouring material, so that it joins and does not throttle
OPEN_CONTACT = 1e-5
#: conductance by which standing water enters a bare face [kg/(m2 s Pa)]; holds its pressure to some
#: pascals on anything but coarse stone
FLOOD_CONTACT = 1e-4
#: permeance of a face without a membrane before a film [kg/(m2 s Pa)]
NO_BARRIER = 1e20
#: least thermal resistance of a membrane [m2 K/W], and its least equivalent air layer [m]
LEAST_RESISTANCE, LEAST_SD = 1e-4, 1e-4


def membrane_coefficients(membrane: Membrane) -> tuple[float, float, float, float]:
    """Conductance [W/(m2 K)], dry and wet permeance, liquid conductance [kg/(m2 s Pa)] of a membrane."""
    air = layout.AIR_PERMEABILITY
    return (
        1.0 / max(membrane.resistance, LEAST_RESISTANCE),
        air / max(membrane.sd_dry, LEAST_SD),
        air / max(membrane.sd_wet, LEAST_SD),
        OPEN_CONTACT if membrane.liquid == "open" else 0.0,
    )


def membrane_data(network: Network) -> Floats:
    """Coefficients (M, 5) of all membranes and films of a network, see `arrays.Geometry`."""
    data = np.zeros((network.membrane_a.size, 5))
    for c, (m, k) in enumerate(zip(network.membrane_index, network.membrane_surface, strict=True)):
        if m >= 0:
            data[c, :4] = membrane_coefficients(network.mesh.section.membranes[m])
        else:
            film, beta = network.membrane_film[c]
            data[c] = _behind(film, beta, network.surfaces[k].membrane)
    return data


def face_data(network: Network) -> Floats:
    """Resistances on the exposed faces (F, 6), see `arrays.Geometry`."""
    data = np.zeros((network.face_node.size, 6))
    data[:, 3], data[:, 4] = network.node_y[network.face_node], FLOOD_CONTACT
    for f, k in enumerate(network.face_surface):
        surface = network.surfaces[k]
        if surface.membrane is not None:
            conductance, dry, wet, liquid = membrane_coefficients(surface.membrane)
            data[f, :3], data[f, 4] = (1.0 / conductance, dry, wet), liquid
        if surface.edge is not None and surface.edge.water == "table":
            data[f, 5] = layout.RHO_W * layout.GRAVITY * (data[f, 3] - network.mesh.section.y0)
    return data


def _behind(film: float, beta: float, membrane: Membrane | None) -> tuple[float, float, float, float, float]:
    """Coefficients of a film in series with a membrane on the face; alone, it is one before what bars nothing."""
    if membrane is None:
        return film, NO_BARRIER, NO_BARRIER, 0.0, 1 / beta
    conductance, dry, wet, _ = membrane_coefficients(membrane)
    return 1 / (1 / film + 1 / conductance), dry, wet, 0.0, 1 / beta
