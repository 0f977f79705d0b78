"""Exposed faces: membranes by humidity, drainage as along an edge, ground water at the side, all with derivatives."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, Load, air, bar, held_temperature
from stemwall.materials.material import Material
from stemwall.materials.reference import gardner_soil, two_layer_insulation
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Edge, Membrane, Region, Section
from stemwall.weather.moistair import saturation_pressure

KRAFT = Membrane("kraft", 0.0, 0.0, 0.0, 0.1, 8.6, 1.9)


def _faced(humidity_in: float, humidity_out: float, t: float = 20.0) -> Bench:
    """Insulation with kraft facing on its left face."""
    section = replace(bar([("foam", 0.1)], right=False), membranes=(KRAFT,))
    suction = -np.log(humidity_in) * layout.RHO_W * layout.R_V * (t + layout.KELVIN)
    return Bench(
        section, {"foam": two_layer_insulation()}, [0.0, 0.05, 0.1], [0.0, 0.1],
        lambda _, surface: air(t, humidity_out, 8.0, 5e-8), temperature=t, suction=suction,
    )  # fmt: skip


@pytest.mark.parametrize(("inside", "outside"), [(0.1, 0.2), (0.4, 0.5), (0.5, 0.9), (0.95, 0.8)])
def test_a_facing_passes_vapour_by_the_humidity_on_both_sides(inside: float, outside: float) -> None:
    """Film and cup in series, the cup read off a line over the mean humidity of both sides, by hand at 20 degC."""
    bench = _faced(inside, outside)
    system = bench.system
    system.evaluate(bench.integrator.state)
    system.assemble(
        bench.integrator.state, 0.0, np.zeros_like(system.residual), bench.integrator.loads.at(0, 0), jacobian=False
    )
    share = min(max((0.5 * (inside + outside) - 0.25) / 0.5, 0.0), 1.0)
    per_area = 1.9664e-10 * ((1 - share) / 8.6 + share / 1.9)
    flow = 0.1 * (outside - inside) * float(saturation_pressure(20.0)) / (1 / 5e-8 + 1 / per_area)
    assert system.flows[0, 1] == pytest.approx(flow, rel=2e-4)


def _numeric_rows(bench: Bench, nodes: range) -> tuple[np.ndarray, np.ndarray]:
    """Diagonal blocks of some nodes as assembled and by differences, (nodes, 2, 2)."""
    system, state = bench.system, bench.integrator.state
    none, loads = np.zeros_like(system.residual), bench.integrator.loads.at(0.0, 0.0)
    system.evaluate(state)
    system.assemble(state, 0.0, none, loads, jacobian=True)
    exact = np.array([system.values[system.diagonal[n]].reshape(2, 2) for n in nodes])
    found = np.empty_like(exact)
    for unknown, (values, h) in enumerate(((state.temperature, 1e-4), (state.potential, 1e-6))):
        for number, n in enumerate(nodes):
            sides = []
            for sign in (1, -1):
                values[n] += sign * h
                system.evaluate(state)
                system.assemble(state, 0.0, none, loads, jacobian=False)
                sides.append(system.residual[n].copy())
                values[n] -= sign * h
            found[number, :, unknown] = (sides[0] - sides[1]) / (2 * h)
    return exact, found


def test_derivatives_of_a_faced_and_of_a_drained_node(rng: np.random.Generator) -> None:
    cold = _faced(0.6, 0.5, -4.0)
    for bench in (_faced(0.4, 0.6), cold, _column(replace(gardner_soil(), viscous=True), 7.0, 3000.0)):
        exact, found = _numeric_rows(bench, range(2))
        np.testing.assert_allclose(exact, found, rtol=1e-4, atol=1e-6 * np.abs(exact).max(axis=(0, 2)).max() * 1e-3)


def _column(material: Material, t: float, suction: float) -> Bench:
    """Soil that drains freely at its foot."""
    return Bench(
        bar([("soil", 1.0)], right=False, upright=True), {"soil": material}, [0.0, 0.1], [0.0, 0.5, 1.0],
        lambda _, surface: {**held_temperature(t), "drainage": 1.0}, temperature=t, suction=suction,
    )  # fmt: skip


def test_water_of_one_viscosity_drains_at_one_rate() -> None:
    """K rho g at 20 degC whatever the temperature; with viscosity, by Vogel's form, exp(570.58 K / (T - 140 K))."""

    def drained(viscous: bool, t: float) -> float:
        bench = _column(replace(gardner_soil(), viscous=viscous), t, 1000.0)
        system = bench.system
        system.evaluate(bench.integrator.state)
        none = np.zeros_like(system.residual)
        system.assemble(bench.integrator.state, 0.0, none, bench.integrator.loads.at(0, 0), jacobian=False)
        con = system.scv_state[system.network.face_scv[0], layout.CON]
        return float(-system.flows[0, 2] / (0.1 * con * 9810.0))

    assert drained(False, 5.0) == pytest.approx(1.0, rel=1e-12)
    assert drained(True, 20.0) == pytest.approx(1.0, rel=1e-6)
    assert drained(True, 5.0) == pytest.approx(np.exp(570.5806 * (1 / 153.15 - 1 / 138.15)), rel=1e-6)


def test_ground_water_at_the_side_rests() -> None:
    """Hydrostatic soil beside a side edge that is held at the water table: nothing flows, at any height."""
    section = Section(
        0.0, -2.0, 1.0, 0.0, (Region("ground", "soil", 0.0, -2.0, 1.0, 0.0),),
        edges=(Edge("left", water="table"),), water_table=-1.0,
    )  # fmt: skip
    load: Callable[[float, Surface], Load] = lambda _, surface: {  # noqa: E731
        "supply": 1e33, "uptake": 1e-4, "held_suction": -9810.0,
    }  # fmt: skip
    bench = Bench(
        section, {"soil": gardner_soil()}, [0.0, 0.5, 1.0], [-2.0, -1.5, -1.0, -0.5, 0.0], load,
        temperature=10.0, suction=lambda x, y: 9810.0 * (y + 1.0),
    )  # fmt: skip
    system = bench.system
    system.evaluate(bench.integrator.state)
    system.assemble(
        bench.integrator.state, 0.0, np.zeros_like(system.residual), bench.integrator.loads.at(0, 0), jacobian=False
    )
    assert np.abs(system.flows[:, 2]).max() < 1e-12  # kg/(m s), against 0.5 m x 1e-4 x 9810 Pa = 0.5
