"""Sparsity of the Jacobian, and what belongs to each node."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.discretisation.network import Network

Ints = NDArray[np.int64]
Ints32 = NDArray[np.int32]


def jacobian_pattern(network: Network) -> dict[str, NDArray[Any]]:
    """Block-sparse rows and the slots of every coupling in them, by the names of `arrays.Jacobian`."""
    n = network
    i, j = n.scv_node[n.edge_a], n.scv_node[n.edge_b]
    # an air link from a climate couples its node to nothing else
    a, b = n.link_a, np.where(n.link_b < 0, n.link_a, n.link_b)
    rows = np.concatenate([np.arange(n.nodes), i, j, n.membrane_a, n.membrane_b, a, b])
    columns = np.concatenate([np.arange(n.nodes), j, i, n.membrane_b, n.membrane_a, b, a])
    keys, inverse = np.unique(rows * n.nodes + columns, return_inverse=True)
    edges, membranes, links = n.edge_a.size, n.membrane_a.size, n.link_a.size
    ends = np.cumsum([n.nodes, edges, edges, membranes, membranes, links, links])
    pieces = [inverse[a:b] for a, b in pairwise(ends)]
    slots = [_short(np.stack(pieces[k : k + 2], axis=1)) for k in (0, 2, 4)]
    return {
        "indptr": np.searchsorted(keys, np.arange(n.nodes + 1) * n.nodes),
        "indices": _short(keys % n.nodes),
        "diagonal": inverse[: n.nodes],
        "edge_slots": slots[0],
        "membrane_slots": slots[1],
        "link_slots": slots[2],
    }


def scvs_by_node(network: Network) -> tuple[Ints, Ints]:
    """Where the sub-control volumes of each node begin, (N + 1,), and these, (S,)."""
    of = np.argsort(network.scv_node, kind="stable")
    return np.searchsorted(network.scv_node[of], np.arange(network.nodes + 1)), of


def edges_by_node(network: Network) -> tuple[Ints, Ints32, Ints32]:
    """Where the edges of each node begin, (N + 1,), these and the nodes at their other ends, (2 E,)."""
    n = network
    a, b = n.scv_node[n.edge_a], n.scv_node[n.edge_b]
    ends, others = np.concatenate([a, b]), np.concatenate([b, a])
    order = np.argsort(ends, kind="stable")
    start = np.searchsorted(ends[order], np.arange(n.nodes + 1))
    return start, _short(order % a.size), _short(others[order])


def _short(values: Ints) -> Ints32:
    """Four bytes each: there are many, and never two billion."""
    return np.ascontiguousarray(values, dtype=np.int32)
