"""The faces of a part: which other part, membrane or air lies where along its border."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.membranes import membrane_lines
from stemwall.solver.discretisation.network import Network

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: what lies beyond the outer rectangle
EDGE = "edge of the section"
#: sides of a cell: word, corners, step to the neighbour, and from the cell's own line to that of the side
SIDES = (
    ("above", (3, 2), (1, 0), (1, 0)),
    ("below", (0, 1), (-1, 0), (0, 0)),
    ("left", (0, 3), (0, -1), (0, 0)),
    ("right", (1, 2), (0, 1), (0, 1)),
)


@dataclass
class Face:
    """One face of a part: what lies beyond, on which side, and how long it is.

    Parameters
    ----------
    beyond, side : str
        Name of the region or air, and the side of the part that it lies on.
    membrane : str
        Name of the membrane between, or empty.
    solid : bool
        Whether a solid lies beyond.
    length : float
        Length [m].
    middle : tuple of float
        Middle of its pieces (x, y) [m].
    widths : dict
        Length by node [m].
    """

    beyond: str
    side: str
    membrane: str
    solid: bool
    length: float = 0.0
    middle: tuple[float, float] = (0.0, 0.0)
    widths: dict[int, float] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Name of the face in tables and drawings."""
        through = f", through {self.membrane}" if self.membrane else ""
        return f"{self.side}: {self.beyond}{through}"


def faces_of(network: Network, region: int) -> list[Face]:
    """Return the faces of a region in the order of the sides and of the first place, edges of the section included."""
    mesh = network.mesh
    section = mesh.section
    horizontal, vertical = membrane_lines(mesh)
    heights, widths = np.diff(mesh.y_lines), np.diff(mesh.x_lines)
    found: dict[tuple[str, str, str], Face] = {}
    for side, corners, step, line in SIDES:
        upright = side in ("left", "right")
        for j, i in np.argwhere(mesh.region == region).tolist():
            beyond, solid = _beyond(network, j + step[0], i + step[1], side)
            if solid and beyond == section.regions[region].name:
                continue
            lines = vertical if upright else horizontal
            number = int(lines[j + line[0], i + line[1]])
            membrane = section.membranes[number].name if number >= 0 else ""
            face = found.setdefault((side, beyond, membrane), Face(beyond, side, membrane, solid))
            length = float(heights[j] if upright else widths[i])
            x = float(mesh.x_lines[i + line[1]] if upright else mesh.x_centres[i])
            y = float(mesh.y_centres[j] if upright else mesh.y_lines[j + line[0]])
            total = face.length + length
            face.middle = (
                (face.middle[0] * face.length + x * length) / total,
                (face.middle[1] * face.length + y * length) / total,
            )
            face.length = total
            for corner in corners:
                node = int(network.corner_node[j, i, corner])
                face.widths[node] = face.widths.get(node, 0.0) + 0.5 * length
    return list(found.values())


def _beyond(network: Network, j: int, i: int, side: str) -> tuple[str, bool]:
    """What lies in a cell: its name, and whether that is solid."""
    mesh = network.mesh
    ny, nx = mesh.region.shape
    if not (0 <= j < ny and 0 <= i < nx):
        return EDGE, False
    if mesh.region[j, i] >= 0:
        return mesh.section.regions[int(mesh.region[j, i])].name, True
    return mesh.section.openings[int(mesh.opening[j, i])].climate, False
