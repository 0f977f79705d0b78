"""The balances: Jacobian, rest, surface flows, standing water; compiled code is what is written."""

import numpy as np
import pytest
import scipy.sparse as sp

from stemwall.cases.verification.rig import Bench, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver.integration.system import FLOOD_CONTACT
from stemwall.solver.kernels.physics import air, assembly, edges, material_state, membranes, surfaces
from stemwall.solver.kernels.support import exp_log, layout
from tests.solver.samples import corner_bench, corner_load, flooded_load


def _matrix(bench: Bench) -> np.ndarray:
    s = bench.system
    blocks = s.values.reshape(-1, 2, 2)
    return sp.bsr_matrix((blocks, s.indices, s.indptr)).toarray()


@pytest.mark.parametrize(
    ("t", "colder", "flooded"),
    [
        (0.0, 0.0, False), (30000.0, 0.0, False), (50000.0, 0.0, False), (0.0, 11.0, False), (30000.0, 13.0, False),
        (30000.0, 0.0, True), (50000.0, 13.0, True),
    ],
)  # fmt: skip
def test_jacobian_is_the_derivative_of_the_residual(
    t: float, colder: float, flooded: bool, rng: np.random.Generator
) -> None:
    bench = corner_bench(load=flooded_load if flooded else corner_load)
    system, state = bench.system, bench.march.state.copy()
    state.temperature -= colder
    state.temperature += rng.uniform(-3, 3, state.temperature.size)
    state.potential += rng.uniform(-0.3, 0.3, state.potential.size)
    if flooded:  # some nodes take water in, some under higher pressure give it back
        state.potential[::3] = -20.0 - rng.uniform(0, 1, state.potential[::3].size)
    loads = bench.march.loads.at(t, t)
    rate, history = 1 / 900.0, np.zeros((system.network.nodes, 2))
    system.evaluate(state)
    system.assemble(state, rate, history, loads, jacobian=True)
    matrix, largest = _matrix(bench), np.abs(system.residual).max(axis=0)
    numeric = np.empty_like(matrix)
    for unknown, (values, h) in enumerate(((state.temperature, 1e-4), (state.potential, 1e-6))):
        for n in range(system.network.nodes):
            sides = []
            for sign in (1, -1):
                values[n] += sign * h
                system.evaluate(state)
                system.assemble(state, rate, history, loads, jacobian=False)
                sides.append(system.residual.ravel().copy())
                values[n] -= sign * h
            numeric[:, 2 * n + unknown] = (sides[0] - sides[1]) / (2 * h)
    for equation in (0, 1):
        rows, exact = numeric[equation::2], matrix[equation::2]
        size = np.abs(exact).max(axis=0, keepdims=True)
        # differences lose digits where a table node is crossed, and to round-off of the storage term and the flows
        terms = max(np.abs(system.storage[:, equation]).max() * rate, largest[equation] if flooded else 0.0)
        noise = 4e-15 * terms / 1e-6
        assert np.all(np.abs(rows - exact) < 2e-4 * size + noise)


def test_hydrostatic_rest_has_no_flux() -> None:
    """p_c = rho g z: liquid fluxes cancel to round-off on any mesh, Gardner soil, 2 m."""
    column = Bench(
        bar([("soil", 2.0)], left=False, right=False, upright=True),
        {"soil": gardner_soil()},
        [0.0, 0.1],
        np.concatenate([[0.0], np.cumsum(np.geomspace(0.02, 0.4, 12))]) * (2.0 / np.geomspace(0.02, 0.4, 12).sum()),
        lambda t, s: {},
        suction=lambda x, y: 9810.0 * y,
    )
    system = column.system
    system.evaluate(column.march.state)
    history = system.storage.copy()
    system.assemble(column.march.state, 1.0, history, column.march.loads.at(0.0, 0.0), jacobian=False)
    assert np.max(np.abs(system.residual[:, 1])) < 1e-14  # kg/(m s), against K rho g = 1e-3 kg/(m2 s)


