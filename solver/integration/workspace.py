"""One implicit stage of a step."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.integration.statistics import Effort
from stemwall.solver.integration.system import State, System
from stemwall.solver.kernels.newton import stage as stages
from stemwall.solver.kernels.support import layout
from stemwall.solver.kernels.time import tr_bdf2 as march
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
DRIEST_POTENTIAL = layout.Y1 + (layout.RH1 - layout.DRIEST) / layout.D1


class StageSolver:
    """Solves the stages of the steps of a system.

    Newton's iteration starts from the last evaluated state.  After each update the
    residual is measured anew and turned into the next update it would cause, by the factors at
    hand: that estimate says when to stop.  Where it is still large, mostly a few
    nodes, the iteration goes on in these alone.  The matrix serves both stages
    of a step and is renewed if that does not suffice.  At the end of a step the
    residuals are made to add up to nothing.  All this is compiled, see `stage_kernels`.

    Attributes
    ----------
    update : Floats
        Before a stage: the change that is foreseen, with its sign turned, (N, 2), with which the linear solver starts;
        after a step, its local errors.
    scale : Floats
        Reciprocals of the wanted local errors at the last `fill_scale`, (N, 2).
    shares : tuple
        Shares of the wanted error to which Newton's iteration and the linear solver work.
    """

    def __init__(self, system: System, accuracy: Accuracy, importance: Floats | None, start: State) -> None:
        self.system = system
        count = system.network.nodes
        zeros, keep = system.pages.zeros, system.pages.keep
        self.update, self.scale = zeros((count, 2)), zeros((count, 2))
        weighed = keep(np.ones(count) if importance is None else importance)
        wanted = accuracy.temperature, accuracy.humidity, accuracy.saturation, accuracy.pressure
        #: wanted local errors, and the importance of nodes, as `march_kernels.wish` takes them
        self.wanted = *(float(error) for error in wanted), weighed
        # what meets anything but its neighbours in solids has another row of the matrix in every step
        watched = zeros(count, np.bool_)
        watched[system.network.face_node] = True
        for ends in (system.network.sheet_a, system.network.sheet_b, system.network.stream_a, system.network.stream_b):
            watched[ends[ends >= 0]] = True
        watched[system.network.part_node[system.network.part_region < 0]] = True
        # what the kernels need to be cautious, to evaluate and to assemble
        cautious = (
            system.storage, system.capacity, zeros((count, 3)), system.values, system.diagonal, system.bends,
            layout.Y1, DRIEST_POTENTIAL, zeros(count, np.int64), *zeros((2, count)), system.freezing,
            system.saturation, watched, zeros(count, np.int64), zeros(count),
        )  # fmt: skip
        self._arrays = cautious, system.evaluation, system.balances
        self._unknowns = *start.copy(system.pages).unknowns, system.spare
        self.shares = stages.SHARES
        self._counts = np.zeros(stages.COUNTS, dtype=np.int64)
        self._memory = np.zeros(stages.MEMORY)

    @property
    def given(self) -> tuple[Any, ...]:
        """The last arguments of `march_kernels.take_step` and `trial_kernels.try_step`."""
        system = self.system
        return (
            system.controls, self.scale, self.update, system.residual, system.flows, self.shares, self._counts,
            self._memory, self._unknowns, system.matrix, system.patches, *self._arrays,
        )  # fmt: skip

    def solve_directly(self, effort: Effort) -> None:
        """Find the ``update`` that a kernel left a stage for."""
        effort.direct += 1
        self.system.solve_directly(self.system.residual, self.update)

    def fill_scale(self) -> Floats:
        """Reciprocal of the wanted local error of each unknown, (N, 2)."""
        march.wish(self.wanted, self._arrays[0], self._arrays[1], self.scale)
        return self.scale

    def count(self, effort: Effort) -> None:
        """Add what the last kernel did."""
        counts = self._counts.tolist()
        effort.updates += counts[stages.UPDATES]
        effort.local_updates += counts[stages.LOCAL_UPDATES]
        effort.local_nodes += counts[stages.LOCAL_NODES]
        effort.matrices += counts[stages.MATRICES]
        effort.linear += counts[stages.LINEAR]
        effort.left_open += counts[stages.LEFT_OPEN]
        effort.local_steps += counts[stages.LOCAL_STEPS]
        effort.local_rejected += counts[stages.LOCAL_REJECTED]
        effort.unresolved += counts[stages.UNRESOLVED]
        self._counts[:] = 0
