"""Kernels of local treatment: which nodes still move, what belongs to them, and in which rows they are.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.simd import WIDTH


@kernel
def mark(update, scale, threshold, indptr, indices, marked):
    """Mark the nodes whose scaled update exceeds a threshold, and their neighbours; ``marked`` (N,)."""
    marked[:] = False
    for i in range(marked.size):
        if max(abs(update[i, 0] * scale[i, 0]), abs(update[i, 1] * scale[i, 1])) > threshold:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True


@kernel
def mark_owing(residual, storage, share, indptr, indices, marked):
    """Mark the nodes whose water residual exceeds a share of the water they hold, and their neighbours, as well."""
    for i in range(marked.size):
        if abs(residual[i, 1]) > share * storage[i, 1]:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True


@kernel
def widen(nodes, indptr, indices, marked):
    """Mark the neighbours of some nodes as well."""
    for number in range(nodes.size):
        i = nodes[number]
        for k in range(indptr[i], indptr[i + 1]):
            marked[indices[k]] = True


@kernel
def mark_within(nodes, inside, update, scale, threshold, capacity, matrix_capacity, softer, indptr, indices, marked):
    """Mark what of a patch has to be seen again: ``marked`` (N,) of its ``nodes``, which ``inside`` (N,) marks.

    These are the nodes whose scaled update exceeds a threshold or which hold less heat per kelvin than a share of what
    the matrix was told, and their neighbours.  Returns whether there are any.
    """
    found = False
    for number in range(nodes.size):
        marked[nodes[number]] = False
    for number in range(nodes.size):
        i = nodes[number]
        moves = max(abs(update[i, 0] * scale[i, 0]), abs(update[i, 1] * scale[i, 1])) > threshold
        if moves or capacity[i, 0] < softer * matrix_capacity[i, 0]:
            found = True
            for k in range(indptr[i], indptr[i + 1]):
                j = indices[k]
                if inside[j]:
                    marked[j] = True
    return found


@kernel
def mark_joined(ends_a, ends_b, marked):
    """Mark what links (L,) join to marked nodes; a link whose second end is below zero joins nothing.

    Returns whether any was marked: others may be joined to these in turn.
    """
    more = False
    for c in range(ends_a.size):
        a, b = ends_a[c], ends_b[c]
        if b >= 0 and marked[a] != marked[b]:
            marked[a] = marked[b] = more = True
    return more


@kernel
def gather(among, marked, path_start, paths_of, path_other, nodes, paths):
    """List the marked among some nodes, all in ascending order, and the paths that touch them; returns how many."""
    count, joined = 0, 0
    for number in range(among.size):
        i = among[number]
        if not marked[i]:
            continue
        nodes[count] = i
        count += 1
        for k in range(path_start[i], path_start[i + 1]):
            # a path with both ends marked is listed once
            if not marked[path_other[k]] or i < path_other[k]:
                paths[joined] = paths_of[k]
                joined += 1
    return count, joined


@kernel
def gather_border(marked, count, path_start, paths_of, path_other, seen, nodes, border, outer):
    """List the paths that leave the marked nodes, heads of ``nodes``, and the nodes at their outer ends.

    ``outer`` gives the outer end of each path listed; ``nodes`` goes on with these ends, each once.
    ``seen`` (N,) is False everywhere, before and after.  Returns how many paths, and how many nodes in all.
    """
    joined, whole = 0, count
    for number in range(count):
        i = nodes[number]
        for k in range(path_start[i], path_start[i + 1]):
            j = path_other[k]
            if marked[j]:
                continue
            border[joined], outer[joined] = paths_of[k], j
            joined += 1
            if not seen[j]:
                seen[j] = True
                nodes[whole] = j
                whole += 1
    for number in range(count, whole):
        seen[nodes[number]] = False
    return joined, whole


@kernel
def groups_of(nodes, row, groups, inside):
    """List the groups of four rows in which nodes, in ascending order, have theirs; returns how many.

    ``inside`` (R,) says which rows are theirs.
    """
    count, last = 0, -1
    inside[:] = False
    for number in range(nodes.size):
        r = row[nodes[number]]
        inside[r] = True
        group = r // WIDTH
        if group != last:
            groups[count] = last = group
            count += 1
    return count


@kernel
def give_rows(indptr, indices, diagonal, row):
    """Fill ``row`` (N,): nodes in groups of four none of which is coupled to another, in their order; see `couplings`.

    Returns how many rows there are.
    """
    # a group of empty rows before all others, and one behind: links may reach beyond the first and the last
    after = WIDTH
    for n in range(row.size):
        begun = after - after % WIDTH
        for k in range(indptr[n], diagonal[n]):
            if row[indices[k]] >= begun:
                after = begun + WIDTH
        row[n] = after
        after += 1
    return after + (WIDTH - after % WIDTH) % WIDTH + WIDTH