def test_ice_in_full_pores_rests_where_its_pressure_makes_up_for_its_suction() -> None:
    """Frozen, full, colder upwards: liquid of one head everywhere is at rest (no vapour in this soil).

    The content of liquid does not know the pressure: it is the suction of ice that empties the pores.
    """
    head, lines = -4e4, np.linspace(0.0, 2.0, 21)

    def colder(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.asarray(-0.5 - y)

    def total(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        press = 9810.0 * y + head - np.array([material_state.freezing_suction(t)[0] for t in colder(x, y)])
        return np.asarray(press - layout.FULL**2 / (4.0 * press))  # what `evaluate` turns into this pressure

    section = bar([("soil", 2.0)], left=False, right=False, upright=True)
    rest = Bench(section, {"soil": gardner_soil()}, [0.0, 0.1], lines, temperature=colder, suction=total)
    full = Bench(section, {"soil": gardner_soil()}, [0.0, 0.1], lines, temperature=colder, suction=-500.0)
    for bench in (rest, full):
        bench.system.evaluate(bench.march.state)
        loads = bench.march.loads.at(0.0, 0.0)
        bench.system.assemble(bench.march.state, 0.0, np.zeros((21 * 2, 2)), loads, jacobian=False)
    moved = np.abs(full.system.inflow[:, 1]).max()
    assert moved > 0.0
    assert np.abs(rest.system.inflow[:, 1]).max() < 1e-8 * moved
    ice, pressed = (bench.system.part_state[:, layout.ICE] for bench in (full, rest))
    assert ice.min() > 0.3
    np.testing.assert_allclose(pressed, ice, rtol=1e-3)


@pytest.mark.parametrize("colder", [0.0, 12.0])
def test_compiled_kernels_match_plain_python(colder: float, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = corner_bench()
    system, state, loads = bench.system, bench.march.state.copy(), bench.march.loads.at(50000.0, 50000.0)
    state.temperature -= colder

    def computed() -> list[np.ndarray]:
        system.evaluate(state)
        system.assemble(state, 1e-3, np.zeros_like(system.residual), loads, jacobian=True)
        shown = (system.node_state, system.part_state, system.storage, system.capacity, system.inflow, system.values)
        return [array.copy() for array in shown]

    compiled = computed()
    for module in (exp_log, material_state, edges, membranes, surfaces, air, assembly):
        for name, kernel in vars(module).copy().items():
            if hasattr(kernel, "py_func"):
                monkeypatch.setattr(module, name, kernel.py_func)
    for now, before in zip(computed(), compiled, strict=True):
        # compiled code rounds a product and a sum once: differences of nearly equal terms show it
        assert np.all(np.abs(now - before) <= 1e-12 * np.abs(before) + 1e-13 * np.abs(before).max(axis=0))


def test_surface_flows_are_what_leaves_the_nodes() -> None:
    """Without storage change, the residuals of all nodes add up to minus the flows through all surfaces."""
    bench = corner_bench()
    system, state = bench.system, bench.march.state
    system.evaluate(state)
    system.assemble(state, 1.0, system.storage.copy(), bench.march.loads.at(50000.0, 50000.0), jacobian=False)
    heat, water_flow = system.residual.sum(axis=0)
    flows = system.flows.sum(axis=0)
    assert heat == pytest.approx(-flows[0], rel=1e-10)
    assert water_flow == pytest.approx(-(flows[1] + flows[2]), rel=1e-10)
    assert corner_load(50000.0, system.network.surfaces[0]) is not None


def test_water_stands_before_the_faces_below_its_level_only() -> None:
    """Faces below 0.15 m meet water at 7 degC and its pressure; the others meet what they met before."""
    dry, wet = corner_bench(), corner_bench(load=flooded_load)
    drowned = _faces_below(wet, "outdoors", 0.15) | _faces_below(wet, "room", -0.1)
    for bench in (dry, wet):
        system = bench.system
        system.evaluate(bench.march.state)
        loads = bench.march.loads.at(0.0, 0.0)
        loads[:, layout.WATER_ROW] = np.arange(len(loads))
        system.assemble(bench.march.state, 0.0, np.zeros_like(system.residual), loads, jacobian=False)
    changed = np.flatnonzero(np.abs(dry.system.inflow - wet.system.inflow).max(axis=1) > 0)
    assert set(changed) == set(wet.network.face_node[drowned])
    assert len(changed) > 8
    ground = next(k for k, s in enumerate(wet.network.surfaces) if s.climate == "outdoors" and s.facing == "up")
    on = wet.network.face_surface == ground
    nodes, widths = wet.network.face_node[on], wet.network.face_width[on]
    suction = wet.system.node_state[nodes, layout.PC]
    entered = (widths * FLOOD_CONTACT * (suction + 1000.0 * 9.81 * 0.15)).sum()
    assert wet.system.flows[ground, 2] == pytest.approx(entered, rel=1e-12)
    assert wet.system.flows[ground, 1] == 0.0
    warmed = (widths * 200.0 * (7.0 - wet.march.state.temperature[nodes])).sum()
    assert wet.system.flows[ground, 0] == pytest.approx(warmed + 4180.0 * 7.0 * entered, rel=1e-12)
    assert wet.system.flows[ground, 4] == pytest.approx(4180.0 * 7.0 * entered, rel=1e-12)
    apart, last = wet.system.flows.sum(axis=0), len(loads) - 1
    loads[:, layout.WATER_ROW] = last  # the room's wall, partly under water: the rest of it stays in its own row
    wet.system.assemble(wet.march.state, 0.0, np.zeros_like(wet.system.residual), loads, jacobian=False)
    np.testing.assert_allclose(wet.system.flows.sum(axis=0), apart, rtol=1e-12)
    assert not np.any(wet.system.flows[ground])


def _faces_below(bench: Bench, climate: str, level: float) -> np.ndarray:
    n = bench.network
    own = np.array([surface.climate == climate for surface in n.surfaces])[n.face_surface]
    return own & (n.node_y[n.face_node] < level)
