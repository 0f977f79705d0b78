"""A reference in one dimension: spectral elements in space, backward differentiation formulas in time.

Each element carries a polynomial of T and one of ln p_c on Gauss-Lobatto nodes; fluxes
are derivatives of these, integrated with the same nodes (Patera 1984, J. Comput. Phys.
54, 468-488, from memory).  The mass matrix is diagonal, so the nodes' rates are explicit
and a stiff integrator of a library advances them in time.  See `reference_physics` for the equations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.polynomial import legendre
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix, kron

from stemwall.cases.verification.references.physics import Air, Floats, Substance, storage_slopes, transport


def lobatto(order: int) -> tuple[Floats, Floats, Floats]:
    """Gauss-Lobatto nodes and weights on [-1, 1], and the matrix of derivatives at the nodes."""
    peak = np.zeros(order + 1)
    peak[order] = 1.0
    x = np.concatenate([[-1.0], legendre.legroots(legendre.legder(peak)), [1.0]])
    value = legendre.legval(x, peak)
    gap = x[:, None] - x[None, :] + np.eye(order + 1)
    d = value[:, None] / value[None, :] / gap * (1 - np.eye(order + 1))
    return x, 2.0 / (order * (order + 1) * value**2), d - np.diag(d.sum(axis=1))


@dataclass(frozen=True)
class Slab:
    """Elements of one substance between lines [m]."""

    substance: Substance
    lines: Floats


class SpectralLine:
    """Slabs one behind the other between two airs.

    Parameters
    ----------
    slabs : sequence of Slab
        The last line of one is the first of the next.
    ends : pair of Air
    order : int
        Degree of the polynomials.
    """

    def __init__(self, slabs: Sequence[Slab], ends: tuple[Air, Air], order: int = 4) -> None:
        self.slabs, self.ends, self.order = slabs, ends, order
        nodes, self.weights, self.derive = lobatto(order)
        lines = np.concatenate([slabs[0].lines[:1], *(slab.lines[1:] for slab in slabs)])
        self.half = 0.5 * np.diff(lines)
        places = lines[:-1, None] + self.half[:, None] * (nodes + 1)
        self.x = np.append(places[:, :-1].ravel(), lines[-1])
        counts = np.cumsum([0, *(slab.lines.size - 1 for slab in slabs)])
        self.spans = [slice(a, b) for a, b in pairwise(counts)]
        self.index = np.arange(self.half.size)[:, None] * order + np.arange(order + 1)

    def run(self, start: Floats, times: Sequence[float], tolerance: float = 1e-6) -> Floats:
        """States (times, 2, nodes) of T, ln p_c at times [s] from a start (nodes, 2)."""
        n = self.x.size
        found = solve_ivp(
            lambda t, y: self.rates(t, y.reshape(n, 2)).ravel(),
            (0.0, times[-1]),
            start.ravel(),
            "BDF",
            t_eval=list(times),
            rtol=tolerance,
            atol=tolerance,
            jac_sparsity=self._pattern(),
            first_step=1e-3,
        )
        if not found.success:
            raise RuntimeError(f"the spectral elements stopped: {found.message}")
        return np.asarray(found.y.T.reshape(len(times), n, 2).transpose(0, 2, 1))

    def rates(self, time: float, state: Floats) -> Floats:
        """dT/dt, du/dt of every node, (nodes, 2)."""
        t, u = state[self.index, 0], state[self.index, 1]
        gain, mass = np.empty((2, *t.shape)), np.empty((3, *t.shape))
        slope_t, slope_u = (v @ self.derive.T / self.half[:, None] for v in (t, u))
        for slab, span in zip(self.slabs, self.spans, strict=True):
            flux = transport(slab.substance, t[span], u[span]).fluxes(slope_t[span], slope_u[span])
            for k in (0, 1):
                gain[k, span] = (flux[k] * self.weights) @ self.derive
            mass[:, span] = storage_slopes(slab.substance, t[span], u[span])
        mass *= self.weights * self.half[:, None]
        energy, water = self._gather(gain[0]), self._gather(gain[1])
        heat, moist, slope = (self._gather(m) for m in mass)
        for end, node in zip(self.ends, (0, -1), strict=True):
            inflow = end.inflow(time, state[node, 0], state[node, 1])
            energy[node] += inflow[0]
            water[node] += inflow[1] + inflow[2]
        rate_u = water / slope
        return np.stack([(energy - moist * rate_u) / heat, rate_u], axis=1)

    def water(self, state: Floats, slab: int) -> float:
        """Water in one slab [kg/m2] for a state (2, nodes)."""
        span = self.spans[slab]
        w = self.slabs[slab].substance.water(np.exp(state[1][self.index[span]]))
        return float(np.sum(w * self.weights * self.half[span, None]))

    def at(self, values: Floats, x: Sequence[float] | Floats) -> Floats:
        """The polynomial of nodal values at places x [m]."""
        wanted = np.asarray(x, dtype=float)
        first = self.x[self.index[:, 0]]
        element = np.clip(np.searchsorted(first, wanted, "right") - 1, 0, first.size - 1)
        place = (wanted - first[element]) / self.half[element] - 1
        nodes = lobatto(self.order)[0]
        basis = np.ones((wanted.size, self.order + 1))
        for i in range(self.order + 1):
            for j in range(self.order + 1):
                if i != j:
                    basis[:, i] *= (place - nodes[j]) / (nodes[i] - nodes[j])
        return np.asarray(np.sum(basis * values[self.index[element]], axis=1))

    def _gather(self, values: Floats) -> Floats:
        """Sum of element values at shared nodes."""
        total = np.zeros(self.x.size)
        total[:-1] = values[:, :-1].ravel()
        total[self.order :: self.order] += values[:, -1]
        return total

    def _pattern(self) -> csc_matrix:
        """Which rates depend on which unknowns."""
        n, p = self.x.size, self.order + 1
        rows, columns = np.repeat(self.index, p, axis=1), np.tile(self.index, (1, p))
        joined = csc_matrix((np.ones(rows.size), (rows.ravel(), columns.ravel())), (n, n))
        return csc_matrix(kron(joined, np.ones((2, 2))))
