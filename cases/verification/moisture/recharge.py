"""Recharge of a water table in two dimensions, against a second discretisation of the same equation.

Half of a tank 6 m by 2 m: closed base and symmetry line, outer water level held,
water given to the middle metre of the surface, as in the tank of Vauclin, Khanji &
Vachaud 1979, Water Resour. Res. 15(5) (soil and rates are other ones).  The
reference keeps to pressure heads in the middle of cells, averages conductivities
arithmetically and leaves the time to a stiff integrator of a library.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix, diags

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.conduction.transient import HOUR
from stemwall.cases.verification.moisture.gravity import WEIGHT, soil
from stemwall.cases.verification.rig import Bench, PlaceLoad
from stemwall.materials.water import WATER_DENSITY
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT
from stemwall.solver.model.section import Edge, Region, Section
from stemwall.solver.model.settings import Accuracy

Floats = NDArray[np.float64]
WIDTH, HEIGHT, STRIP, LEVEL = 3.0, 2.0, 0.5, 0.65
RATE = 0.06 / HOUR
"""Recharge of the strip [m/s]."""
CELL = 0.05
TIMES = (4 * HOUR, 8 * HOUR, 16 * HOUR)
SAND = soil(0.05, 0.35, 2.5, 2.2, 0.15 / HOUR)


def _load(t: float, x: Floats, y: Floats) -> PlaceLoad:
    """Recharge on the strip, the node at its end by half; the outer water level on the right."""
    on_strip = (y > HEIGHT - 1e-9) & (x < STRIP + 1e-9)
    share = np.where(np.abs(x - STRIP) < 1e-9, 0.5, 1.0) * on_strip
    under_water = (x > WIDTH - 1e-9) & (y < LEVEL + 1e-9)
    return {
        "air_temperature": 20.0,
        "film": HOLD_HEAT,
        "supply": np.where(under_water, 1e33, RATE * WATER_DENSITY * share),
        "uptake": np.where(under_water, 10.0, 1e-3 * on_strip),
        "held_suction": np.where(under_water, WEIGHT * (y - LEVEL), -1e7),
    }


def _bench(cell: float) -> Bench:
    edges = (Edge("right", "climate", climate="water"), Edge("top", "climate", climate="rain"))
    x, y = (np.linspace(0, length, round(length / cell) + 1) for length in (WIDTH, HEIGHT))
    return Bench(
        Section(0, 0, WIDTH, HEIGHT, (Region("sand", "sand", 0, 0, WIDTH, HEIGHT),), edges=edges),
        {"sand": SAND},
        x,
        y,
        load_at=_load,
        suction=lambda x, y: WEIGHT * (y - LEVEL),
        accuracy=Accuracy(temperature=0.01, humidity=1e-3, saturation=2e-5, resolved=0.1),
    )


class Reference:
    """Richards' equation on square cells, pressure head [m] in their middle."""

    def __init__(self, cell: float) -> None:
        self.cell = cell
        self.x, self.y = (
            np.asarray((np.arange(round(length / cell)) + 0.5) * cell, dtype=np.float64) for length in (WIDTH, HEIGHT)
        )
        self.shape = (self.y.size, self.x.size)
        self.states = self._run()

    def _rates(self, t: float, head: Floats) -> Floats:
        psi, h = head.reshape(self.shape), self.cell
        suction = -WEIGHT * psi
        conductivity = WEIGHT / WATER_DENSITY * SAND.liquid_conductivity(suction)  # [m/s]
        across = np.zeros((self.shape[0], self.shape[1] + 1))
        upwards = np.zeros((self.shape[0] + 1, self.shape[1]))
        across[:, 1:-1] = -0.5 * (conductivity[:, 1:] + conductivity[:, :-1]) * np.diff(psi, axis=1) / h
        upwards[1:-1] = -0.5 * (conductivity[1:] + conductivity[:-1]) * (np.diff(psi, axis=0) / h + 1)
        below = self.y < LEVEL
        outside = LEVEL - self.y
        saturated = WEIGHT / WATER_DENSITY * SAND.liquid_conductivity(np.array(0.0))
        across[:, -1] = np.where(
            below, -0.5 * (conductivity[:, -1] + saturated) * (outside - psi[:, -1]) / (h / 2), 0.0
        )
        upwards[-1] = np.where(self.x < STRIP, -RATE, 0.0)
        gain = -(np.diff(across, axis=1) + np.diff(upwards, axis=0)) / h
        capacity = WEIGHT * SAND.storage.capacity(suction) / WATER_DENSITY  # [1/m]
        return np.asarray(gain / capacity).ravel()

    def _run(self) -> Floats:
        ny, nx = self.shape
        count = nx * ny
        start = np.repeat(LEVEL - self.y, nx)
        pattern = csr_matrix(diags([np.ones(count - abs(k)) for k in (-nx, -1, 0, 1, nx)], [-nx, -1, 0, 1, nx]))
        found = solve_ivp(
            self._rates,
            (0.0, TIMES[-1]),
            start,
            "BDF",
            t_eval=TIMES,
            rtol=1e-5,
            atol=1e-5,
            jac_sparsity=pattern,
        )
        if not found.success:
            raise RuntimeError(f"the reference stopped: {found.message}")
        return np.asarray(found.y.T.reshape(len(TIMES), ny, nx))

    def stored(self, head: Floats) -> float:
        """Water in the half tank [kg/m]."""
        return float(SAND.water_content(-WEIGHT * head).sum() * self.cell**2)


def water_table(y: Floats, head: Floats) -> float:
    """Height where the pressure head first falls to zero going up, joined linearly [m]."""
    dry = int(np.argmax(head < 0.0))
    a, b = head[dry - 1], head[dry]
    return float(y[dry - 1] + (y[dry] - y[dry - 1]) * a / (a - b))


def recharge() -> list[Comparison]:
    """Sixteen hours of recharge: water table and gain, 5 cm cells in both.

    Richards' equation in half of a tank, 3 by 2 m; closed base and symmetry line, outer water level held at 0.65 m,
    0.06 m/h given to the first 0.5 m of the surface.  Sand, van Genuchten-Mualem: theta 0.05 to 0.35, alpha 2.5
    1/m, n = 2.2, K_s = 0.15 m/h.  Start at rest.

    The reference keeps heads in the middle of cells, averages conductivities arithmetically and leaves the time to
    a stiff integrator; it has discretisation errors of its own.
    """
    bench, reference = _bench(CELL), Reference(CELL)
    n = bench.network
    lines_y = n.mesh.y_lines
    x = np.array([0.1, 0.3, 0.5, 1.0, 1.5, 2.0, 2.5])
    rest = reference.stored(np.repeat((LEVEL - reference.y)[:, None], reference.x.size, axis=1))
    start = bench.water()
    found = []
    for t, head in zip(TIMES, reference.states, strict=True):
        bench.run_to(t)
        columns = [bench.along_y(-bench.suction / WEIGHT, lines_y, float(place)) for place in x]
        own = [water_table(lines_y, column) for column in columns]
        other = np.interp(x, reference.x, [water_table(reference.y, column) for column in head.T])
        name, source = (
            f"Recharge, {t / HOUR:g} h",
            "cell-centred Richards equation, stiff integrator of a library",
        )
        found += [
            compare(name, source, "water table [m]", x, own, other, 0.01),
            compare(
                name,
                source,
                "water gained [kg/m]",
                0.0,
                bench.water() - start,
                reference.stored(head) - rest,
                0.01,
                RELATIVE,
            ),
        ]
    return found
