"""States that follow the unknowns by their slopes against states evaluated anew."""

import numpy as np

from stemwall.cases.verification.rig import Bench, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver.integration.system import State, System
from stemwall.solver.kernels.physics.linearised_state import (
    LINEARISATION_RADIUS,
    MAX_POTENTIAL_SHIFT,
    NO_LINEARISATION_BELOW,
    update_state,
)
from stemwall.solver.kernels.support import layout
from tests.solver.samples import corner_bench

SHOWN = ("node_state", "scv_state", "storage", "capacity")


def _follow(system: System, state: State) -> None:
    """Update the state of a system to unknowns whose wanted errors are one."""
    p, count = system.problem, state.temperature.size
    update_state(
        p.newton.whole.nodes, state.unknowns, np.ones((count, 2)), p.newton.listed, p.volumes, p.tables, p.state
    )


def _followed(dt: np.ndarray | float, dy: np.ndarray | float) -> tuple[System, State, dict[str, np.ndarray]]:
    """A system whose state has followed a move, the state, and what it shows if it is evaluated there."""
    bench = corner_bench()
    system, state = bench.system, bench.integrator.state.copy()
    system.evaluate(state)
    moved = State(state.temperature + dt, state.potential + dy)
    system.problem.state.jacobian_dirty[:] = False
    _follow(system, moved)
    found = {name: getattr(system, name).copy() for name in SHOWN}
    found["dirty"] = system.problem.state.jacobian_dirty.copy()
    system.evaluate(moved)
    return system, state, found


def test_the_error_is_of_second_order() -> None:
    errors = []
    for share in (1.0, 0.5):
        system, _, found = _followed(share * 0.2, share * 0.9 * MAX_POTENTIAL_SHIFT)
        assert not found["dirty"].any()
        columns = [layout.PV, layout.RH, layout.FM, layout.PC]
        node = np.abs(found["node_state"][:, columns] / system.node_state[:, columns] - 1.0).max(axis=0)
        parts = [layout.VAP, layout.LAM]
        wanted = system.scv_state[:, parts]
        part = (np.abs(found["scv_state"][:, parts] - wanted) / np.maximum(wanted, 1e-30)).max(axis=0)
        stored = np.abs(found["storage"] / system.storage - 1.0).max(axis=0)
        errors.append(np.concatenate([node, part, stored]))
    assert np.all(errors[0] < 2e-4)
    assert np.all(errors[1] < 0.3 * errors[0] + 1e-12)


def test_what_moved_far_or_is_cold_is_evaluated() -> None:
    for dt, dy in ((1.01 * LINEARISATION_RADIUS, 0.0), (0.0, 1.01 * MAX_POTENTIAL_SHIFT)):
        system, _, found = _followed(dt, dy)
        assert found["dirty"].all()
        for name in SHOWN:
            np.testing.assert_array_equal(found[name], getattr(system, name))
    bench = corner_bench()
    chill = NO_LINEARISATION_BELOW - 0.01 - bench.integrator.state.temperature
    _, _, found = _followed(chill, 0.0)
    assert found["dirty"].all()


def test_neighbours_of_almost_one_suction_stay_coupled_as_they_should(rng: np.random.Generator) -> None:
    """Regression: the conductivity that gravity meets is a quotient of two small differences, and made Jacobians wild.

    More suction in a node draws more water into it from its neighbours: all couplings of water have one sign.
    """
    lines = np.linspace(0.0, 0.4, 101)
    bench = Bench(
        bar([("soil", 0.4)], upright=True), {"soil": gardner_soil()}, [0.0, 0.1], lines, lambda t, surface: {},
        temperature=10.0, suction=15000.0,
    )  # fmt: skip
    system, state = bench.system, bench.integrator.state.copy()
    count = state.temperature.size
    state.potential += 0.2 * MAX_POTENTIAL_SHIFT * rng.normal(size=count)
    system.evaluate(state)
    moved = State(state.temperature, state.potential.mean() + 2e-5 * rng.normal(size=count))
    dirty = system.problem.state.jacobian_dirty
    dirty[:] = False
    _follow(system, moved)
    assert not dirty.any()
    system.assemble(moved, 0.0, np.zeros((count, 2)), bench.integrator.loads.at(0.0, 0.0), jacobian=True)
    rows = np.repeat(np.arange(count), np.diff(system.indptr))
    couplings = system.values[rows != system.indices, 3]
    assert couplings.min() > 0.0
    assert couplings.max() < 1.2 * np.median(couplings)


def test_there_and_back_is_where_it_was() -> None:
    bench = corner_bench()
    system, state = bench.system, bench.integrator.state
    system.evaluate(state)
    before = {name: getattr(system, name).copy() for name in SHOWN}
    for dt in (0.1, -0.05, 0.0):
        _follow(system, State(state.temperature + dt, state.potential + 0.1 * MAX_POTENTIAL_SHIFT * dt))
    # the slope of humidity over temperature is that of where it stands
    for name in SHOWN:
        np.testing.assert_allclose(getattr(system, name), before[name], rtol=1e-7, atol=1e-300)
