"""The active set: nodes whose next update or residual is large, and the edges that touch them (N6)."""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel


@kernel
def flag_active(update, weights, threshold, indptr, indices, marked):
    """Mark the nodes whose weightsd update exceeds a threshold, and their neighbours; ``marked`` (N,)."""
    marked[:] = False
    for i in range(marked.size):
        if max(abs(update[i, 0] * weights[i, 0]), abs(update[i, 1] * weights[i, 1])) > threshold:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True


@kernel
def flag_unbalanced(residual, storage, share, indptr, indices, marked):
    """Mark the nodes whose water residual exceeds a share of the water they hold, and their neighbours, as well."""
    for i in range(marked.size):
        if abs(residual[i, 1]) > share * storage[i, 1]:
            for k in range(indptr[i], indptr[i + 1]):
                marked[indices[k]] = True


@kernel
def add_neighbours(nodes, indptr, indices, marked):
    """Mark the neighbours of some nodes as well."""
    for number in range(nodes.size):
        i = nodes[number]
        for k in range(indptr[i], indptr[i + 1]):
            marked[indices[k]] = True


@kernel
def flag_linked(ends_a, ends_b, marked):
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
def compact(among, marked, edge_start, edges_of, edge_other, nodes, edges):
    """List the marked among some nodes, all in ascending order, and the edges that touch them; returns how many."""
    count, joined = 0, 0
    for number in range(among.size):
        i = among[number]
        if not marked[i]:
            continue
        nodes[count] = i
        count += 1
        for k in range(edge_start[i], edge_start[i + 1]):
            # a edge with both ends marked is listed once
            if not marked[edge_other[k]] or i < edge_other[k]:
                edges[joined] = edges_of[k]
                joined += 1
    return count, joined


@kernel
def compact_interface(marked, count, edge_start, edges_of, edge_other, seen, nodes, interface, outer):
    """List the edges that leave the marked nodes, heads of ``nodes``, and the nodes at their outer ends.

    ``outer`` gives the outer end of each edge listed; ``nodes`` goes on with these ends, each once.
    ``seen`` (N,) is False everywhere, before and after.  Returns how many edges, and how many nodes in all.
    """
    joined, whole = 0, count
    for number in range(count):
        i = nodes[number]
        for k in range(edge_start[i], edge_start[i + 1]):
            j = edge_other[k]
            if marked[j]:
                continue
            interface[joined], outer[joined] = edges_of[k], j
            joined += 1
            if not seen[j]:
                seen[j] = True
                nodes[whole] = j
                whole += 1
    for number in range(count, whole):
        seen[nodes[number]] = False
    return joined, whole
