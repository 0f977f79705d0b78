"""The linear solver against a direct one, its factors against dense arithmetic."""

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.sparse.linalg import spsolve

from stemwall.solver.discretisation.row_blocks import factors_for, row_blocks
from stemwall.solver.integration.system import System
from stemwall.solver.kernels.linear import bicgstab as krylov
from stemwall.solver.kernels.linear import dilu, row_order
from stemwall.solver.kernels.physics import assembly
from stemwall.solver.kernels.support.arrays import Factors, Mode, RowBlocks, Stage, Stop
from stemwall.solver.kernels.support.simd import WIDTH
from tests.solver.samples import conduction_matrix, corner_bench, precondition, solve_linear, subset_of


def _solve(
    c: RowBlocks, groups: np.ndarray, nodes: np.ndarray, f: Factors, scale: np.ndarray, right: np.ndarray,
    x: np.ndarray, work: np.ndarray, *stop: float,
) -> int:  # fmt: skip
    """Solve with weights by node (N, 2), to a tolerance, a drop, in at most so many iterations."""
    tolerance, drop, most = stop
    krylov.scatter(c.row, nodes, scale, work[9])
    return int(krylov.solve(c, groups, nodes, f, right, x, work, Stop(tolerance, drop, 0.0, int(most))))


class Matrix:
    """A matrix of random 2 x 2 blocks with a given symmetric pattern, and room for its factors."""

    def __init__(self, pattern: np.ndarray, rng: np.random.Generator) -> None:
        graph = sp.csr_matrix(pattern | np.eye(len(pattern), dtype=bool))
        graph.sort_indices()
        self.rows = len(pattern)
        self.indptr, self.indices = graph.indptr.astype(np.int64), graph.indices.astype(np.int64)
        row = np.repeat(np.arange(self.rows), np.diff(self.indptr))
        self.diagonal = np.flatnonzero(row == self.indices)
        self.blocks = np.append(rng.normal(size=(row.size, 4)), np.zeros((1, 4)), axis=0)
        self.blocks[self.diagonal] += np.array([9.0, 0.0, 0.0, 9.0])
        shape = (self.blocks[:-1].reshape(-1, 2, 2), self.indices, self.indptr)
        self.dense = sp.bsr_matrix(shape, shape=(2 * self.rows, 2 * self.rows)).toarray()
        self.places = row_blocks(self.indptr, self.indices, self.diagonal)
        self.couplings, self.factors = self.places, factors_for(self.places, np.float64)
        self.zeros = np.zeros(2 * self.places.node.size)

    def factorise(self, groups: np.ndarray | None = None, inside: np.ndarray | None = None) -> int:
        """Factorise all rows, or those of some groups."""
        groups = self.places.groups if groups is None else groups
        inside = self.places.node >= 0 if inside is None else inside
        return int(dilu.factorise(self.couplings, groups, inside, self.blocks, self.factors))

    def precondition(self, values: np.ndarray) -> None:
        """Apply the factors in place."""
        nodes = np.arange(self.rows)
        krylov.precondition(self.couplings, self.places.groups, nodes, self.factors, self.zeros, values, values)

    def vector(self, values: np.ndarray) -> np.ndarray:
        """A vector of the solver from one by nodes (N, 2)."""
        made = np.zeros((2, self.places.node.size))
        made[:, self.places.row] = values.T
        return made.ravel()

    def by_node(self, vector: np.ndarray) -> np.ndarray:
        """The other way round."""
        return vector.reshape(2, -1)[:, self.places.row].T

    def groups_of(self, marked: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Groups of marked nodes, and which rows are theirs."""
        room, inside = np.zeros(self.rows, dtype=np.int64), np.ones(self.places.node.size, dtype=bool)
        count = row_order.row_blocks_of(np.flatnonzero(marked), self.places.row, room, inside)
        return room[:count], inside

    def parts(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """D, 1 + L and 1 + U as dense matrices, by the definition."""
        lower, upper = self.dense.copy(), self.dense.copy()
        d = np.zeros_like(self.dense)
        for i in range(self.rows):
            own = slice(2 * i, 2 * i + 2)
            lower[own, 2 * i :] = 0.0
            upper[own, : 2 * i + 2] = 0.0
        for i in range(self.rows):
            own, before = slice(2 * i, 2 * i + 2), slice(0, 2 * i)
            taken = lower[own, before] @ np.linalg.inv(d[before, before]) @ upper[before, own] if i else 0.0
            d[own, own] = self.dense[own, own] - taken
        inverse, one = np.linalg.inv(d), np.eye(2 * self.rows)
        return d, one + inverse @ lower, one + inverse @ upper


def _grid(rng: np.random.Generator, *, extra: int = 0) -> Matrix:
    """A 6 x 5 mesh numbered along diagonals, with some couplings across it, one node joined to many."""
    nodes = sorted(((x, y) for x in range(6) for y in range(5)), key=lambda node: (sum(node), node[1]))
    pattern = np.array([[abs(a - c) + abs(b - d) == 1 for a, b in nodes] for c, d in nodes])
    for _ in range(extra):
        i, j = rng.choice(len(nodes), 2, replace=False)
        pattern[i, j] = pattern[j, i] = True
    if extra:
        pattern[-1, ::4] = pattern[::4, -1] = True
        pattern[2, ::5] = pattern[::5, 2] = True
    return Matrix(pattern, rng)


def _assembled(step: float):
    bench = corner_bench()
    system, state = bench.system, bench.integrator.state
    system.evaluate(state)
    history = system.storage / step
    system.assemble(state, 1 / step, history, bench.integrator.loads.at(50000.0, 50000.0), jacobian=True)
    matrix = sp.bsr_matrix((system.values.reshape(-1, 2, 2), system.indices, system.indptr)).tocsc()
    return system, matrix


@pytest.mark.parametrize("step", [10.0, 3600.0, 1e7])
@pytest.mark.parametrize(
    ("number", "tolerance", "share"), [(np.float64, 1e-11, 1e-7), (np.float32, 1e-5, 1e-4)], ids=["long", "short"]
)
def test_solution_matches_a_direct_solver(
    step: float, number: type[np.floating], tolerance: float, share: float, rng: np.random.Generator
) -> None:
    """In long numbers as far as round-off lets it; in short ones, which a run uses, as far as a run ever asks."""
    system, matrix = _assembled(step)
    wanted = rng.normal(size=(system.network.nodes, 2))
    right = np.asarray(matrix @ wanted.ravel()).reshape(-1, 2)
    direct = spsolve(matrix, right.ravel()).reshape(-1, 2)
    solution = np.zeros_like(right)
    linear, everywhere = system.problem.linear, system.problem.newton.whole.nodes
    places = linear.rows
    factors = factors_for(places, number)
    assert dilu.factorise(places, places.groups, places.node >= 0, linear.blocks, factors) < 0
    work = np.zeros((11, 2 * places.node.size), dtype=number)
    used = _solve(
        places, places.groups, everywhere, factors, np.ones_like(right), right, solution, work,
        tolerance, 1.0, 100,
    )  # fmt: skip
    assert used > 0
    # the condition of the matrix times round-off of the direct solution
    found, wanted_right = matrix @ solution.ravel(), matrix @ direct.ravel()
    np.testing.assert_allclose(found, wanted_right, rtol=share, atol=share * np.abs(wanted_right).max())


@pytest.mark.parametrize("extra", [0, 12])
def test_every_coupling_is_kept_once(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    c, blocks = matrix.places, matrix.indices.size
    slots = np.concatenate([s[s < blocks] for s in (c.own, c.lower_slot, c.upper_slot)])
    np.testing.assert_array_equal(np.sort(slots), np.arange(blocks))
    row_of = np.repeat(np.arange(matrix.rows), np.diff(matrix.indptr))
    for first, start, slot, back in (
        (c.lower_first, c.lower_start, c.lower_slot, c.lower_back),
        (c.upper_first, c.upper_start, c.upper_slot, None),
    ):
        for group in range(first.size - 1):
            for link in range(first[group], first[group + 1]):
                for lane in np.flatnonzero(slot[link] < blocks):
                    ends = c.node[WIDTH * group + lane], c.node[start[link] + lane]
                    assert ends == (row_of[slot[link, lane]], matrix.indices[slot[link, lane]])
                    if back is not None:
                        assert ends == (matrix.indices[back[link, lane]], row_of[back[link, lane]])


def test_rows_of_a_group_do_not_wait_for_each_other(rng: np.random.Generator) -> None:
    for extra in 0, 12, 60:
        matrix = _grid(rng, extra=extra)
        c = matrix.places
        np.testing.assert_array_equal(c.node[c.row], np.arange(matrix.rows))
        assert (np.diff(c.row) > 0).all()
        assert c.row[0] >= WIDTH
        assert c.row[-1] < c.node.size - WIDTH
        row_of = np.repeat(c.row, np.diff(matrix.indptr))
        others = c.row[matrix.indices]
        assert (row_of // WIDTH != others // WIDTH)[row_of != others].all()


def test_a_mesh_fills_its_rows_and_links() -> None:
    """Hardly a row is empty, and hardly a group has more than the two links on each side that it cannot do without."""
    nodes = sorted(((x, y) for x in range(40) for y in range(30)), key=lambda node: (sum(node), node[1]))
    place = {node: number for number, node in enumerate(nodes)}
    ends = [((x, y), (x + a, y + b)) for x, y in nodes for a, b in ((1, 0), (0, 1))]
    i, j = np.array([(place[one], place[other]) for one, other in ends if other in place]).T
    own = np.arange(len(nodes))
    graph = sp.coo_matrix((np.ones(2 * i.size + own.size), (np.r_[i, j, own], np.r_[j, i, own]))).tocsr()
    graph.sort_indices()
    row = np.repeat(own, np.diff(graph.indptr))
    c = row_blocks(
        graph.indptr.astype(np.int64), graph.indices.astype(np.int64), np.flatnonzero(row == graph.indices)
    )  # fmt: skip
    assert c.node.size < 1.05 * len(nodes)
    assert c.lower_start.size < 2.3 * c.groups.size


@pytest.mark.parametrize("extra", [0, 12])
def test_preconditioner_is_the_dense_one(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    assert matrix.factorise() == -1
    d, lower, upper = matrix.parts()
    right = rng.normal(size=(matrix.rows, 2))
    wanted = np.linalg.solve(d @ lower @ upper, right.ravel()).reshape(-1, 2)
    matrix.precondition(right)
    assert not matrix.zeros.any()
    np.testing.assert_allclose(right, wanted, rtol=1e-11, atol=1e-13)


def test_without_triangles_the_factors_leave_nothing_in_the_pattern(rng: np.random.Generator) -> None:
    """Then they are those of the incomplete factorisation without fill."""
    matrix = _grid(rng)
    d, lower, upper = matrix.parts()
    inside = np.kron(matrix.dense.reshape(matrix.rows, 2, matrix.rows, 2).any(axis=(1, 3)), np.ones((2, 2))) > 0
    np.testing.assert_allclose((d @ lower @ upper)[inside], matrix.dense[inside], atol=1e-13)


@pytest.mark.parametrize("extra", [0, 12])
def test_a_sweep_back_and_one_forth_apply_the_preconditioned_matrix(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    c, f = matrix.couplings, matrix.factors
    assert matrix.factorise() == -1
    d, lower, upper = matrix.parts()
    v, shadow, scale = rng.normal(size=(3, matrix.rows, 2))
    r, below, back = matrix.vector(v), np.zeros_like(matrix.zeros), np.zeros_like(matrix.zeros)
    sizes, other = matrix.vector(scale), matrix.vector(shadow)
    worst = krylov.backward_sweep(c, matrix.places.groups, f, r, 0.0, matrix.zeros, matrix.zeros, back, sizes)
    t = matrix.by_node(back)
    assert worst == np.abs(t * scale).max()
    sums = krylov.forward_sweep(c, matrix.places.groups, f, r, back, below, other, sizes, True)
    wanted = np.linalg.solve(lower, np.linalg.solve(d, matrix.dense @ np.linalg.solve(upper, v.ravel())))
    found = t + matrix.by_node(below)
    np.testing.assert_allclose(found.ravel(), wanted, rtol=1e-11, atol=1e-12)
    weight = scale * scale
    products = shadow * found, shadow * v, v * found * weight, found * found * weight
    np.testing.assert_allclose(sums, [product.sum() for product in products], rtol=1e-11)


@pytest.mark.parametrize("extra", [0, 12])
def test_iteration_stops_by_the_largest_preconditioned_remainder(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    c, f = matrix.couplings, matrix.factors
    matrix.factorise()
    d, lower, upper = matrix.parts()
    right, guess = rng.normal(size=(2, matrix.rows, 2))
    scale, work = rng.uniform(0.1, 10.0, size=(matrix.rows, 2)), np.zeros((11, matrix.zeros.size))

    groups, nodes = matrix.places.groups, np.arange(matrix.rows)

    def size(x: np.ndarray) -> float:
        rest = np.linalg.solve(d @ lower @ upper, right.ravel() - matrix.dense @ x.ravel())
        return float(np.abs(rest * scale.ravel()).max())

    for drop in 0.3, 1e-2, 1e-4, 1e-8:
        # what is left of a failure must not matter
        nan = np.full_like(right, np.nan)
        assert _solve(c, groups, nodes, f, scale, nan, guess.copy(), work, np.inf, drop, 50) < 0
        x = guess.copy()
        assert _solve(c, groups, nodes, f, scale, right, x, work, np.inf, drop, 50) >= 0
        assert size(x) <= drop * size(guess) * (1 + 1e-6)
    x = guess.copy()
    assert _solve(c, groups, nodes, f, scale, right, x, work, 1e-9, 1.0, 50) > 0
    assert size(x) <= 1e-9 * (1 + 1e-3)


@pytest.mark.parametrize("number", [np.float64, np.float32], ids=["long", "short"])
def test_long_iterations_begin_anew(number: type[np.floating], rng: np.random.Generator) -> None:
    """Stiff conduction on a large mesh, as in a massive wall: what is left is what the solver says is left."""
    share = 1e-5
    matrix, places, blocks = conduction_matrix(180, 1e5)
    nodes = places.row.size
    c, all_nodes, ones = places, np.arange(nodes), np.ones((nodes, 2))
    right, x, rest = rng.normal(size=(nodes, 2)) + 1.0, np.zeros((nodes, 2)), np.zeros((nodes, 2))
    short, long = (factors_for(places, kind) for kind in (number, np.float64))
    for factors in (short, long):
        assert dilu.factorise(c, places.groups, places.node >= 0, blocks, factors) < 0
    work = np.zeros((11, 2 * places.node.size), dtype=number)
    used = _solve(c, places.groups, all_nodes, short, ones, right, x, work, share, 1.0, 300)
    assert used > krylov.RESTART_AFTER
    left = right - (matrix @ x.ravel()).reshape(-1, 2)
    krylov.precondition(c, places.groups, all_nodes, long, np.zeros(2 * places.node.size), left, rest)
    assert np.abs(rest).max() <= share * (1.0 + 1e-6 if number is np.float64 else 3.0)


@pytest.mark.parametrize("bad", [np.nan, np.inf, 1e200])
def test_what_is_no_number_is_a_failure_and_leaves_nothing(bad: float, rng: np.random.Generator) -> None:
    """Later solutions read what this one left in rows that they multiply with zeros."""
    matrix = _grid(rng, extra=12)
    assert matrix.factorise() == -1
    nodes, work = np.arange(matrix.rows), np.zeros((11, matrix.zeros.size))
    right, x = rng.normal(size=(2, matrix.rows, 2))
    right[7] = bad
    args = matrix.couplings, matrix.places.groups, nodes, matrix.factors, np.ones_like(x)
    assert _solve(*args, right, x, work, 1e-9, 1.0, 50) < 0
    assert not work.any()


def test_factors_are_exact_without_fill(rng: np.random.Generator) -> None:
    """A chain of nodes has no fill: one application solves it."""
    rows = 50
    matrix = Matrix(np.eye(rows, k=1, dtype=bool) | np.eye(rows, k=-1, dtype=bool), rng)
    wanted = rng.normal(size=(rows, 2))
    right = (matrix.dense @ wanted.ravel()).reshape(-1, 2)
    assert matrix.factorise() == -1
    matrix.precondition(right)
    np.testing.assert_allclose(right, wanted, rtol=1e-10)


@pytest.mark.parametrize("extra", [0, 12])
def test_all_nodes_marked_are_the_whole(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    groups, inside = matrix.groups_of(np.ones(matrix.rows, dtype=bool))
    np.testing.assert_array_equal(groups, matrix.places.groups)
    np.testing.assert_array_equal(inside, matrix.places.node >= 0)


@pytest.mark.parametrize("extra", [0, 12])
def test_a_patch_is_preconditioned_as_if_it_were_alone(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    marked = rng.random(matrix.rows) < 0.6
    groups, inside = matrix.groups_of(marked)
    right = rng.normal(size=(matrix.rows, 2))
    right[~marked] = np.nan
    found = right.copy()
    assert matrix.factorise(groups, inside) == -1
    krylov.precondition(
        matrix.couplings, groups, np.flatnonzero(marked), matrix.factors, matrix.zeros, found, found
    )  # fmt: skip
    np.testing.assert_array_equal(found[~marked], right[~marked])
    both = np.repeat(marked, 2)
    matrix.dense = matrix.dense[np.ix_(both, both)]
    matrix.rows = int(marked.sum())
    d, lower, upper = matrix.parts()
    wanted = np.linalg.solve(d @ lower @ upper, right[marked].ravel())
    np.testing.assert_allclose(found[marked].ravel(), wanted, rtol=1e-11, atol=1e-13)


@pytest.mark.parametrize("extra", [0, 12])
def test_a_patch_is_solved_as_if_it_were_alone(extra: int, rng: np.random.Generator) -> None:
    matrix = _grid(rng, extra=extra)
    marked = rng.random(matrix.rows) < 0.6
    groups, inside = matrix.groups_of(marked)
    right, x = rng.normal(size=(2, matrix.rows, 2))
    right[~marked] = np.nan
    found, scale, work = x.copy(), np.ones_like(x), np.zeros((11, matrix.zeros.size))
    assert matrix.factorise(groups, inside) == -1
    # what an earlier solution for all left in rows of others is finite, and does not matter
    work[:, np.tile(~inside & (matrix.places.node >= 0), 2)] = 1e3
    nodes = np.flatnonzero(marked)
    used = _solve(matrix.couplings, groups, nodes, matrix.factors, scale, right, found, work, 1e-12, 1.0, 50)
    assert used > 0
    np.testing.assert_array_equal(found[~marked], x[~marked])
    both = np.repeat(marked, 2)
    wanted = np.linalg.solve(matrix.dense[np.ix_(both, both)], right[marked].ravel())
    np.testing.assert_allclose(found[marked].ravel(), wanted, rtol=1e-9, atol=1e-11)


@pytest.mark.parametrize("extra", [0, 12])
def test_rows_that_changed_are_renewed(extra: int, rng: np.random.Generator) -> None:
    """If all that follow are renewed too, the factors are those of the new matrix."""
    matrix, first = _grid(rng, extra=extra), 11
    assert matrix.factorise() == -1
    later = matrix.blocks[matrix.indptr[first] : -1]
    later *= rng.uniform(0.9, 1.1, size=(len(later), 1))
    groups, _ = matrix.groups_of(np.arange(matrix.rows) >= first)
    assert matrix.factorise(groups) == -1
    found = [part.copy() for part in matrix.factors]
    assert matrix.factorise() == -1
    for part, wanted in zip(found, matrix.factors, strict=True):
        np.testing.assert_array_equal(part, wanted)


def test_singular_block_is_reported_with_its_row_and_forgotten(rng: np.random.Generator) -> None:
    matrix = Matrix(np.zeros((2, 2), dtype=bool), rng)
    for bad in [1.0, 1.0, 1.0, 1.0], [np.nan, 0.0, 0.0, 1.0]:
        good = matrix.blocks[1].copy()
        matrix.blocks[1] = bad
        assert matrix.factorise() == 1
        matrix.blocks[1] = good
        assert matrix.factorise() == -1


def _solves(system: System, rng: np.random.Generator) -> None:
    matrix = sp.bsr_matrix((system.values.reshape(-1, 2, 2), system.indices, system.indptr))
    wanted = rng.normal(size=(system.network.nodes, 2))
    right = np.asarray(matrix @ wanted.ravel()).reshape(-1, 2)
    solution = np.zeros_like(right)
    assert solve_linear(system, right, solution, np.ones_like(right), 1e-5, 1.0) >= 0
    # short numbers; a row that was left as it was shows by far more
    found = np.asarray(matrix @ solution.ravel()).reshape(-1, 2)
    np.testing.assert_array_less(np.abs(found - right).max(axis=0), 1e-4 * np.abs(right).max(axis=0))


def test_system_solves_with_the_matrix_as_it_is(rng: np.random.Generator) -> None:
    """Rows renewed after the factorisation count, all or some."""
    bench = corner_bench()
    system, state, loads = bench.system, bench.integrator.state, bench.integrator.loads.at(50000.0, 50000.0)
    system.evaluate(state)
    for rate in 1 / 3600, 1e-2:
        system.assemble(state, rate, system.storage * rate, loads, jacobian=True)
        _solves(system, rng)
    update = np.zeros_like(system.residual)
    update[:: system.network.nodes // 5] = 1.0
    subset, p = subset_of(system, update), system.problem
    assert 0 < subset.nodes.size < 0.5 * system.network.nodes
    stage = Stage(1e-3, system.storage * 1e-3, loads, system.source)
    assembly.assemble(subset, state.unknowns, stage, Mode(False, True, False), p)
    p.linear.dirty[1] = True
    p.linear.factors_dirty[subset.nodes] = True
    _solves(system, rng)


def _factorise_subset(system: System, nodes: np.ndarray) -> None:
    """Factorise the rows of some nodes, the rest held."""
    linear = system.problem.linear
    count = row_order.row_blocks_of(nodes, linear.rows.row, linear.subset_groups, linear.subset_mask)
    linear.subset_count[0] = count
    groups = linear.subset_groups[:count]
    assert dilu.factorise(linear.rows, groups, linear.subset_mask, linear.blocks, linear.subset_factors) < 0


def _precondition_subset(system: System, nodes: np.ndarray, right: np.ndarray) -> None:
    """Precondition in place with everything outside the subset held."""
    linear = system.problem.linear
    groups = linear.subset_groups[: linear.subset_count[0]]
    krylov.precondition(linear.rows, groups, nodes, linear.subset_factors, linear.zeros, right, right)


def test_subset_of_a_system_leaves_the_rest(rng: np.random.Generator) -> None:
    system, _ = _assembled(3600.0)
    ones = np.ones_like(system.residual)
    nodes = subset_of(system, ones).nodes
    _factorise_subset(system, nodes)
    right = rng.normal(size=ones.shape)
    whole, part = right.copy(), right.copy()
    precondition(system, right, whole)
    _precondition_subset(system, nodes, part)
    np.testing.assert_array_equal(whole, part)
    update = np.zeros_like(ones)
    update[7] = 1.0
    nodes = subset_of(system, update).nodes
    _factorise_subset(system, nodes)
    part[:] = right
    _precondition_subset(system, nodes, part)
    moved = np.flatnonzero((part != right).any(axis=1))
    np.testing.assert_array_equal(moved, nodes)
