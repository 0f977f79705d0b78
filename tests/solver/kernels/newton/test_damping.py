"""Damped updates: nodes that take up rain or refuse some, and nodes that turn back again and again."""

from collections.abc import Callable

import numpy as np
import pytest

from stemwall.cases.verification.rig import Load
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.newton import damping
from stemwall.solver.kernels.support import layout
from stemwall.solver.kernels.support.arrays import Damping, Unknowns
from tests.solver.integration.test_integrator import one_row
from tests.solver.samples import corner_bench, corner_load


def _moved(before: float, change: float, kink: float = np.inf, previous: np.ndarray | None = None) -> float:
    """Where a warm node of a given potential is after an update that would change it so much."""
    potential, one = np.array([before]), np.ones(1)
    kept = Damping(np.ones((1, 3)), np.zeros(1, dtype=np.int64), one.copy(), one.copy(), one.copy())
    damping.damped_update(
        np.zeros(1, dtype=np.int64), Unknowns(20.0 * one, potential), 1e-3, np.array([[0.0, -change]]),
        np.zeros(0) if previous is None else previous, np.full(1, kink), np.ones((1, 2)), one_row(np.ones((1, 4))),
        kept,
    )  # fmt: skip
    return float(potential[0])


@pytest.mark.parametrize("bend", [0.0, 0.22, 1.13])
def test_a_node_in_the_rain_stops_where_its_uptake_bends(bend: float) -> None:
    """From either side an update goes no farther than is known of it; on either side it is free."""
    within, beyond = damping.KINK_MARGIN_WETTING, damping.KINK_MARGIN_DRYING
    assert _moved(bend + 0.5, -1.9, bend) == pytest.approx(bend - within)
    assert _moved(bend + 0.5, -0.4, bend) == pytest.approx(bend + 0.1)
    assert _moved(-2.0, 50.0, bend) == pytest.approx(min(bend + beyond, damping.MAX_DRYING))
    assert _moved(-2.0, 1.5, bend) == pytest.approx(-0.5)
    assert _moved(bend - 0.5, -0.1, bend) == pytest.approx(bend - 0.6)
    # without a face
    assert _moved(0.5, -1.9) == pytest.approx(-1.4)
    assert _moved(-2.0, 50.0) == damping.MAX_DRYING


def test_the_pressure_of_a_full_node_rises_by_what_can_be_meant() -> None:
    """Regression: a nearly singular block of frozen ground sent it to 1e25 Pa, where nothing is a number."""
    most = damping.MAX_PRESSURE_UPDATE
    assert _moved(-5.0, -1e20) == -10.0 - most
    assert _moved(-5.0, -most) == -5.0 - most
    assert _moved(-3.0 * most, -1e20) == -7.0 * most
    assert _moved(-3.0 * most, 2.5 * most) == -0.5 * most


def _newton(slope_of: Callable[[float], tuple[float, float]], start: float, went: np.ndarray) -> float:
    """Where thirty cautious updates lead for a function with its slope."""
    at = start
    for _ in range(30):
        value, slope = slope_of(at)
        at = _moved(at, -value / slope, previous=went)
    return at


def test_a_node_that_turns_back_goes_half_as_far() -> None:
    """The root of a distance has its every step of Newton's method as far on the other side, for ever."""

    def root(y: float) -> tuple[float, float]:
        far = y - 0.3
        return float(np.copysign(np.sqrt(abs(far)), far)), 0.5 / float(np.sqrt(max(abs(far), 1e-30)))

    assert abs(_newton(root, 0.7, np.zeros(0)) - 0.3) == pytest.approx(0.4)
    assert _newton(root, 0.7, np.zeros(1)) == pytest.approx(0.3, abs=1e-7)
    # what only slows down, or what is full, goes its way
    went = np.array([1.5])
    assert _moved(3.0, 1.9, previous=went) == pytest.approx(4.9)
    assert went[0] == pytest.approx(1.9)
    assert _moved(-5.0, -3.0, previous=np.array([0.1])) == pytest.approx(-8.0)


def test_bends_are_where_a_face_begins_to_refuse() -> None:
    """A little wetter than there some of the rain is refused, a little drier none; nothing bends without a face."""
    supply = 2e-4

    def load(t: float, surface: Surface) -> Load:
        row = dict(corner_load(t, surface))
        return {**row, "supply": supply} if surface.climate == "outdoors" else row

    bench = corner_bench(load=load)
    system, state = bench.system, bench.integrator.state
    loads, still = bench.integrator.loads.at(0.0, 1.0).copy(), np.zeros_like(system.storage)
    system.evaluate(state)
    system.assemble(state, 0.0, still, loads, jacobian=False)
    network = system.network
    rained = [k for k, surface in enumerate(network.surfaces) if surface.climate == "outdoors"]
    wet = network.face_node[np.isin(network.face_surface, rained)]
    assert wet.size > 0
    assert system.uptake_kink[wet] == pytest.approx(np.arcsinh(supply / 1e-5 / layout.P0))
    dry = np.setdiff1d(network.face_node, wet)
    assert np.all(system.uptake_kink[dry] == 0.0)
    assert np.all(np.isinf(np.delete(system.uptake_kink, network.face_node)))
    offered = supply * sum(network.surfaces[k].length for k in rained)
    for beside, refused in ((1e-4, 0.0), (-1e-4, 1e-4)):
        state.potential[wet] = system.uptake_kink[wet] + beside
        system.evaluate(state)
        system.assemble(state, 0.0, still, loads, jacobian=False)
        share = refused / np.tanh(system.uptake_kink[wet[0]])
        assert system.flows[rained, 3].sum() == pytest.approx(share * offered, rel=1e-3)
