"""Local time stepping: what crosses the interface, balances, the answer."""

from collections.abc import Callable
from functools import partial

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.newton.stage import SOLVED
from stemwall.solver.kernels.time.substeps import select_subset
from stemwall.solver.model.settings import Accuracy
from tests.solver.samples import corner_bench, corner_load, subset_of


def frost_load(t: float, surface: Surface) -> Load:
    """Frost at night and rain by day on the left, held ground on the right."""
    if surface.climate != "left":
        return {"air_temperature": 5.0, "film": 1e5, "supply": 1e33, "uptake": 1e-4, "held_suction": 5000.0}
    swing = -1.0 - 6.0 * np.sin(2 * np.pi * t / 86400.0)
    return {**air(swing, 0.9, 20.0, 7e-8), "supply": 1e-5 if swing > 0.0 else 0.0, "uptake": 1e-5}


def frost_bench(accuracy: Accuracy | None = None) -> Bench:
    """A bar of moist soil, fine on the side of the weather."""
    lines = np.append(0.0, np.cumsum(np.geomspace(0.004, 0.02, 150)))
    return Bench(
        bar([("soil", float(lines[-1]))]), {"soil": gardner_soil()}, lines, [0.0, 0.1], frost_load,
        temperature=4.0, suction=5000.0, accuracy=accuracy,
    )  # fmt: skip


def work_marks(bench: Bench) -> np.ndarray:
    """Nodes that were sub-stepped last, as `select_subset` finds them; marks are used for other things since."""
    work, a = bench.integrator._substeps, bench.network
    count = int(np.argmin(np.diff(work.nodes) > 0)) + 1  # ghosts follow the subset, not in ascending order
    for size in range(count, 0, -1):
        inside = np.isin(np.arange(a.nodes), work.nodes[:size])
        ends = a.scv_node[a.edge_a], a.scv_node[a.edge_b]
        across = np.flatnonzero(inside[ends[0]] != inside[ends[1]])
        if np.array_equal(np.sort(work.interface_edges[: across.size]), across):
            return inside
    raise AssertionError("no subset")


@pytest.mark.parametrize("make", [frost_bench, partial(corner_bench, refine=3)], ids=["frost", "corner"])
def test_what_is_given_to_nodes_came_through_surfaces(make: Callable[[], Bench]) -> None:
    """Of what flows beyond the long step's account, none is made or lost between nodes."""
    bench = make()
    integrator, found = bench.integrator, 0
    work, statistics = integrator._substeps, integrator.statistics
    plainly = integrator._attempt

    def watched(step: float) -> tuple[int, int, float, bool]:
        nonlocal found
        before = statistics.substeps
        ended = plainly(step)
        if ended[0] != SOLVED or statistics.substeps == before:
            return ended
        found += 1
        # the subset's nodes are those that are marked, in ascending order; its interface all edges out of it
        nodes = np.flatnonzero(work_marks(bench))
        inside = np.isin(np.arange(bench.network.nodes), nodes)
        a, b = bench.network.scv_node[bench.network.edge_a], bench.network.scv_node[bench.network.edge_b]
        crossing = np.count_nonzero(inside[a] != inside[b])
        given = np.zeros((bench.network.nodes, 2))
        given[nodes] = work.entered[: nodes.size]
        np.add.at(given, work.interface_nodes[:crossing], work.crossed[:crossing])
        through = work.through
        assert given[:, 0].sum() == pytest.approx(through[:, 0].sum(), abs=1e-9 * np.abs(given[:, 0]).sum())
        assert given[:, 1].sum() == pytest.approx(through[:, 1:3].sum(), abs=1e-9 * np.abs(given[:, 1]).sum())
        # something did flow otherwise, near the subset alone
        assert np.abs(given[nodes]).max() > 0.0
        assert np.count_nonzero(given.any(axis=1)) < given.shape[0] / 2
        return ended

    integrator._attempt = watched  # type: ignore[method-assign]
    for hour in range(1, 49):
        integrator.advance_to(hour * 3600.0)
    assert found >= 2  # it did happen
    assert np.abs(bench.closure()).max() < 1e-11
    assert bench.integrator.statistics.unbalanced_steps == 0


