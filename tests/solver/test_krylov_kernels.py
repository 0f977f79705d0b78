"""The linear solver against a direct one; the factors of a matrix without fill are exact."""

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.sparse.linalg import spsolve

from stemwall.solver import krylov_kernels as krylov
from tests.solver.samples import corner_bench


def _assembled(step: float):
    bench = corner_bench()
    system, state = bench.system, bench.march.state
    system.evaluate(state)
    history = system.storage / step
    system.assemble(state, 1 / step, history, bench.march.loads.at(50000.0, 50000.0), jacobian=True)
    matrix = sp.bsr_matrix((system.values.reshape(-1, 2, 2), system.indices, system.indptr)).tocsc()
    return system, matrix


@pytest.mark.parametrize("step", [10.0, 3600.0, 1e7])
def test_solution_matches_a_direct_solver(step: float, rng: np.random.Generator) -> None:
    system, matrix = _assembled(step)
    wanted = rng.normal(size=(system.network.nodes, 2))
    right = np.asarray(matrix @ wanted.ravel()).reshape(-1, 2)
    direct = spsolve(matrix, right.ravel()).reshape(-1, 2)
    assert system.factorise()
    solution = np.zeros_like(right)
    used = system.solve(right, solution, np.ones_like(right), 1e-11, 1.0)
    assert used > 0
    # the condition of the matrix times round-off of the direct solution
    found, wanted_right = matrix @ solution.ravel(), matrix @ direct.ravel()
    np.testing.assert_allclose(found, wanted_right, rtol=1e-7, atol=1e-9)


def test_factors_are_exact_without_fill(rng: np.random.Generator) -> None:
    """A chain of nodes has no fill: one application solves it."""
    rows = 50
    indptr = np.concatenate([[0], np.cumsum([2] + [3] * (rows - 2) + [2])])
    indices = np.concatenate([[j for j in (i - 1, i, i + 1) if 0 <= j < rows] for i in range(rows)])
    diagonal = np.array([indptr[i] + (1 if i else 0) for i in range(rows)])
    values = rng.normal(size=(indices.size, 4))
    values[diagonal] += np.array([6.0, 0.0, 0.0, 6.0])
    matrix = sp.bsr_matrix((values.reshape(-1, 2, 2), indices, indptr)).toarray()
    wanted = rng.normal(size=(rows, 2))
    right = (matrix @ wanted.ravel()).reshape(-1, 2)
    factors = np.empty_like(values)
    assert krylov.factorise(indptr, indices, diagonal, values, factors, np.full(rows, -1)) == -1
    krylov.precondition(indptr, indices, diagonal, factors, right, right)
    np.testing.assert_allclose(right, wanted, rtol=1e-10)


def test_singular_block_is_reported_with_its_row() -> None:
    indptr, indices, diagonal = np.array([0, 1, 2]), np.array([0, 1]), np.array([0, 1])
    values = np.array([[1.0, 0, 0, 1.0], [1.0, 1.0, 1.0, 1.0]])
    assert krylov.factorise(indptr, indices, diagonal, values, values.copy(), np.full(2, -1)) == 1
