"""The linear solver that leaves rows out which are solved."""

import numpy as np
import pytest

from stemwall.solver.discretisation.row_blocks import factors_for
from stemwall.solver.kernels.linear import bicgstab as krylov
from stemwall.solver.kernels.linear import dilu as factor
from stemwall.solver.kernels.linear import focus
from tests.solver.samples import conduction_matrix

SIDE, SHARE, MOST = 120, 1e-4, 200


class Problem:
    """Stiff conduction on a mesh, and what the solver works with."""

    def __init__(self, coupling: float, number: type[np.floating]) -> None:
        self.matrix, self.places, self.blocks = conduction_matrix(SIDE, coupling)
        self.c, self.nodes, self.rows = tuple(self.places), self.places.row.size, self.places.node.size
        self.all, self.ones = np.arange(self.nodes), np.ones((self.nodes, 2))
        self.factors, self.own = (tuple(factors_for(self.places, number)) for _ in range(2))
        assert factor.factorise(self.c, self.places.groups, self.places.node >= 0, self.blocks, self.factors) < 0
        self.work = np.zeros((12, 2 * self.rows), dtype=number)
        self.potential = np.full(self.nodes, 10.0)
        self.room = np.zeros_like(self.places.groups), np.zeros(self.rows, dtype=bool), self.own

    def solve(self, right: np.ndarray, x: np.ndarray, ease: float = 1.0, share: float = SHARE) -> int:
        """Solve in place; iterations."""
        return int(
            focus.solve_all(
                self.c, self.places.groups, self.all, self.factors, self.blocks, self.room, self.potential, self.ones,
                ease, right, x, self.work, share, 1.0, MOST,
            )
        )  # fmt: skip

    def plainly(self, right: np.ndarray, x: np.ndarray, scale: np.ndarray) -> int:
        """The same, all rows all the time."""
        args = self.c, self.places.groups, self.all, self.factors, scale, right, x, self.work, SHARE, 1.0, MOST
        return int(krylov.solve(*args))

    def left(self, right: np.ndarray, x: np.ndarray) -> np.ndarray:
        """Most of the solution that is missing at any node, as the factors see it."""
        return self.left_by_node(right, x).max(axis=0)

    def left_by_node(self, right: np.ndarray, x: np.ndarray) -> np.ndarray:
        """What of the solution is missing, as the factors see it."""
        rest = np.zeros_like(x)
        exact = tuple(factors_for(self.places, np.float64))
        factor.factorise(self.c, self.places.groups, self.places.node >= 0, self.blocks, exact)
        missing = right - (self.matrix @ x.ravel()).reshape(-1, 2)
        krylov.precondition(self.c, self.places.groups, self.all, exact, np.zeros(2 * self.rows), missing, rest)
        return np.abs(rest)


@pytest.fixture(params=[np.float64, np.float32], ids=["long", "short"])
def problem(request: pytest.FixtureRequest) -> Problem:
    return Problem(50.0, request.param)


def test_what_one_corner_asks_for_is_solved_there(problem: Problem, rng: np.random.Generator) -> None:
    """To the same share everywhere, with less work than all rows all the time."""
    right, x = np.zeros((problem.nodes, 2)), np.zeros((problem.nodes, 2))
    corner = problem.nodes // 20
    right[:corner] = 100.0 * rng.normal(size=(corner, 2)) + 100.0
    used = problem.solve(right, x)
    inside = problem.room[1]
    assert 0 < inside.sum() < 0.6 * problem.nodes
    assert (problem.left(right, x) <= SHARE * 1.001).all()
    other = np.zeros_like(x)
    assert 0 < used < problem.plainly(right, other, problem.ones)
    np.testing.assert_allclose(x, other, atol=0.05, rtol=1e-3)


def test_rows_in_full_ground_are_not_left_out(problem: Problem) -> None:
    right, x = np.zeros((problem.nodes, 2)), np.zeros((problem.nodes, 2))
    right[: problem.nodes // 20] = 100.0
    far = problem.all[-problem.nodes // 20 :]
    assert problem.solve(right, x.copy()) > 0
    assert not problem.room[1][problem.places.row[far]].any()
    problem.potential[far] = 0.5 * focus.FULL
    assert problem.solve(right, x) > 0
    assert problem.room[1][problem.places.row[far]].all()
    assert (problem.left(right, x) <= SHARE * 1.001).all()


def test_full_ground_is_solved_more_closely(problem: Problem) -> None:
    """What is smooth there shows little in what the factors see, and it is this that keeps sums open."""
    right, x = np.full((problem.nodes, 2), 0.01), np.zeros((problem.nodes, 2))
    full = problem.all[problem.nodes // 2 :]
    for potential, share in ((10.0, SHARE), (-5.0, SHARE / focus.COUNTS)):
        problem.potential[full] = potential
        x[:] = 0.0
        assert problem.solve(right, x) > 0
        assert problem.left_by_node(right, x)[full, 1].max() <= 1.001 * share
    open_sum = abs((right - (problem.matrix @ x.ravel()).reshape(-1, 2))[:, 1].sum())
    assert open_sum <= problem.nodes * SHARE


def test_a_change_of_all_rows_is_solved_in_all(problem: Problem, rng: np.random.Generator) -> None:
    right, x = 100.0 * rng.normal(size=(problem.nodes, 2)) + 100.0, np.zeros((problem.nodes, 2))
    assert problem.solve(right, x) > 0
    assert (problem.left(right, x) <= SHARE * 1.001).all()
    assert not problem.room[1].any()


def test_the_first_unknown_counts_as_little_as_is_said(problem: Problem, rng: np.random.Generator) -> None:
    right, x = rng.normal(size=(2, problem.nodes, 2))
    strictly = problem.solve(right, x.copy())
    assert 0 < problem.solve(right, x, ease=1e-2) < strictly
    first, second = problem.left(right, x)
    assert SHARE < first <= 100 * SHARE * 1.001
    assert second <= SHARE * 1.001


@pytest.mark.parametrize("bad", [np.nan, np.inf, 1e200])
def test_what_is_no_number_is_a_failure_and_leaves_nothing(
    problem: Problem, bad: float, rng: np.random.Generator
) -> None:
    right, x = np.zeros((problem.nodes, 2)), np.zeros((problem.nodes, 2))
    right[:700] = 100.0 * rng.normal(size=(700, 2)) + 100.0
    spoiled = right.copy()
    spoiled[7] = bad
    assert problem.solve(spoiled, x.copy()) < 0
    assert not problem.work.any()
    assert problem.solve(right, x) > 0
    assert (problem.left(right, x) <= SHARE * 1.001).all()


def test_an_exhausted_solver_says_so(problem: Problem, rng: np.random.Generator) -> None:
    right, x = np.zeros((problem.nodes, 2)), np.zeros((problem.nodes, 2))
    right[:700] = 100.0 * rng.normal(size=(700, 2)) + 100.0
    assert problem.solve(right, x, share=0.0) < 0
