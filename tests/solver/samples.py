"""Small sections shared by the solver's tests."""

from collections.abc import Callable

import numpy as np
import scipy.sparse as sp

from stemwall.cases.verification.rig import Bench, Load, air
from stemwall.materials.material import Material
from stemwall.materials.reference import en15026, gardner_soil, two_layer_insulation
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.discretisation.row_blocks import row_blocks
from stemwall.solver.integration.system import System
from stemwall.solver.kernels.linear import bicgstab, dilu
from stemwall.solver.kernels.newton import active_set
from stemwall.solver.kernels.support.arrays import RowBlocks, Stop, Subset
from stemwall.solver.model.section import Edge, Membrane, Opening, Region, Section
from stemwall.solver.model.settings import Accuracy

MATERIALS: dict[str, Material] = {
    "stone": en15026(),
    "foam": two_layer_insulation(),
    "soil": gardner_soil(),
}


def corner_section() -> Section:
    """Soil, a stone wall with foam behind a membrane, and two openings, one above the other."""
    return Section(
        0.0, -1.0, 1.0, 0.6,
        items=(
            Region("ground", "soil", 0.0, -1.0, 1.0, 0.0),
            Opening("outside", "outdoors", 0.0, 0.0, 0.4, 0.6),
            Region("wall", "stone", 0.4, -0.4, 0.6, 0.6),
            Region("board", "foam", 0.6, -0.4, 0.65, 0.6),
            Opening("inside", "room", 0.65, -0.2, 1.0, 0.6),
        ),
        membranes=(
            Membrane("sheet", 0.65, -0.4, 0.65, -0.2, 50.0, 50.0),
            Membrane("sheet turned up", 0.6, -0.4, 0.6, 0.2, 50.0, 50.0),
            Membrane("coat", 0.4, -0.4, 0.4, 0.0, 5.0, 1.0),
        ),
        edges=(Edge("bottom", "ground", "table"),),
        water_table=-2.0,
    )  # fmt: skip


def corner_load(t: float, surface: Surface) -> Load:
    """Mild weather outside, a wave in the room, held ground below."""
    if surface.climate == "outdoors":
        wave = 5.0 * np.sin(2 * np.pi * t / 86400.0)
        return {
            **air(4.0 + wave, 0.8, 15.0, 7e-8), "longwave": 280.0, "emissivity": 0.9,
            "sun": max(0.0, 60 * wave), "supply": 2e-5 if t % 86400.0 > 39600.0 else 0.0, "uptake": 1e-5,
        }  # fmt: skip
    if surface.climate == "room":
        return air(21.0, 0.5, 8.0, 2e-8)
    return {
        "air_temperature": 9.0, "film": 1e5, "supply": 1e33, "uptake": 1e-4, "held_suction": 9810.0,
    }  # fmt: skip


def flooded_load(t: float, surface: Surface) -> Load:
    """The same with water up to 0.15 m outside and -0.1 m in the room."""
    level = {"outdoors": 0.15, "room": -0.1}.get(str(surface.climate))
    water = {} if level is None else {"water_level": level, "water_temperature": 7.0, "water_film": 200.0}
    return {**corner_load(t, surface), **water}


def corner_bench(
    accuracy: Accuracy | None = None,
    load: Callable[[float, Surface], Load] = corner_load,
    refine: int = 1,
) -> Bench:
    """The corner section on a coarse mesh."""

    def lines(stations: list[float], count: list[int]) -> np.ndarray:
        pieces = [
            np.linspace(a, b, n * refine, endpoint=False)
            for a, b, n in zip(stations[:-1], stations[1:], count, strict=True)
        ]
        return np.concatenate([*pieces, stations[-1:]])

    return Bench(
        corner_section(), MATERIALS,
        lines([0.0, 0.4, 0.6, 0.65, 1.0], [4, 4, 3, 4]),
        lines([-1.0, -0.4, -0.2, 0.0, 0.2, 0.6], [4, 2, 2, 2, 3]),
        load,
        temperature=lambda x, y: 10.0 + 2 * x - y,
        suction=lambda x, y: np.where((x > 0.4) & (y > -0.4), 5e6, 9810.0 * (2.0 + y)),
        accuracy=accuracy,
    )  # fmt: skip


def conduction_matrix(side: int, coupling: float) -> tuple[sp.bsr_matrix, RowBlocks, np.ndarray]:
    """Matrix of a square mesh numbered along its diagonals, its couplings and blocks: every node holds one of each
    unknown; to its neighbours the first is coupled as is said, the second by one."""
    nodes = side * side
    order = np.argsort([x + y + 1e-3 * y for x in range(side) for y in range(side)])
    line = sp.diags([np.ones(side - 1), np.ones(side - 1)], [-1, 1])
    pattern = (sp.kron(line, sp.eye(side)) + sp.kron(sp.eye(side), line) + sp.eye(nodes)).tocsr()[order][:, order]
    pattern.sort_indices()
    indptr, indices = pattern.indptr.astype(np.int64), pattern.indices.astype(np.int64)
    row = np.repeat(np.arange(nodes), np.diff(indptr))
    own = np.flatnonzero(row == indices)
    blocks = np.zeros((row.size + 1, 4))
    blocks[:-1] = [-coupling, 0.0, 0.0, -1.0]
    blocks[own] = 0.0
    blocks[own] = np.array([1.0, 0.0, 0.0, 1.0]) - np.add.reduceat(blocks[:-1], indptr[:-1])
    matrix = sp.bsr_matrix((blocks[:-1].reshape(-1, 2, 2), indices, indptr))
    return matrix, row_blocks(indptr, indices, own), blocks


def subset_of(system: System, update: np.ndarray, threshold: float = 0.5) -> Subset:
    """The nodes whose update exceeds a threshold, and their neighbours; valid until the next."""
    p = system.problem
    whole, active, edges = p.newton.whole, p.newton.active, p.edges
    active_set.flag_active(
        update, np.ones_like(update), threshold, p.jacobian.indptr, p.jacobian.indices, active.marked
    )
    count, joined = active_set.compact(
        whole.nodes, active.marked, edges.start, edges.of, edges.other, active.nodes, active.edges
    )
    return Subset(active.nodes[:count], active.edges[:joined], active.marked)


def solve_linear(
    system: System, right: np.ndarray, solution: np.ndarray, weights: np.ndarray, tolerance: float, drop: float
) -> int:
    """Improve ``solution`` (N, 2) for a right side with the matrix as it is; iterations, negative if it failed."""
    linear, nodes = system.problem.linear, system.problem.newton.whole.nodes
    assert dilu.factorise_dirty(linear)
    bicgstab.scatter(linear.rows.row, nodes, weights, linear.work[9])
    stop = Stop(tolerance, drop, 0.0, 200)
    return int(bicgstab.solve(linear.rows, linear.groups, nodes, linear.factors, right, solution, linear.work, stop))


def precondition(system: System, right: np.ndarray, update: np.ndarray) -> None:
    """Put the incomplete factors' solution for ``right`` into ``update``, both (N, 2), maybe the same."""
    linear, nodes = system.problem.linear, system.problem.newton.whole.nodes
    assert dilu.factorise_dirty(linear)
    bicgstab.precondition(linear.rows, linear.groups, nodes, linear.factors, linear.zeros, right, update)
