"""Kernels of local treatment: which nodes still move, and updates of these alone.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True, error_model="numpy")
def mark(
    update, scale, threshold, indptr, indices, part_start, parts_of, path_start, paths_of, path_other, marked,
    nodes, parts, paths,
):  # fmt: skip
    """Mark the nodes whose scaled update exceeds a threshold and their neighbours; list what belongs to them.

    Fills ``marked`` (N,) and the heads of the lists; returns the lengths of the lists.
    """
    rows = update.shape[0]
    marked[:] = False
    for i in range(rows):
        if max(abs(update[i, 0] * scale[i, 0]), abs(update[i, 1] * scale[i, 1])) > threshold:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True
    count, held, joined = 0, 0, 0
    for i in range(rows):
        if not marked[i]:
            continue
        nodes[count] = i
        count += 1
        for k in range(part_start[i], part_start[i + 1]):
            parts[held] = parts_of[k]
            held += 1
        for k in range(path_start[i], path_start[i + 1]):
            # a path with both ends marked is listed once
            if not marked[path_other[k]] or i < path_other[k]:
                paths[joined] = paths_of[k]
                joined += 1
    return count, held, joined


@njit(cache=True, error_model="numpy")
def parts_of_nodes(nodes, count, part_start, parts_of, parts):
    """List the parts of the first ``count`` nodes of a list; returns how many."""
    held = 0
    for number in range(count):
        n = nodes[number]
        for k in range(part_start[n], part_start[n + 1]):
            parts[held] = parts_of[k]
            held += 1
    return held


@njit(cache=True, error_model="numpy")
def factorise(nodes, marked, indptr, indices, diagonal, values, factors, position):
    """Block ILU(0) of the rows and columns of ``nodes``; see `krylov_kernels.factorise`.

    ``marked`` (N,) says which columns count.  Returns the first row with a singular block, or -1.
    """
    for number in range(nodes.size):
        i = nodes[number]
        start, stop, own = indptr[i], indptr[i + 1], diagonal[i]
        for k in range(start, stop):
            position[indices[k]] = k
            factors[k, 0], factors[k, 1] = values[k, 0], values[k, 1]
            factors[k, 2], factors[k, 3] = values[k, 2], values[k, 3]
        for k in range(start, own):
            j = indices[k]
            if not marked[j]:
                continue
            d = diagonal[j]
            d0, d1, d2, d3 = factors[d, 0], factors[d, 1], factors[d, 2], factors[d, 3]
            f0, f1, f2, f3 = factors[k, 0], factors[k, 1], factors[k, 2], factors[k, 3]
            a0 = f0 * d0 + f1 * d2
            a1 = f0 * d1 + f1 * d3
            a2 = f2 * d0 + f3 * d2
            a3 = f2 * d1 + f3 * d3
            factors[k, 0] = a0
            factors[k, 1] = a1
            factors[k, 2] = a2
            factors[k, 3] = a3
            for q in range(d + 1, indptr[j + 1]):
                p = position[indices[q]]
                if p >= 0:
                    u0, u1, u2, u3 = factors[q, 0], factors[q, 1], factors[q, 2], factors[q, 3]
                    factors[p, 0] -= a0 * u0 + a1 * u2
                    factors[p, 1] -= a0 * u1 + a1 * u3
                    factors[p, 2] -= a2 * u0 + a3 * u2
                    factors[p, 3] -= a2 * u1 + a3 * u3
        d0, d1, d2, d3 = factors[own, 0], factors[own, 1], factors[own, 2], factors[own, 3]
        determinant = d0 * d3 - d1 * d2
        for k in range(start, stop):
            position[indices[k]] = -1
        if determinant == 0.0 or not math.isfinite(determinant):
            return i
        factors[own, 0] = d3 / determinant
        factors[own, 1] = -d1 / determinant
        factors[own, 2] = -d2 / determinant
        factors[own, 3] = d0 / determinant
    return -1


@njit(cache=True, error_model="numpy")
def precondition(nodes, marked, indptr, indices, diagonal, factors, x):
    """Overwrite x (N, 2) at the nodes with the incomplete factors' solution, x zero elsewhere."""
    for number in range(nodes.size):
        i = nodes[number]
        r0, r1 = x[i, 0], x[i, 1]
        for k in range(indptr[i], diagonal[i]):
            j = indices[k]
            if marked[j]:
                r0 -= factors[k, 0] * x[j, 0] + factors[k, 1] * x[j, 1]
                r1 -= factors[k, 2] * x[j, 0] + factors[k, 3] * x[j, 1]
        x[i, 0], x[i, 1] = r0, r1
    for number in range(nodes.size - 1, -1, -1):
        i = nodes[number]
        r0, r1 = x[i, 0], x[i, 1]
        for k in range(diagonal[i] + 1, indptr[i + 1]):
            j = indices[k]
            if marked[j]:
                r0 -= factors[k, 0] * x[j, 0] + factors[k, 1] * x[j, 1]
                r1 -= factors[k, 2] * x[j, 0] + factors[k, 3] * x[j, 1]
        d = diagonal[i]
        x[i, 0] = factors[d, 0] * r0 + factors[d, 1] * r1
        x[i, 1] = factors[d, 2] * r0 + factors[d, 3] * r1
