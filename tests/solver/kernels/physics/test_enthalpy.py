"""The heat that a node holds, against what its whole state says."""

import numpy as np

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
