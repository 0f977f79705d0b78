"""Layers along a straight line through a section: their resistances in series."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stemwall.cases.section.section_checks import SAME, Painted
from stemwall.cases.setup.switched_off import GROUND
from stemwall.cases.steady.conduction import Conduction
from stemwall.materials.material import Material
from stemwall.solver.discretisation.mesh import Mesh
from stemwall.solver.model.section import Membrane, Opening, Section


@dataclass(frozen=True)
class Line:
    """What a straight line meets: the resistance of layers between two airs, or of an air and the ground [m2 K/W]."""

    resistance: float
    thickness: float


def level_line(conduction: Conduction, materials: dict[str, Material], y: float, *, ground: bool) -> Line | None:
    """Return what a level line at a height [m] meets from the left up to the first inner air.

    It begins at the outdoors, or with ``ground`` where the ground ends; None if it meets no inner air.
    """
    mesh = conduction.network.mesh
    j = int(np.searchsorted(mesh.y_lines, y)) - 1
    return _along(conduction, materials, mesh, [(j, i) for i in range(mesh.x_lines.size - 1)], ground=ground)


def upright_line(conduction: Conduction, materials: dict[str, Material], x: float, top: float) -> Line | None:
    """Return what an upright line at x [m] meets from the ground up to the first air below a height [m]."""
    mesh = conduction.network.mesh
    i, last = int(np.searchsorted(mesh.x_lines, x)) - 1, int(np.searchsorted(mesh.y_lines, top - SAME))
    return _along(conduction, materials, mesh, [(j, i) for j in range(last + 1)], ground=True)


def between_airs(conduction: Conduction, materials: dict[str, Material], x: float, low: float) -> Line | None:
    """Return what an upright line at x [m] meets between the air at a height [m] and the next air above."""
    mesh = conduction.network.mesh
    i, first = int(np.searchsorted(mesh.x_lines, x)) - 1, int(np.searchsorted(mesh.y_lines, low + SAME)) - 1
    return _along(conduction, materials, mesh, [(j, i) for j in range(first, mesh.y_lines.size - 1)], ground=False)


def _along(
    conduction: Conduction, materials: dict[str, Material], mesh: Mesh, cells: list[tuple[int, int]], *, ground: bool
) -> Line | None:
    """Add up what lies between two airs, or with ``ground`` from the last of the ground to the first air after it."""
    upright = len({i for _, i in cells}) == 1
    sizes = np.diff(mesh.y_lines if upright else mesh.x_lines)
    membranes = mesh.section.membranes
    resistance = thickness = 0.0
    begun = False
    for j, i in cells:
        region = int(mesh.region[j, i])
        if region < 0:
            if begun and thickness > 0.0:
                return Line(float(resistance), thickness)
            resistance = thickness = 0.0
            begun = not ground
            continue
        material = materials[mesh.section.regions[region].material]
        if ground and material.hatch in GROUND:
            resistance = thickness = 0.0
            begun = True
        elif begun:
            size = float(sizes[j if upright else i])
            resistance += size / conduction.conductivity[int(mesh.material[j, i])]
            thickness += size
            place = (float(mesh.x_centres[i]), float(mesh.y_centres[j]))
            step = (0.0, 0.5 * size) if upright else (0.5 * size, 0.0)
            resistance += sum(m.resistance for m in membranes if _crosses(m, place, step))
    return None


def _crosses(membrane: Membrane, place: tuple[float, float], step: tuple[float, float]) -> bool:
    """Whether a membrane lies on the far side of a cell: beyond its centre by half its size."""
    x, y = place[0] + step[0], place[1] + step[1]
    x0, x1 = sorted((membrane.x0, membrane.x1))
    y0, y1 = sorted((membrane.y0, membrane.y1))
    level = bool(step[1])
    on_line = abs(y - y0) <= SAME and y1 - y0 <= SAME if level else abs(x - x0) <= SAME and x1 - x0 <= SAME
    return on_line and (x0 < x < x1 if level else y0 < y < y1)


def floor_of(section: Section, climate: str) -> tuple[float, float, float] | None:
    """Return y, and x from and to [m], of the lowest level that an air has at the middle of the building."""
    painted = Painted(section)
    own = [n for n, item in enumerate(section.items) if isinstance(item, Opening) and item.climate == climate]
    seen = np.isin(painted.owner, own)
    last = np.flatnonzero(seen[:, -1])
    if not last.size:
        return None
    j = int(last[0])
    i = seen.shape[1] - 1
    while i > 0 and seen[j, i - 1]:
        i -= 1
    return float(painted.ys[j]), float(painted.xs[i]), section.x1
