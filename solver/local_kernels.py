"""Kernels of local treatment: which nodes still move, what belongs to them, and in which order to sweep them.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

from numba import njit


@njit(cache=True, error_model="numpy")
def mark(update, scale, threshold, indptr, indices, marked):
    """Mark the nodes whose scaled update exceeds a threshold, and their neighbours; ``marked`` (N,)."""
    marked[:] = False
    for i in range(marked.size):
        if max(abs(update[i, 0] * scale[i, 0]), abs(update[i, 1] * scale[i, 1])) > threshold:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def gather(marked, path_start, paths_of, path_other, nodes, paths):
    """List the marked nodes in ascending order, and the paths that touch them; returns the lengths of the lists."""
    count, joined = 0, 0
    for i in range(marked.size):
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


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def pass_marked(marked, inside, whole, step, sweep):
    """Fill a sweep through the marked nodes, far couplings to nodes inside (both (N,)) only; returns its runs.

    ``whole`` is a sweep through all nodes, ``step`` 1 or -1 its direction; see `couplings.Sweep`.
    """
    begins, ends, firsts, pairs, columns = whole
    new_begins, new_ends, new_firsts, new_pairs, new_columns = sweep
    runs, held = 0, 0
    new_firsts[0] = 0
    for number in range(begins.size):
        joined = False
        for i in range(begins[number], ends[number], step):
            if not marked[i]:
                joined = False
                continue
            if not joined:
                new_begins[runs] = i
                if i == begins[number]:
                    for k in range(firsts[number], firsts[number + 1]):
                        if inside[columns[k]]:
                            new_pairs[held], new_columns[held] = pairs[k], columns[k]
                            held += 1
                runs += 1
                joined = True
            new_ends[runs - 1], new_firsts[runs] = i + step, held
    return runs
