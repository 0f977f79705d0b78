"""The material state of nodes: constants, saturation, potential, places in the tables."""

import numpy as np
import pytest

from stemwall.materials import water
from stemwall.solver.integration.system import System, potential_of_suction
from stemwall.solver.kernels.physics import material_state
from stemwall.solver.kernels.support import layout
from stemwall.weather import moistair
from tests.solver.samples import corner_bench


def test_constants_agree_with_the_rooms() -> None:
    assert layout.RHO_W == water.WATER_DENSITY
    assert layout.R_V == water.GAS_CONSTANT
    assert layout.L_V == water.EVAPORATION_HEAT
    assert layout.C_W == water.WATER_HEAT
    assert layout.GRAVITY == water.GRAVITY
    assert layout.AIR_EXPONENT == water.VAPOUR_EXPONENT
    still = float(water.still_air_permeability(20.0))
    assert pytest.approx(still, rel=1e-4) == layout.AIR_PERMEABILITY  # five digits kept


def test_both_rooms_state_one_saturation_pressure() -> None:
    """Materials and weather may not know each other, so the formula stands twice: hold the two together."""
    t = np.linspace(-30.0, 50.0, 81)
    np.testing.assert_allclose(water.saturation_pressure(t), moistair.saturation_pressure(t), rtol=1e-14)


def test_what_is_no_number_stays_none() -> None:
    """The marching finds out from the residual that an update went astray: a NaN must get there."""
    for column, equation in (("temperature", 0), ("potential", 1)):
        bench = corner_bench()
        system, state = bench.system, bench.integrator.state.copy()
        getattr(state, column)[5] = np.nan
        system.evaluate(state)
        loads = bench.integrator.loads.at(0.0, 0.0)
        sums = system.assemble(state, 1.0, np.zeros_like(system.residual), loads, jacobian=False)
        assert np.isnan(system.residual[5, equation])
        assert np.isnan(sums[equation])


def test_saturation_pressure_agrees_with_the_rooms() -> None:
    for t in np.linspace(-20.1, 44.9, 27):
        pressure, slope = material_state.saturation_pressure(t)
        assert pressure == pytest.approx(float(moistair.saturation_pressure(t)), rel=1e-13)
        h = 1e-4
        numeric = (moistair.saturation_pressure(t + h) - moistair.saturation_pressure(t - h)) / (2 * h)
        assert slope == pytest.approx(float(numeric), rel=1e-6)


def test_node_state_agrees_with_the_rooms() -> None:
    """Suction, vapour pressure, humidity and fluidity over all ranges, with their slopes."""
    bench = corner_bench()
    system, state = System(bench.network, bench.system.tables, freezing=False), bench.integrator.state.copy()
    count = state.temperature.size
    state.temperature[:] = np.resize(np.linspace(-20.1, 44.9, 27), count)
    state.potential[:] = np.sort(np.resize(np.linspace(-300.0, 13.0, 211), count))
    suction = np.array([material_state.suction_of(y) for y in state.potential])

    def at(t: np.ndarray) -> dict[int, np.ndarray]:
        shown = np.exp(-suction[:, 0] / (water.WATER_DENSITY * water.GAS_CONSTANT * (t + water.ZERO_CELSIUS)))
        over_water = 610.5 * np.exp(17.269 * t / (237.3 + t))
        humidity = shown * over_water / moistair.saturation_pressure(t)
        return {layout.PV: shown * over_water, layout.RH: humidity, layout.FM: water.fluidity_ratio(t)}

    system.evaluate(state)
    node, h = system.node_state, 1e-4
    np.testing.assert_allclose(node[:, [layout.PC, layout.PC_S]], suction, rtol=1e-12)
    exact, warmer, colder = at(state.temperature), at(state.temperature + h), at(state.temperature - h)
    for value, limit in ((layout.PV, 1e-12), (layout.RH, 1e-12), (layout.FM, 1e-5)):
        np.testing.assert_allclose(node[:, value], exact[value], rtol=limit)
    for value, slope in ((layout.PV, layout.PV_T), (layout.FM, layout.FM_T)):
        numeric = (warmer[value] - colder[value]) / (2 * h)
        np.testing.assert_allclose(node[:, slope], numeric, rtol=1e-4, atol=1e-8)


def test_places_in_the_tables_are_stretched_suctions() -> None:
    block = np.zeros(layout.BLOCK_SIZE)
    columns = block.reshape(-1, layout.BLOCK)
    y = np.sort(np.concatenate([np.linspace(-300.0, 13.0, layout.BLOCK - 3), [-1e-9, 0.0, 1e-9]]))
    columns[layout.BLOCK_Y // layout.BLOCK] = y
    material_state.unfrozen(layout.BLOCK, block)
    suction, slope = np.array([material_state.suction_of(value) for value in y]).T
    root = np.hypot(suction, layout.P0)
    np.testing.assert_allclose(columns[layout.TAB_ALL], np.arcsinh(suction / layout.P0), rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(columns[layout.TAB_ALL_S], slope / root, rtol=1e-12)
    np.testing.assert_allclose(columns[layout.PER_ROOT], 1.0 / root, rtol=1e-12)


def test_potential_and_suction_are_inverse_and_smooth() -> None:
    suction = np.array([-2e4, -1.0, 0.0, 1.0, 1e3, 1e6, layout.P1, 2.1e6, 3e7, 8e8])
    potential = potential_of_suction(suction)
    assert np.all(np.diff(potential) > 0)
    back = np.array([material_state.suction_of(y)[0] for y in potential])
    np.testing.assert_allclose(back, suction, rtol=1e-12, atol=1e-12)
    for y in (0.0, layout.Y1):
        below, above = (material_state.suction_of(y + side)[1] for side in (-1e-9, 1e-9))
        assert below == pytest.approx(above, rel=1e-7)
