"""Pieces of wood: how much of a region a probe on it stands for, and the mean water content of that.

Most limits on wood were written for what is weighed or metered: a piece as a whole.  Its faces go through the day and
the season with the air beside them and can be far wetter or drier than that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stemwall.solver.discretisation.network import Network
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.results.probes import PlacedProbe

#: a piece reaches so far from its probe along either axis [m]: all of a plate, joist or stud, and a stretch of a
#: panel, which has no one moisture content over its whole length; common practice, no source
REACH = 0.3


class Pieces:
    """Mean water content of the pieces that probes of kind "wood" stand on.

    Parameters
    ----------
    network : Network
        The network.
    probes : sequence of PlacedProbe
        All probes; those of other kinds have no piece.
    """

    def __init__(self, network: Network, probes: Sequence[PlacedProbe]) -> None:
        self.count = len(probes)
        self.owners = np.array([k for k, p in enumerate(probes) if p.probe.kind == "wood"], dtype=np.int64)
        found = [_shares(network, probes[k]) for k in self.owners]
        sizes = [scvs.size for scvs, _ in found]
        self._starts = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(np.int64) if found else np.zeros(0, np.int64)
        self._scvs = np.concatenate([scvs for scvs, _ in found]) if found else np.zeros(0, np.int64)
        self._shares = np.concatenate([shares for _, shares in found]) if found else np.zeros(0)

    def mean(self, water: Floats) -> Floats:
        """Mean over each probe's piece, (probes,), NaN where there is none; ``water`` by sub-control volume [kg/m3]."""
        means = np.full(self.count, np.nan)
        if self.owners.size:
            means[self.owners] = np.add.reduceat(self._shares * water[self._scvs], self._starts)
        return means


def _shares(network: Network, probe: PlacedProbe) -> tuple[Ints, Floats]:
    """Sub-control volumes of a probe's piece and their weights in its mean, of a bilinear function in each cell."""
    mesh = network.mesh
    (left, right), (low, high) = _ends(mesh.x_lines, probe.probe.x), _ends(mesh.y_lines, probe.probe.y)
    rows, columns = np.nonzero(mesh.region == network.scv_region[probe.scv])
    corners = ((low, left), (low, right), (high, right), (high, left))  # in the order of corner_scv
    counts = np.stack([of_y[rows] * of_x[columns] for of_y, of_x in corners], axis=1)
    scvs, at = np.unique(network.corner_scv[rows, columns].ravel(), return_inverse=True)
    shares = np.bincount(at, counts.ravel())
    within = shares > 0.0
    return scvs[within].astype(np.int64), shares[within] / shares.sum()


def _ends(lines: Floats, at: float) -> tuple[Floats, Floats]:
    """Integrals [m] of the two functions that lead linearly from one to zero through each cell, within reach."""
    a, b = np.maximum(lines[:-1], at - REACH), np.minimum(lines[1:], at + REACH)
    length = np.maximum(b - a, 0.0)
    along = (0.5 * (a + b) - lines[:-1]) / np.diff(lines)
    return length * (1.0 - along), length * along
