"""The network: nodes at the mesh corners and everything that joins them.

Unknowns live at the corners of the cells, so that every interface and every
exposed surface carries a node of its own: temperature and potential are
continuous there and the *total* heat and moisture flux is continuous, whatever
the two materials are.  A corner that a membrane cuts gets one node per side.

Vocabulary
    node    a corner (or one side of it), with unknowns T and s
    part    the share of a node that lies in one material: holds volume; along the grain of wood a second one conducts
    path    a conductor along a cell edge inside one material, between two parts
    sheet   a zero-thickness membrane between two nodes
    face    an exposed length of a node that meets a surface (climate or edge)
    surface one balance line: a climate (or edge) seen by one region in one direction
    stream  air that moves between two nodes, or between a node and a climate
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.materials.material import Material
from stemwall.solver.discretisation.mesh import MERGE, Mesh
from stemwall.solver.model.climate import FACINGS, Facing
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Edge, Finish, Membrane, Section

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: node, material, region and volume of every part
Parts = tuple[Ints, Ints, Ints, Floats]

# Quadrants round a corner, counter-clockwise; quadrant q and q+1 share ARM[q].
SW, SE, NE, NW = 0, 1, 2, 3


@dataclass(frozen=True)
class Surface:
    """One balance line: what a region shows to a climate, or the edge of the section.

    ``facing`` is the direction in which the solid looks; ``climate`` is None on
    an edge of kind "ground".  ``length`` [m] is the exposed length.
    ``group`` says what the flows are of where it is not the climate or the ground: a drain, an appliance, air that
    streams in.  What an ``inner`` surface passes on stays within the balance: it lies between the section and an
    air zone.
    """

    name: str
    climate: str | None
    edge: Edge | None
    region: int
    facing: Facing
    finish: Finish | None
    membrane: Membrane | None
    length: float
    drain: bool = False
    group: str = ""
    inner: bool = False

    @property
    def booked(self) -> str:
        """What its flows are of."""
        return self.group or self.climate or "ground"


@dataclass(frozen=True)
class Network:
    """Arrays of the network; lengths N nodes, P parts, C paths, S sheets, F faces.

    node_x, node_y (N,) [m]; corner_node (ny, nx, 4): node of a cell's SW, SE, NE, NW corner or -1;
    corner_scv likewise; scv_node, scv_material (from ``section.materials``, then ``section.grained`` along the
    grain), scv_region (P,), scv_volume (P,) [m2], 0 of parts along the grain;
    edge_a, edge_b (C,) parts, edge_shape (C,) width over length [-], edge_rise (C,) y_a - y_b [m];
    membrane_a, membrane_b (S,) nodes, membrane_width (S,) [m], membrane_index (S,) or -1 for the films between a
    face and an air zone: membrane_film (S, 2) [W/(m2 K)], [s/m], membrane_surface (S,) or -1;
    face_scv, face_node, face_surface (F,), face_width (F,) [m];
    link_a, link_b (Q,) nodes between which air moves, link_b = -1: the climate of
    link_surface (Q,); link_edges (Q, 2) paths beside it or -1; see `air_path`.
    """

    mesh: Mesh
    node_x: Floats
    node_y: Floats
    corner_node: NDArray[np.int32]
    corner_scv: NDArray[np.int32]
    scv_node: Ints
    scv_material: Ints
    scv_region: Ints
    scv_volume: Floats
    edge_a: Ints
    edge_b: Ints
    edge_shape: Floats
    edge_rise: Floats
    membrane_a: Ints
    membrane_b: Ints
    membrane_width: Floats
    membrane_index: Ints
    membrane_surface: Ints
    membrane_film: Floats
    face_scv: Ints
    face_node: Ints
    face_surface: Ints
    face_width: Floats
    surfaces: tuple[Surface, ...]
    link_a: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_b: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_surface: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    link_edges: Ints = field(default_factory=lambda: np.zeros((0, 2), dtype=np.int64))

    @property
    def nodes(self) -> int:
        return int(self.node_x.size)


def conducting(section: Section, materials: Mapping[str, Material]) -> tuple[Material, ...]:
    """Materials in the order of ``scv_material``: those drawn, then wood along its grain."""
    grained = (materials[key] for key in section.grained)
    return (*(materials[key] for key in section.materials), *(wood.along or wood for wood in grained))


def build_network(mesh: Mesh) -> Network:
    """Nodes, parts, paths, sheets and faces of a mesh."""
    quadrant_node, node_x, node_y = _nodes(mesh)
    corner_node = _cell_corners(quadrant_node)
    corner_scv, across = _parts(mesh, corner_node)
    along_x, along_y, (scv_node, scv_material, scv_region, scv_volume) = _with_grain(mesh, corner_scv, across)
    edge_a, edge_b, edge_shape, edge_rise = _paths(mesh, along_x, along_y, scv_node, node_y)
    sheets = _sheets(mesh, quadrant_node)
    faces = _Faces(mesh, corner_node, corner_scv)
    surfaces, face_arrays = _with_drains(mesh, faces.surfaces(), faces.arrays(), scv_node, scv_region, node_x, node_y)
    return Network(
        mesh, node_x, node_y, corner_node.astype(np.int32), corner_scv.astype(np.int32),
        scv_node, scv_material, scv_region, scv_volume,
        edge_a, edge_b, edge_shape, edge_rise, *sheets, *face_arrays, surfaces=surfaces,
    )  # fmt: skip


def _with_drains(
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
        parts = first[nodes]
        if nodes.size == 0:
            raise SectionError([f"drain '{drain.name}' lies in no solid part of the section"])
        number = np.full(nodes.size, len(surfaces), dtype=np.int64)
        region = int(scv_region[parts[0]])
        group = f"drain: {drain.name}"
        surfaces = (
            *surfaces, Surface(f"drain | {drain.name}", None, None, region, "down", None, None, 0.0, True, group)
        )  # fmt: skip
        added = (parts, nodes, number, np.ones(nodes.size))
        part, node, surface, width = (np.append(old, new) for old, new in zip(faces, added, strict=True))
        faces = _ints(part), _ints(node), _ints(surface), _floats(width)
    return surfaces, faces


def membrane_lines(mesh: Mesh) -> tuple[Ints, Ints]:
    """Membrane index on each horizontal (ny + 1, nx) and vertical (ny, nx + 1) cell edge, or -1."""
    section = mesh.section
    ny, nx = mesh.region.shape
    horizontal = np.full((ny + 1, nx), -1, dtype=np.int64)
    vertical = np.full((ny, nx + 1), -1, dtype=np.int64)
    for m, membrane in enumerate(section.membranes):
        on_edge = _on_segment(mesh, membrane)
        horizontal[on_edge[0]] = m
        vertical[on_edge[1]] = m
    return horizontal, vertical


def _on_segment(mesh: Mesh, item: Membrane | Finish) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which horizontal and vertical cell edges lie on the item's segment."""
    x0, x1 = sorted((item.x0, item.x1))
    y0, y1 = sorted((item.y0, item.y1))
    in_x = (mesh.x_centres > x0) & (mesh.x_centres < x1)
    in_y = (mesh.y_centres > y0) & (mesh.y_centres < y1)
    at_x = (np.abs(mesh.x_lines - x0) <= MERGE) & (x1 - x0 <= MERGE)
    at_y = (np.abs(mesh.y_lines - y0) <= MERGE) & (y1 - y0 <= MERGE)
    return at_y[:, None] & in_x[None, :], in_y[:, None] & at_x[None, :]


