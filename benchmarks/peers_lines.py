"""The balances as ordinary differential equations, for integrators that know nothing of them.

Same nodes, tables, fluxes and loads as the march, by the same compiled kernels.  Unknowns T and y of
node n are numbered 2n and 2n + 1, nodes in an order of choice.  With storage W(u) and inflow F(t, u),

    du/dt = C^-1 F,  C = dW/du,    J = C^-1 (dF/du - dC/du f),  f = du/dt,

where dC/du, which couples no nodes, comes from differences of C and the rest from the kernels' own
derivatives: the Jacobian is that of the equations, not an approximation by groups of columns.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_matrix, csr_matrix
from scipy.sparse.csgraph import reverse_cuthill_mckee

from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.system import State
from stemwall.solver.kernels.support import layout
from stemwall.solver.run import Run

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: differences of temperature [K] and potential [-] from which dC/du is taken
NUDGE = (1e-4, 1e-5)


class Lines:
    """Right side and Jacobian of a run's equations.

    Parameters
    ----------
    run : Run
        What is solved; only its system, loads and probes are used.
    ordering : {"natural", "bandwidth"}
        Order of the nodes: the network's, or reverse Cuthill-McKee.
    """

    def __init__(self, run: Run, ordering: str = "natural") -> None:
        self.system, self.loads, self.probes = run.system, run.loads, run.recorder.probes
        system, n = run.system, run.system.network.nodes
        graph = csr_matrix((np.ones(system.indices.size), system.indices, system.indptr), (n, n))
        reverse = reverse_cuthill_mckee(graph, symmetric_mode=True).astype(np.int64)
        self.order: Ints = reverse if ordering == "bandwidth" else np.arange(n)
        self.state = State(np.zeros(n), np.zeros(n))
        self._history = np.zeros((n, 2))
        self.right_sides = self.jacobians = 0
        self._build_pattern()

    def pack(self, state: State) -> Floats:
        """Unknowns of a state, shape (2N,)."""
        return np.stack([state.temperature, state.potential], axis=1)[self.order].ravel()

    def rate(self, t: float, u: Floats) -> Floats:
        """du/dt at a time [s], shape (2N,)."""
        self.right_sides += 1
        self._assemble(t, u, jacobian=False)
        return self._per_capacity(self.system.inflow)[self.order].ravel()

    def jacobian(self, t: float, u: Floats) -> csc_matrix:
        """Jacobian of `rate`, (2N, 2N)."""
        self.jacobians += 1
        system = self.system
        self._assemble(t, u, jacobian=True)
        rate, held = self._per_capacity(system.inflow), system.capacity.copy()
        blocks = -system.values.reshape(-1, 2, 2)
        diagonal = blocks[system.diagonal]
        for column, nudge in enumerate(NUDGE):
            moved = self.state.copy()
            (moved.temperature, moved.potential)[column][:] += nudge
            system.evaluate(moved)
            change = (system.capacity - held) / nudge
            diagonal[:, 0, column] -= change[:, 0] * rate[:, 0] + change[:, 1] * rate[:, 1]
            diagonal[:, 1, column] -= change[:, 2] * rate[:, 1]
        blocks[system.diagonal] = diagonal
        c00, c01, c11 = held[self._rows].T
        lower = blocks[:, 1] / c11[:, None]
        upper = (blocks[:, 0] - c01[:, None] * lower) / c00[:, None]
        data = np.stack([upper, lower], axis=1).ravel()[self._slots]
        return csc_matrix((data, self._indices, self._indptr), shape=(u.size, u.size))

    def read(self, u: Floats) -> tuple[Floats, Floats]:
        """Temperature [degC] and relative humidity [-] of the probes in a state, shapes (probes,)."""
        self._unpack(u)
        self.system.evaluate(self.state)
        nodes = [probe.node for probe in self.probes]
        humidity = np.minimum(self.system.node_state[nodes, layout.RH], 1.0)
        return self.state.temperature[nodes], humidity

    @property
    def bandwidth(self) -> int:
        """Distance of the farthest coupled unknowns."""
        return int(np.max(np.abs(self._indices - np.repeat(np.arange(self._indptr.size - 1), np.diff(self._indptr)))))

    def _unpack(self, u: Floats) -> None:
        pairs = u.reshape(-1, 2)
        self.state.temperature[self.order] = pairs[:, 0]
        self.state.potential[self.order] = pairs[:, 1]

    def _assemble(self, t: float, u: Floats, *, jacobian: bool) -> None:
        self._unpack(u)
        self.system.evaluate(self.state)
        loads = self.loads.at(t, self.during(t))
        self.system.assemble(self.state, 0.0, self._history, loads, jacobian=jacobian)

    def during(self, t: float) -> float:
        """Time whose rain holds; overridden where an hour is integrated by itself."""
        return t

    def _per_capacity(self, inflow: Floats) -> Floats:
        c = self.system.capacity
        moist = inflow[:, 1] / c[:, 2]
        return np.stack([(inflow[:, 0] - c[:, 1] * moist) / c[:, 0], moist], axis=1)

    def _build_pattern(self) -> None:
        """Compressed columns, and where each of their entries lies in the kernels' blocks."""
        system, n = self.system, self.order.size
        self._rows = np.repeat(np.arange(n), np.diff(system.indptr))
        place = np.empty(n, dtype=np.int64)
        place[self.order] = np.arange(n)
        rows = 2 * place[self._rows][:, None] + np.array([0, 0, 1, 1])
        columns = 2 * place[system.indices][:, None] + np.array([0, 1, 0, 1])
        self._slots = np.lexsort((rows.ravel(), columns.ravel()))
        self._indices = rows.ravel()[self._slots].astype(np.int32)
        self._indptr = np.searchsorted(columns.ravel()[self._slots], np.arange(2 * n + 1)).astype(np.int32)


class HourOfLines(Lines):
    """The equations within one hour: rain is the hour's, also at its two ends."""

    hour = 0

    def during(self, t: float) -> float:
        """Return the middle of the hour [s]."""
        return (self.hour + 0.5) * HOUR
