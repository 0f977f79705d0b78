"""The heat that a node holds, against what its whole state says."""

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, bar, held_temperature
from stemwall.materials.catalogue import catalogue
from stemwall.solver.kernels.physics import enthalpy
from stemwall.solver.kernels.support import layout
from tests.solver.samples import corner_bench


def test_the_heat_held_is_that_of_the_whole_state(rng: np.random.Generator) -> None:
    """Over all ranges of the potential, on either side of freezing, in pores full of ice and in nearly dry ones."""
    bench = corner_bench()
    system, state = bench.system, bench.integrator.state.copy()
    count = state.temperature.size
    assert system.freezing
    ice = 0.0
    for _ in range(5):
        state.temperature[:] = rng.choice([-12.0, -0.3, -0.02, 0.0, 0.5], count) * rng.random(count)
        state.potential[:] = rng.uniform(-30.0, layout.Y1 + 3.0, count) * rng.choice([0.01, 0.3, 1.0], count)
        system.evaluate(state)
        temperature, places = state.temperature, [enthalpy.places_of(y) for y in state.potential]
        p = system.problem
        held = np.array([enthalpy.heat_held(n, temperature[n], places[n], p.volumes, p.tables) for n in range(count)])
        np.testing.assert_allclose(held[:, 0], system.storage[:, 0], rtol=1e-11, atol=1e-6)
        np.testing.assert_allclose(held[:, 1], system.capacity[:, 0], rtol=1e-9)
        ice = max(ice, system.scv_state[:, layout.ICE].max())
    assert ice > 0.9


def test_ice_is_all_that_large_pores_hold() -> None:
    """Regression: ice began at what pores hold at 150 Pa, where crushed stone is nearly empty."""
    stone = catalogue().materials["stone_crushed"]
    bench = Bench(bar([("stone", 0.1)], left=False, right=False), {"stone": stone}, [0.0, 0.1], [0.0, 0.1], suction=0.0)
    system, state = bench.system, bench.integrator.state
    state.temperature[:] = -2.0
    system.evaluate(state)
    left = float(stone.storage.water(np.array([enthalpy.freezing_suction(-2.0)[0]]))[0])
    full = float(stone.storage.water(np.array([0.0]))[0])
    np.testing.assert_allclose(system.ice_content(np.arange(4)), full - left, rtol=1e-3)


@pytest.mark.slow
def test_standing_water_in_stone_freezes_and_thaws() -> None:
    """Full stone, 0.2 m, eight days at -8 degC and eight at 8: it freezes, all thaws, no water and no heat is lost."""
    stone = catalogue().materials["stone_crushed"]
    bench = Bench(
        bar([("stone", 0.2)], right=False), {"stone": stone}, np.linspace(0.0, 0.2, 6), [0.0, 0.1],
        lambda t, _: held_temperature(-8.0 if t < 8 * 86400.0 else 8.0), temperature=4.0, suction=0.0,
    )  # fmt: skip
    parts, water = np.arange(bench.network.scv_node.size), bench.water()
    bench.run_to(8 * 86400.0)
    volume = bench.network.scv_volume
    # 346 kg/m3 can freeze; ice draws some water from what freezes last into pores that are full, under pressure
    assert np.average(bench.system.ice_content(parts), weights=volume) > 0.93 * 346.0
    assert bench.temperature.max() < -7.0
    bench.run_to(16 * 86400.0)
    assert bench.system.ice_content(parts).max() == 0.0
    assert bench.water() == pytest.approx(water, rel=1e-6)
    assert abs(bench.closure()[0]) < 1e-9