def _nodes(mesh: Mesh) -> tuple[Ints, Floats, Floats]:
    """Node of each quadrant of each corner, (ny + 1, nx + 1, 4), and node coordinates."""
    ny, nx = mesh.region.shape
    solid = np.zeros((ny + 2, nx + 2), dtype=bool)
    solid[1:-1, 1:-1] = mesh.solid
    quadrant = np.stack([solid[:-1, :-1], solid[:-1, 1:], solid[1:, 1:], solid[1:, :-1]], axis=-1)
    horizontal, vertical = membrane_lines(mesh)
    wall_h = np.zeros((ny + 1, nx + 2), dtype=bool)
    wall_h[:, 1:-1] = horizontal >= 0
    wall_v = np.zeros((ny + 2, nx + 1), dtype=bool)
    wall_v[1:-1, :] = vertical >= 0
    # the arm between quadrant q and q + 1: south, east, north, west of the corner
    cut = np.stack([wall_v[:-1, :], wall_h[:, 1:], wall_v[1:, :], wall_h[:, :-1]], axis=-1)
    label = np.where(quadrant, np.arange(4), 9)
    for _ in range(3):
        for q in range(4):
            r = (q + 1) % 4
            joined = quadrant[..., q] & quadrant[..., r] & ~cut[..., q]
            low = np.minimum(label[..., q], label[..., r])
            label[..., q] = np.where(joined, low, label[..., q])
            label[..., r] = np.where(joined, low, label[..., r])
    corner = np.arange((ny + 1) * (nx + 1)).reshape(ny + 1, nx + 1)
    # along diagonals: neighbours in the numbering are independent in the triangular solves,
    # which the processor then overlaps; the incomplete factors are those of the natural order
    diagonal = np.add.outer(np.arange(ny + 1), np.arange(nx + 1))
    order = np.argsort(diagonal.ravel(), kind="stable")
    rank = np.empty(corner.size, dtype=np.int64)
    rank[order] = np.arange(corner.size)
    key = rank[corner][..., None] * 10 + label
    used = quadrant
    unique, inverse = np.unique(key[used], return_inverse=True)
    node = np.full(quadrant.shape, -1, dtype=np.int64)
    node[used] = inverse
    at = order[unique // 10]
    return node, mesh.x_lines[at % (nx + 1)], mesh.y_lines[at // (nx + 1)]


def _cell_corners(quadrant_node: Ints) -> Ints:
    """Node at the SW, SE, NE, NW corner of each cell, (ny, nx, 4)."""
    q = quadrant_node
    return np.stack([q[:-1, :-1, NE], q[:-1, 1:, NW], q[1:, 1:, SW], q[1:, :-1, SE]], axis=-1)


def _parts(mesh: Mesh, corner_node: Ints) -> tuple[Ints, Parts]:
    count = len(mesh.section.materials)
    solid = mesh.solid
    node = corner_node[solid]
    key = node * count + mesh.material[solid][:, None]
    unique, inverse = np.unique(key, return_inverse=True)
    inverse = inverse.reshape(key.shape)
    area = np.diff(mesh.y_lines)[:, None] * np.diff(mesh.x_lines)[None, :]
    quarter = np.repeat(area[solid][:, None] / 4, 4, axis=1)
    volume = np.bincount(inverse.ravel(), weights=quarter.ravel(), minlength=unique.size)
    corner_scv = np.full(corner_node.shape, -1, dtype=np.int64)
    corner_scv[solid] = inverse
    # a part may touch two regions of one material: it belongs to the one painted last
    region = np.full(unique.size, -1, dtype=np.int64)
    np.maximum.at(region, inverse.ravel(), np.repeat(mesh.region[solid], 4))
    return corner_scv, (_ints(unique // count), _ints(unique % count), _ints(region), _floats(volume))


def _with_grain(mesh: Mesh, corner_scv: Ints, parts: Parts) -> tuple[Ints, Ints, Parts]:
    """Parts that conduct at the corners of cells along x and along y, and all parts.

    Across the grain it is the part that holds the volume, along it a second one without volume in the same node,
    of the material along its grain: both have one state, and each path finds the transport of its direction.
    """
    scv_node, scv_material, scv_region, scv_volume = parts
    section, first = mesh.section, len(mesh.section.materials)
    ends = {"x": corner_scv.copy(), "y": corner_scv.copy()}
    for direction, corners in ends.items():
        runs = np.array([region.grain == direction for region in section.regions] + [False])
        cells = runs[mesh.region]
        if not cells.any():
            continue
        across, inverse = np.unique(corner_scv[cells], return_inverse=True)
        corners[cells] = scv_node.size + inverse.reshape(-1, 4)
        keys = [section.materials[m] for m in scv_material[across]]
        scv_material = np.append(scv_material, [first + section.grained.index(key) for key in keys])
        scv_node = np.append(scv_node, scv_node[across])
        scv_region = np.append(scv_region, scv_region[across])
        scv_volume = np.append(scv_volume, np.zeros(across.size))
    parts = (_ints(scv_node), _ints(scv_material), _ints(scv_region), _floats(scv_volume))
    return ends["x"], ends["y"], parts


def _paths(
    mesh: Mesh, along_x: Ints, along_y: Ints, scv_node: Ints, node_y: Floats
) -> tuple[Ints, Ints, Floats, Floats]:
    solid = mesh.solid
    dx = np.broadcast_to(np.diff(mesh.x_lines)[None, :], solid.shape)[solid]
    dy = np.broadcast_to(np.diff(mesh.y_lines)[:, None], solid.shape)[solid]
    p, q = along_x[solid], along_y[solid]
    a = np.concatenate([p[:, 0], p[:, 3], q[:, 0], q[:, 1]])
    b = np.concatenate([p[:, 1], p[:, 2], q[:, 3], q[:, 2]])
    in_x, in_y = 0.5 * dy / dx, 0.5 * dx / dy
    shape = np.concatenate([in_x, in_x, in_y, in_y])
    total = int(scv_node.size)
    unique, inverse = np.unique(a * total + b, return_inverse=True)
    a, b = unique // total, unique % total
    rise = node_y[scv_node[a]] - node_y[scv_node[b]]
    return _ints(a), _ints(b), _floats(np.bincount(inverse, weights=shape)), _floats(rise)


def _sheets(mesh: Mesh, quadrant_node: Ints) -> tuple[Ints, Ints, Floats, Ints, Ints, Floats]:
    horizontal, vertical = membrane_lines(mesh)
    q = quadrant_node
    dx, dy = np.diff(mesh.x_lines), np.diff(mesh.y_lines)
    j, i = np.nonzero(horizontal >= 0)
    m = horizontal[j, i]
    pieces = [
        (q[j, i, SE], q[j, i, NE], dx[i] / 2, m),
        (q[j, i + 1, SW], q[j, i + 1, NW], dx[i] / 2, m),
    ]
    j, i = np.nonzero(vertical >= 0)
    m = vertical[j, i]
    pieces += [
        (q[j, i, NW], q[j, i, NE], dy[j] / 2, m),
        (q[j + 1, i, SW], q[j + 1, i, SE], dy[j] / 2, m),
    ]
    a, b, width, membrane = (np.concatenate([piece[k] for piece in pieces]) for k in range(4))
    real = (a >= 0) & (b >= 0) & (a != b)
    keys = np.stack([a[real], b[real], membrane[real]], axis=1)
    if keys.size == 0:
        empty = np.zeros(0, dtype=np.int64)
        return empty, empty, np.zeros(0), empty, empty, np.zeros((0, 2))
    unique, inverse = np.unique(keys, axis=0, return_inverse=True)
    width = np.bincount(inverse.ravel(), weights=width[real])
    nowhere = np.full(width.size, -1, dtype=np.int64)
    films = np.zeros((width.size, 2))
    return _ints(unique[:, 0]), _ints(unique[:, 1]), _floats(width), _ints(unique[:, 2]), nowhere, films


def _floats(values: NDArray[Any]) -> Floats:
    """A contiguous array of numbers."""
    return np.ascontiguousarray(values, dtype=np.float64)


def _ints(values: NDArray[Any]) -> Ints:
    """A contiguous index array."""
    return np.ascontiguousarray(values, dtype=np.int64)


class _Faces:
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
            for line, on in zip(lines, _on_segment(self.mesh, finish), strict=True):
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
        surface = np.array([r[0] for r in self.rows], dtype=np.int64)
        part = np.array([r[1] for r in self.rows], dtype=np.int64)
        width = np.array([r[2] for r in self.rows], dtype=np.float64)
        if surface.size == 0:
            return part, part.copy(), surface, width
        node_of_part = np.full(int(self.corner_scv.max()) + 1, -1, dtype=np.int64)
        inside = self.corner_scv >= 0
        node_of_part[self.corner_scv[inside]] = self.corner_node[inside]
        key = surface * node_of_part.size + part
        unique, inverse = np.unique(key, return_inverse=True)
        part, surface = _ints(unique % node_of_part.size), _ints(unique // node_of_part.size)
        return part, node_of_part[part], surface, _floats(np.bincount(inverse, weights=width))

    def _place(self, edge: int | None) -> int:
        """What lies beyond the outer rectangle: a climate's index, or -1 - index of a ground edge."""
        assert edge is not None
        climate = self.mesh.section.edges[edge].climate
        return -1 - edge if climate is None else self.mesh.section.climates.index(climate)

    def surfaces(self) -> tuple[Surface, ...]:
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
