"""Faces: what the section shows to climates and at its edges, gathered into balance lines; and drains."""

from __future__ import annotations

import numpy as np

from stemwall.solver.discretisation.membranes import membrane_lines, on_segment
from stemwall.solver.discretisation.mesh import MERGE, Mesh
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.arrays import Floats, Ints, as_floats, as_ints
from stemwall.solver.model.climate import FACINGS, Facing
from stemwall.solver.model.errors import SectionError


class ExposedFaces:
    """Collects exposed lengths and gathers them into surfaces and faces."""

    def __init__(self, mesh: Mesh, corner_node: Ints, corner_scv: Ints) -> None:
        self.mesh, self.corner_node, self.corner_scv = mesh, corner_node, corner_scv
        self.keys: dict[tuple[int, int, int, int, int], int] = {}
        self.rows: list[tuple[int, int, float]] = []
        horizontal, vertical = membrane_lines(mesh)
        self.membrane = (horizontal, vertical)
        self.finish = self._finish_lines()
        section = mesh.section
        self.climate_of_opening = [section.climates.index(o.climate) for o in section.openings]
        edges: dict[str, int] = {
            edge.side: k for k, edge in enumerate(section.edges) if (edge.kind, edge.water) != ("closed",) * 2
        }
        self._collect("up", 3, 2, (1, 0), edges.get("top"))
        self._collect("down", 0, 1, (-1, 0), edges.get("bottom"))
        self._collect("left", 0, 3, (0, -1), edges.get("left"))
        self._collect("right", 1, 2, (0, 1), edges.get("right"))

    def _finish_lines(self) -> tuple[Ints, Ints]:
        ny, nx = self.mesh.region.shape
        lines = np.full((ny + 1, nx), -1, dtype=np.int64), np.full((ny, nx + 1), -1, dtype=np.int64)
        for k, finish in enumerate(self.mesh.section.finishes):
            for line, on in zip(lines, on_segment(self.mesh, finish), strict=True):
                line[on] = k
        return lines

    def _collect(self, facing: Facing, first: int, second: int, step: tuple[int, int], edge: int | None) -> None:
        """Faces of all cells that look one way; ``first`` and ``second`` are the cell's corners there."""
        mesh = self.mesh
        ny, nx = mesh.region.shape
        upright = facing in ("left", "right")
        after = 1 if step[0] + step[1] > 0 else 0
        widths = np.diff(mesh.y_lines) if upright else np.diff(mesh.x_lines)
        # what lies before each cell: solid, an opening, or (closed unless it has an edge) the outside
        around = np.full((ny + 2, nx + 2), edge is None)
        around[1:-1, 1:-1] = mesh.region >= 0
        before = around[1 + step[0] : ny + 1 + step[0], 1 + step[1] : nx + 1 + step[1]]
        for j, i in np.argwhere(mesh.solid & ~before):
            jn, im = j + step[0], i + step[1]
            outside = not (0 <= jn < ny and 0 <= im < nx)
            line = (j, i + after) if upright else (j + after, i)
            key = (
                self._place(edge) if outside else self.climate_of_opening[int(mesh.opening[jn, im])],
                int(mesh.region[j, i]),
                FACINGS.index(facing),
                int(self.finish[int(upright)][line]),
                int(self.membrane[int(upright)][line]),
            )
            surface = self.keys.setdefault(key, len(self.keys))
            half = 0.5 * float(widths[j] if upright else widths[i])
            for corner in (first, second):
                self.rows.append((surface, int(self.corner_scv[j, i, corner]), half))

    def arrays(self) -> tuple[Ints, Ints, Ints, Floats]:
        """Sub-control volume, node, surface and width [m] of every face, each (F,)."""
        surface = np.array([r[0] for r in self.rows], dtype=np.int64)
        scv = np.array([r[1] for r in self.rows], dtype=np.int64)
        width = np.array([r[2] for r in self.rows], dtype=np.float64)
        if surface.size == 0:
            return scv, scv.copy(), surface, width
        node_of_scv = np.full(int(self.corner_scv.max()) + 1, -1, dtype=np.int64)
        inside = self.corner_scv >= 0
        node_of_scv[self.corner_scv[inside]] = self.corner_node[inside]
        key = surface * node_of_scv.size + scv
        unique, inverse = np.unique(key, return_inverse=True)
        scv, surface = as_ints(unique % node_of_scv.size), as_ints(unique // node_of_scv.size)
        return scv, node_of_scv[scv], surface, as_floats(np.bincount(inverse, weights=width))

    def _place(self, edge: int | None) -> int:
        """What lies beyond the outer rectangle: a climate's index, or -1 - index of a ground edge."""
        assert edge is not None
        climate = self.mesh.section.edges[edge].climate
        return -1 - edge if climate is None else self.mesh.section.climates.index(climate)

    def surfaces(self) -> tuple[Surface, ...]:
        """Balance lines in the order in which faces were found."""
        lengths = np.zeros(len(self.keys))
        for surface, _, half in self.rows:
            lengths[surface] += half
        return tuple(self._surface(key, float(lengths[number])) for key, number in self.keys.items())

    def _surface(self, key: tuple[int, int, int, int, int], length: float) -> Surface:
        section = self.mesh.section
        place, region, facing, finish_number, membrane_number = key
        climate = section.climates[place] if place >= 0 else None
        edge = section.edges[-1 - place] if place < 0 else None
        finish = section.finishes[finish_number] if finish_number >= 0 else None
        membrane = section.membranes[membrane_number] if membrane_number >= 0 else None
        seen = climate or (f"{edge.side} edge" if edge else "")
        extra = "".join(f" ({item.name})" for item in (membrane, finish) if item)
        name = f"{seen} | {section.regions[region].name}, {FACINGS[facing]}{extra}"
        return Surface(name, climate, edge, region, FACINGS[facing], finish, membrane, length)


def with_drains(
    mesh: Mesh,
    surfaces: tuple[Surface, ...],
    faces: tuple[Ints, Ints, Ints, Floats],
    scv_node: Ints,
    scv_region: Ints,
    node_x: Floats,
    node_y: Floats,
) -> tuple[tuple[Surface, ...], tuple[Ints, Ints, Ints, Floats]]:
    """Add a surface per drain with a face of unit width on every node in it."""
    for drain in mesh.section.drains:
        inside = (node_x >= drain.x0 - MERGE) & (node_x <= drain.x1 + MERGE)
        inside &= (node_y >= drain.y0 - MERGE) & (node_y <= drain.y1 + MERGE)
        nodes = np.flatnonzero(inside)
        first = np.full(node_x.size, -1, dtype=np.int64)
        first[scv_node[::-1]] = np.arange(scv_node.size)[::-1]
        volumes = first[nodes]
        if nodes.size == 0:
            raise SectionError([f"drain '{drain.name}' lies in no solid part of the section"])
        number = np.full(nodes.size, len(surfaces), dtype=np.int64)
        region = int(scv_region[volumes[0]])
        group = f"drain: {drain.name}"
        name = f"drain | {drain.name}"
        surfaces = (*surfaces, Surface(name, None, None, region, "down", None, None, 0.0, drain=True, group=group))
        added = (volumes, nodes, number, np.ones(nodes.size))
        scv, node, surface, width = (np.append(old, new) for old, new in zip(faces, added, strict=True))
        faces = as_ints(scv), as_ints(node), as_ints(surface), as_floats(width)
    return surfaces, faces
