"""Short steps of a few nodes inside a long step of all: what crosses their border, balances, the answer."""

from collections.abc import Callable
from functools import partial

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, Load, air, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.newton.damping import iterate
from stemwall.solver.kernels.newton.narrow import iterate_narrowing
from stemwall.solver.kernels.newton.stage import SOLVED, SPOT
from stemwall.solver.kernels.support import layout
from stemwall.solver.kernels.time import step as trial
from stemwall.solver.kernels.time.substeps import choose
from stemwall.solver.model.settings import Accuracy
from tests.solver.samples import corner_bench, corner_load


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


@pytest.mark.parametrize("make", [frost_bench, partial(corner_bench, refine=3)], ids=["frost", "corner"])
def test_what_is_given_to_nodes_came_through_surfaces(make: Callable[[], Bench]) -> None:
    """Of what flows beyond the long step's account, none is made or lost between nodes."""
    bench = make()
    march, found = bench.integrator, 0
    notes, _, (nodes, _, _, outer, _), _, (_, entered, crossed, through, *_), *_ = march._few
    plainly = march._try

    def watched(step: float) -> tuple[int, int, float, bool]:
        nonlocal found
        ended = plainly(step)
        if ended[0] != SOLVED or notes[trial.TRIED] == 0.0:
            return ended
        found += 1
        count, crossing = int(notes[trial.NODES]), int(notes[trial.BORDER])
        given = np.zeros((bench.network.nodes, 2))
        given[nodes[:count]] = entered[:count]
        np.add.at(given, outer[:crossing], crossed[:crossing])
        assert given[:, 0].sum() == pytest.approx(through[:, 0].sum(), abs=1e-9 * np.abs(given[:, 0]).sum())
        assert given[:, 1].sum() == pytest.approx(through[:, 1:3].sum(), abs=1e-9 * np.abs(given[:, 1]).sum())
        # something did flow otherwise, near the patch alone
        assert np.abs(given[nodes[:count]]).max() > 0.0
        assert np.count_nonzero(given.any(axis=1)) < given.shape[0] / 2
        return ended

    march._try = watched  # type: ignore[method-assign]
    for hour in range(1, 37):
        march.advance_to(hour * 3600.0)
    assert found >= 3
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


def test_a_patch_has_no_sheet_to_what_is_outside_and_its_border_lists_all_paths_out() -> None:
    bench = corner_bench()
    system, network = bench.system, bench.network
    _, links, room, *_ = bench.integrator._few
    rng = np.random.default_rng(5)
    closed_more = False
    for _ in range(40):
        update = (rng.random((network.nodes, 2)) > 0.97).astype(float)
        ones = np.ones_like(update)
        open_size = system.patch(update, ones, 0.5).nodes.size
        count, joined, crossing, beyond = choose(
            system.everywhere.nodes, update, ones, network.nodes, links, system.patches, room
        )  # fmt: skip
        nodes, paths, over, outer, seen = room
        closed_more = closed_more or count > open_size
        inside = np.isin(np.arange(network.nodes), nodes[:count])
        np.testing.assert_array_equal(inside, system.marked)
        np.testing.assert_array_equal(inside[network.membrane_a], inside[network.membrane_b])
        a, b = network.scv_node[network.edge_a], network.scv_node[network.edge_b]
        np.testing.assert_array_equal(np.sort(paths[:joined]), np.flatnonzero(inside[a] | inside[b]))
        np.testing.assert_array_equal(np.sort(over[:crossing]), np.flatnonzero(inside[a] != inside[b]))
        np.testing.assert_array_equal(outer[:crossing], np.where(inside[a], b, a)[over[:crossing]])
        np.testing.assert_array_equal(np.sort(nodes[count : count + beyond]), np.unique(outer[:crossing]))
        assert not seen.any()
        assert choose(system.everywhere.nodes, update, ones, count - 1, links, system.patches, room)[0] == 0
    assert closed_more


def test_a_patch_that_narrows_ends_where_it_would_have_as_a_whole() -> None:
    """A thawing front in a patch: the same unknowns within a few hundredths of the wanted errors, for fewer nodes."""
    ends, work = [], []
    for narrowing in (False, True):
        bench = frost_bench()
        bench.integrator.advance_to(14 * 3600.0)
        system, stage, state = bench.system, bench.integrator.stage, bench.integrator.state
        chosen = np.zeros((bench.network.nodes, 2))
        chosen[bench.network.node_x < 0.5] = 1.0
        where = system.patch(chosen, np.ones_like(chosen), 0.5)
        stage.fill_scale()
        rate, history, loads = 1.0 / 900.0, system.spare, bench.integrator.loads.at(14.5 * 3600.0, 14.5 * 3600.0).copy()
        history[:] = rate * system.storage
        first = where.nodes, where.paths, system.marked
        rest = state.temperature, state.potential, rate, history, loads
        given = *stage.given[:4], system.patch_solver, *stage.given[-3:]
        if narrowing:
            settled, _, moved = iterate_narrowing(*first, SPOT, True, *rest, system.narrow, *given)
            assert not system.narrow[2].any()
        else:
            softened, settled, taken = iterate(*first, 20.0, 1e-3, SPOT, True, *rest, *given)
            moved = taken * where.nodes.size
            assert softened == 0
        assert settled
        ends.append(np.stack([state.temperature, state.potential], axis=1) * stage.scale)
        work.append(moved)
        assert (system.scv_state[:, layout.ICE] > 0.0).any()
    assert np.abs(ends[1] - ends[0]).max() < 5 * SPOT
    assert work[1] < 0.8 * work[0]


def test_where_there_is_no_room_to_march_alone_the_step_is_taken_again() -> None:
    bench = frost_bench()
    *before, outwards, sums, beyond, others, row, narrow = bench.integrator._few
    bench.integrator._few = *before, outwards[:0], sums, beyond, others, row, narrow
    for hour in range(1, 25):
        bench.integrator.advance_to(hour * 3600.0)
    assert bench.integrator.statistics.substeps == 0
    assert bench.integrator.statistics.rejected_error > 0
    assert bench.integrator.statistics.steps > 24
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
