"""Nodes at the corners of cells, the sub-control volumes round them, and the edges between those."""

from __future__ import annotations

import numpy as np

from stemwall.solver.discretisation.membranes import membrane_lines
from stemwall.solver.discretisation.mesh import Mesh
from stemwall.solver.discretisation.network import NE, NW, SE, SW
from stemwall.solver.model.arrays import Floats, Ints, as_floats, as_ints

#: node, material, region and volume of every sub-control volume, each (S,)
SubControlVolumes = tuple[Ints, Ints, Ints, Floats]


def nodes_of_corners(mesh: Mesh) -> tuple[Ints, Floats, Floats]:
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


def cell_corners(quadrant_node: Ints) -> Ints:
    """Node at the SW, SE, NE, NW corner of each cell, (ny, nx, 4)."""
    q = quadrant_node
    return np.stack([q[:-1, :-1, NE], q[:-1, 1:, NW], q[1:, 1:, SW], q[1:, :-1, SE]], axis=-1)


def sub_control_volumes(mesh: Mesh, corner_node: Ints) -> tuple[Ints, SubControlVolumes]:
    """Sub-control volume of each corner of each cell, (ny, nx, 4), and what each is, across the grain."""
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
    # one may touch two regions of one material: it belongs to the one painted last
    region = np.full(unique.size, -1, dtype=np.int64)
    np.maximum.at(region, inverse.ravel(), np.repeat(mesh.region[solid], 4))
    return corner_scv, (as_ints(unique // count), as_ints(unique % count), as_ints(region), as_floats(volume))


def with_grain(mesh: Mesh, corner_scv: Ints, volumes: SubControlVolumes) -> tuple[Ints, Ints, SubControlVolumes]:
    """Sub-control volumes that conduct at the corners of cells along x and along y, each (ny, nx, 4), and all of them.

    Across the grain it is the one that holds the volume, along it a second one without volume in the same node,
    of the material along its grain: both have one state, and each edge finds the transport of its direction.
    """
    scv_node, scv_material, scv_region, scv_volume = volumes
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
    volumes = (as_ints(scv_node), as_ints(scv_material), as_ints(scv_region), as_floats(scv_volume))
    return ends["x"], ends["y"], volumes


def edges(
    mesh: Mesh, along_x: Ints, along_y: Ints, scv_node: Ints, node_y: Floats
) -> tuple[Ints, Ints, Floats, Floats]:
    """Sub-control volumes at both ends of every edge, width over length [-] and rise y_a - y_b [m], each (E,)."""
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
    return as_ints(a), as_ints(b), as_floats(np.bincount(inverse, weights=shape)), as_floats(rise)
