"""The same equations in FiPy, a general finite-volume library of partial differential equations.

Unknowns T and y of each cell of the same mesh, solved together or in turn; all material functions and their
slopes come from the march's compiled tables, so that FiPy's time is FiPy's.  Fluxes carry chain-rule
coefficients, p_v = p_v(T, y), storage is linearised about the last sweep in the mixed form that conserves
what it stores at convergence, and sweeps repeat until nothing moves.  Gravity is lagged by a sweep.
Between two cells of one material coefficients are means, between two materials those of a series.  Films
at faces are in series with half a cell.  Steps are backward Euler, FiPy's own; one whose sweeps do not
converge is halved.  The linear solver is FiPy's default, LU: its iterative ones save a fifth of the time at
most, and stop early with their default tolerances.
"""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

os.environ.setdefault("FIPY_SOLVERS", "scipy")

import fipy  # type: ignore[import-untyped]
from peers_case import WARM_UP, Answer, Size, probe_cells, ready
from peers_fipy_parts import RHO_G, Cells, Faces, grid

from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.integration.system import State
from stemwall.solver.kernels.support import layout
from stemwall.solver.run import Run

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: sweeps after which a step is halved, change of a sweep [K, -] beyond which it is, and shortest step [s]
MOST_SWEEPS, LOST, SHORTEST = 25, 1e3, 5.0
#: the water equation is multiplied by this, so that both are in W/m3 and of one size [J/kg]
WATER_SCALE = layout.L_V


@dataclass(frozen=True)
class Setting:
    """How FiPy is used.

    Parameters
    ----------
    steps : int
        Steps an hour.
    tolerance : float
        Largest change in the last sweep of a step [K, -].
    coupled : bool
        Solve both unknowns in one matrix, or in turn.
    """

    steps: int
    tolerance: float = 0.1
    coupled: bool = True