def test_a_front_of_frost_takes_few_steps_of_all_nodes_and_the_answer_agrees() -> None:
    alone, hours = frost_bench(), 72
    together, fine = frost_bench(), frost_bench(Accuracy(0.005, 0.0005, 0.0005))
    together.integrator.max_local_share = fine.integrator.max_local_share = 0.0
    worst = [0.0, 0.0]
    for hour in range(1, hours + 1):
        for number, bench in enumerate((alone, together)):
            bench.integrator.advance_to(hour * 3600.0)
            fine.integrator.advance_to(hour * 3600.0)
            worst[number] = max(worst[number], float(np.abs(bench.temperature - fine.temperature).max()))
    assert together.integrator.statistics.substeps == 0
    assert alone.integrator.statistics.substeps > 10
    assert alone.integrator.statistics.steps < 0.6 * together.integrator.statistics.steps
    # the wanted error of a step, and no worse than the same accuracy without
    assert worst[0] < 2 * Accuracy().temperature
    assert worst[0] < 1.5 * worst[1]


def test_a_subset_has_no_membrane_to_what_is_outside_and_its_interface_lists_all_edges_out() -> None:
    bench = corner_bench()
    system, network, work = bench.system, bench.network, bench.integrator._substeps
    newton = system.problem.newton
    newton.weights[:] = 1.0
    rng = np.random.default_rng(5)
    closed_more = False
    for _ in range(40):
        newton.update[:] = rng.random((network.nodes, 2)) > 0.97
        open_size = subset_of(system, newton.update).nodes.size
        count, joined, crossing, ghosts = select_subset(network.nodes, work, system.problem)
        closed_more = closed_more or count > open_size
        inside = np.isin(np.arange(network.nodes), work.nodes[:count])
        np.testing.assert_array_equal(inside, newton.active.marked)
        np.testing.assert_array_equal(inside[network.membrane_a], inside[network.membrane_b])
        a, b = network.scv_node[network.edge_a], network.scv_node[network.edge_b]
        np.testing.assert_array_equal(np.sort(work.edges[:joined]), np.flatnonzero(inside[a] | inside[b]))
        interface, outer = work.interface_edges[:crossing], work.interface_nodes[:crossing]
        np.testing.assert_array_equal(np.sort(interface), np.flatnonzero(inside[a] != inside[b]))
        np.testing.assert_array_equal(outer, np.where(inside[a], b, a)[interface])
        np.testing.assert_array_equal(np.sort(work.nodes[count : count + ghosts]), np.unique(outer))
        assert not work.seen.any()
        assert select_subset(count - 1, work, system.problem)[0] == 0
    assert closed_more


def test_where_there_is_no_room_for_an_interface_the_step_is_taken_again() -> None:
    bench = frost_bench()
    integrator = bench.integrator
    integrator._substeps = integrator._substeps._replace(interface_sign=np.empty(0))
    for hour in range(1, 25):
        integrator.advance_to(hour * 3600.0)
    assert integrator.statistics.substeps == 0
    assert integrator.statistics.rejected_error > 0
    assert integrator.statistics.steps > 24
    assert np.abs(bench.closure()).max() < 1e-11


def test_rain_that_begins_with_the_hour_reaches_short_steps() -> None:
    """What entered and what was refused is what was offered."""

    def load(t: float, surface: Surface) -> Load:
        rows = corner_load(t, surface)
        if surface.climate == "outdoors":
            rows["supply"] = 2e-5 if t > 3600.0 else 0.0
        return rows

    bench = corner_bench(load=load)
    bench.integrator.advance_to(3600.0)
    before = bench.integrator.through.copy()
    bench.integrator.advance_to(7200.0)
    outdoors = [k for k, surface in enumerate(bench.network.surfaces) if surface.climate == "outdoors"]
    offered = 2e-5 * bench.network.face_width[np.isin(bench.network.face_surface, outdoors)].sum() * 3600.0
    assert (bench.integrator.through - before)[outdoors, 2:4].sum() == pytest.approx(offered, rel=1e-6)
