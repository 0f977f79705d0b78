"""Membranes: interfaces of no thickness, which cut a corner into nodes on either side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.mesh import MERGE, Mesh
from stemwall.solver.discretisation.network import NE, NW, SE, SW
from stemwall.solver.model.arrays import Floats, Ints, as_floats, as_ints
from stemwall.solver.model.section import Finish, Membrane


def membrane_lines(mesh: Mesh) -> tuple[Ints, Ints]:
    """Membrane index on each horizontal (ny + 1, nx) and vertical (ny, nx + 1) cell edge, or -1."""
    section = mesh.section
    ny, nx = mesh.region.shape
    horizontal = np.full((ny + 1, nx), -1, dtype=np.int64)
    vertical = np.full((ny, nx + 1), -1, dtype=np.int64)
    for m, membrane in enumerate(section.membranes):
        on_edge = on_segment(mesh, membrane)
        horizontal[on_edge[0]] = m
        vertical[on_edge[1]] = m
    return horizontal, vertical


def on_segment(mesh: Mesh, item: Membrane | Finish) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which horizontal and vertical cell edges lie on the item's segment."""
    x0, x1 = sorted((item.x0, item.x1))
    y0, y1 = sorted((item.y0, item.y1))
    in_x = (mesh.x_centres > x0) & (mesh.x_centres < x1)
    in_y = (mesh.y_centres > y0) & (mesh.y_centres < y1)
    at_x = (np.abs(mesh.x_lines - x0) <= MERGE) & (x1 - x0 <= MERGE)
    at_y = (np.abs(mesh.y_lines - y0) <= MERGE) & (y1 - y0 <= MERGE)
    return at_y[:, None] & in_x[None, :], in_y[:, None] & at_x[None, :]


def membranes(mesh: Mesh, quadrant_node: Ints) -> tuple[Ints, Ints, Floats, Ints, Ints, Floats]:
    """Nodes on both sides of every membrane, its width [m], and the other membrane arrays of a `Network`, each (M,)."""
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
    return as_ints(unique[:, 0]), as_ints(unique[:, 1]), as_floats(width), as_ints(unique[:, 2]), nowhere, films