class Model:
    """The case in FiPy, ready to step from a state of the march's nodes."""

    def __init__(self, run: Run, start: State, setting: Setting) -> None:
        self.setting, network = setting, run.system.network
        self.grid = mesh = grid(run)
        x, y = np.asarray(mesh.cellCenters.value)
        lines = network.mesh
        self.index = np.searchsorted(lines.y_lines, y) - 1, np.searchsorted(lines.x_lines, x) - 1
        self.cells = Cells(run, lines.material[self.index])
        self.faces = Faces(run, mesh, self.index)
        corners = network.corner_node[self.index]
        self.temperature = fipy.CellVariable(mesh=mesh, value=start.temperature[corners].mean(axis=1))
        self.potential = fipy.CellVariable(mesh=mesh, value=start.potential[corners].mean(axis=1))
        number = np.full(lines.region.shape, -1)
        number[self.index] = np.arange(x.size)
        self.probes = number[probe_cells(run)]
        self._pairs(mesh)
        self._write_equations(mesh)
        self.solver = fipy.LinearLUSolver()
        self.sweeps = 0
        self.cells.evaluate(self.temperature.value, self.potential.value)

    def _sweep(self) -> None:
        """Solve for both unknowns, together or in turn."""
        self.sweeps += 1
        if self.setting.coupled:
            self.equations.solve(solver=self.solver)
            return
        unknowns = (self.temperature, self.potential)
        for e, other in ((1, 0), (0, 1)):
            passed, seen = self.conduct[e][other].value, unknowns[other].value
            known = self.given[e].value - self.hold[e][other].value * seen + self._spread(passed, seen)
            self.alone_given[e].setValue(known)
            self.alone[e].solve(solver=self.solver)

    def _spread(self, coefficient: Floats, values: Floats) -> Floats:
        """Gain per volume of each cell by diffusion with a coefficient at the faces."""
        a, b = self._first, self._second
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = np.where(self._inner, (values[b] - values[a]) / self._apart, 0.0)
        amount = coefficient * slope * self._area
        n = values.size
        return np.asarray((np.bincount(a, amount, n) - np.bincount(b, amount, n)) / self._volume)

    def step(self, t: float, step: float) -> None:
        """One step of backward Euler from a time [s], or two halves where the sweeps do not converge."""
        temperature, potential = self.temperature.value.copy(), self.potential.value.copy()
        if self._converge(t, step):
            return
        if step < SHORTEST:
            raise RuntimeError(f"FiPy's sweeps did not converge at {t / HOUR:.2f} h with a step of {step:.3g} s")
        self.temperature.setValue(temperature)
        self.potential.setValue(potential)
        self.cells.evaluate(temperature, potential)
        self.step(t, 0.5 * step)
        self.step(t + 0.5 * step, 0.5 * step)

    def _converge(self, t: float, step: float) -> bool:
        """Sweep a step until nothing moves; whether that came about."""
        before = self.cells.storage.copy()
        for _ in range(MOST_SWEEPS):
            temperature, potential = self.temperature.value.copy(), self.potential.value.copy()
            self._fill(before, t + step, t + 0.5 * step, step)
            self._sweep()
            moved_t = np.abs(self.temperature.value - temperature).max()
            moved_y = np.abs(self.potential.value - potential).max()
            if not max(moved_t, moved_y) < LOST:
                return False
            self.cells.evaluate(self.temperature.value, self.potential.value)
            if max(moved_t, moved_y) < self.setting.tolerance:
                return True
        return False

    def read(self) -> tuple[Floats, Floats]:
        """Temperature [degC] and relative humidity [-] of the cells at the probes."""
        humidity = np.minimum(self.cells.node[self.probes, layout.RH], 1.0)
        return self.temperature.value[self.probes], humidity

    def _pairs(self, mesh: Any) -> None:
        """Cells of each face, and the shares of their distance that lie in each."""
        ids = np.asarray(mesh.faceCellIDs.filled(-1))
        self._first = ids[0]
        self._second = np.where(ids[1] < 0, ids[0], ids[1])
        self._inner = ids[1] >= 0
        centre, middle = np.asarray(mesh.cellCenters.value), np.asarray(mesh.faceCenters.value)
        near = np.hypot(*(middle - centre[:, self._first]))
        far = np.hypot(*(middle - centre[:, self._second]))
        self._near, self._apart = near / (near + far), near + far
        self._area, self._volume = np.asarray(mesh._faceAreas), np.asarray(mesh.cellVolumes)
        self._height = centre[1]
        self._alike = self.cells.material[self._first] == self.cells.material[self._second]
        self._upright = np.abs(np.asarray(mesh.faceNormals)[1])

    def _at_faces(self, values: Floats) -> Floats:
        """Coefficient at faces: mean within a material, series between two; nothing passes outside."""
        a, b, near = values[self._first], values[self._second], self._near
        with np.errstate(divide="ignore", invalid="ignore"):
            series = np.where(a * b > 0.0, 1.0 / (near / a + (1.0 - near) / b), 0.0)
        return np.where(self._inner, np.where(self._alike, (1.0 - near) * a + near * b, series), 0.0)

    def _write_equations(self, mesh: Any) -> None:
        """Coupled equations whose coefficients are filled before each sweep."""

        def face() -> Any:
            return fipy.FaceVariable(mesh=mesh, value=0.0)

        def cell() -> Any:
            return fipy.CellVariable(mesh=mesh, value=0.0)

        self.conduct = [[face(), face()], [face(), face()]]
        self.hold = [[cell(), cell()], [cell(), cell()]]
        self.given = [cell(), cell()]
        unknowns = (self.temperature, self.potential)
        balances = []
        for e in range(2):
            balance = self.given[e]
            for u, unknown in enumerate(unknowns):
                balance = balance + fipy.DiffusionTerm(coeff=self.conduct[e][u], var=unknown)
                balance = balance - fipy.ImplicitSourceTerm(coeff=self.hold[e][u], var=unknown)
            balances.append(balance)
        self.equations = balances[0] & balances[1]
        self.alone_given = [cell(), cell()]
        self.alone = [
            self.alone_given[e] + fipy.DiffusionTerm(coeff=self.conduct[e][e], var=unknown)
            - fipy.ImplicitSourceTerm(coeff=self.hold[e][e], var=unknown)
            for e, unknown in enumerate(unknowns)
        ]  # fmt: skip

    def _fill(self, before: Floats, t: float, during: float, step: float) -> None:
        """Coefficients of a sweep from the present state; the water equation has its sign turned."""
        cells, temperature, potential = self.cells, self.temperature.value, self.potential.value
        node, part, scale = cells.node, cells.part, -WATER_SCALE
        vapour = part[:, layout.VAP]
        v_t, v_y = vapour * node[:, layout.PV_T], vapour * node[:, layout.PV_S]
        # liquid flows towards suction, +K grad p_c, and down
        l_y = -cells.liquid * node[:, layout.PC_S]
        latent, carried = layout.L_V + layout.C_V * temperature, layout.C_W * temperature
        m_t, m_y = self._at_faces(v_t), -self._at_faces(-(v_y + l_y))
        self.conduct[0][0].setValue(self._at_faces(part[:, layout.LAM] + latent * v_t))
        self.conduct[0][1].setValue(-self._at_faces(-(latent * v_y + carried * l_y)))
        self.conduct[1][0].setValue(scale * m_t)
        self.conduct[1][1].setValue(scale * m_y)
        gains = self.faces.gains(t, during, cells, temperature, potential)
        falls = self._at_faces(cells.liquid) * RHO_G
        falling_heat = falls * layout.C_W * 0.5 * (temperature[self._first] + temperature[self._second])
        c = cells.capacity / step
        rate = (cells.storage - before) / step
        hold = (c[:, 0] - gains[1], c[:, 1] - gains[2], -gains[4], c[:, 2] - gains[5])
        for e, (factor, fall) in enumerate(((1.0, falling_heat), (scale, falls))):
            h_t, h_y = factor * hold[2 * e], factor * hold[2 * e + 1]
            self.hold[e][0].setValue(h_t)
            self.hold[e][1].setValue(h_y)
            known = factor * (gains[3 * e] - rate[:, e] + self._downwards(fall))
            self.given[e].setValue(known + h_t * temperature + h_y * potential)

    def _downwards(self, fall: Floats) -> Floats:
        """Gain per volume of each cell by a downward flow density at the faces."""
        y = self._height
        amount = np.where(self._inner, fall * self._upright * self._area, 0.0)
        upper = np.where(y[self._first] > y[self._second], self._first, self._second)
        lower = self._first + self._second - upper
        n = y.size
        gain = np.bincount(lower, amount, n) - np.bincount(upper, amount, n)
        return np.asarray(gain / self._volume)


def run_fipy(size: Size, start: State, setting: Setting, hours: int) -> Answer:
    """Step the case through some hours and read the probes at their ends."""
    model = Model(ready(size, 1.0, start), start, setting)
    temperature, humidity = [], []
    begun = time.process_time()
    for hour in range(WARM_UP, WARM_UP + hours):
        for k in range(setting.steps):
            model.step((hour + k / setting.steps) * HOUR, HOUR / setting.steps)
        t, rh = model.read()
        temperature.append(t)
        humidity.append(rh)
    seconds = time.process_time() - begun
    return Answer(np.array(temperature), np.array(humidity), seconds, {"sweeps": float(model.sweeps)})
