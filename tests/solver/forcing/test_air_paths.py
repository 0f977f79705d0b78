"""Air paths: closed form across a layer, Jacobian, balances, condensation along a joint, bad input."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from scipy.sparse import bsr_matrix

from stemwall.cases.verification.rig import Bench, air, bar
from stemwall.materials.reference import two_layer_insulation
from stemwall.solver.discretisation.air_paths import with_air_paths
from stemwall.solver.discretisation.mesh import mesh_on_lines
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.air_path import AirPath, Draught
from stemwall.solver.model.air_zone import Stream, Zone
from stemwall.solver.model.climate import indoor
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Edge, Opening, Probe, Region, Section
from stemwall.solver.model.settings import MeshRule, StartState
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave

HOURS = 240
JOINT = ((0.4, 0.5), (0.6, 0.5))


def section() -> Section:
    """An insulated wall between two spaces."""
    return Section(
        0.0, 0.0, 1.0, 1.0,
        (
            Opening("out", "outdoors", 0.0, 0.0, 0.4, 1.0),
            Region("wall", "foam", 0.4, 0.0, 0.6, 1.0),
            Opening("in", "house", 0.6, 0.0, 1.0, 1.0),
        ),
        probes=(Probe("cold end", 0.4, 0.5), Probe("away", 0.4, 0.05)),
    )  # fmt: skip


def run(path: Path, flow: float, *, zone: bool = False, draught: Draught | None = None) -> xr.Dataset:
    zeros = np.zeros(HOURS)
    climates = {"outdoors": indoor("outdoors", zeros - 5.0, zeros + 0.8)}
    zones: tuple[Zone, ...] = ()
    if zone:
        zones = (Zone("house", 20.0, 0.5, (Stream("air change", "outdoors", zeros + 1e-4),), heat_gain=zeros + 30.0),)
    else:
        climates["house"] = indoor("house", zeros + 20.0, zeros + 0.5)
    way = AirPath("joint", "house", "outdoors", JOINT[::-1], draught or (zeros + flow))
    simulate(
        section(), {"foam": two_layer_insulation()}, climates, start=datetime(2001, 1, 1), hours=HOURS,
        ground=GroundWave(10.0, 0.0, 0.0), path=path, start_state=StartState(relative_humidity=0.5),
        mesh=MeshRule(0.02, 1.5, 0.1, 3), environment=Environment(zones, air_paths=(way,)),
    )  # fmt: skip
    with xr.open_dataset(path) as dataset:
        return dataset.load()


def test_exfiltration_wets_the_cold_end_and_infiltration_dries_it(tmp_path: Path) -> None:
    """Sign, common practice: house air that leaves through a joint in winter condenses at its cold end."""
    still, out, back = (run(tmp_path / f"{f}.nc", f) for f in (0.0, 2e-4, -2e-4))
    wet, plain, dry = (float(r["probe_relative_humidity"].sel(probe="cold end")[-1]) for r in (out, still, back))
    assert wet > plain + 0.05
    assert dry == pytest.approx(0.8, abs=0.01)  # the end takes the state of the outdoor air that enters there
    ends = [float(r["probe_temperature"].sel(probe="cold end")[-1]) for r in (out, still)]
    assert ends[0] > ends[1] + 0.5  # warm air warms the joint


@pytest.mark.parametrize("zone", [False, True])
def test_what_air_carries_closes_the_balances(zone: bool, tmp_path: Path) -> None:
    result = run(tmp_path / "r.nc", 2e-4, zone=zone)
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    lines = [name for name in result["surface"].values if "air path joint" in str(name)]
    assert len(lines) == (3 if zone else 2)  # both ends, and what makes up for the zone's loss


def test_a_draught_turns_with_the_temperatures() -> None:
    """A high joint of a warm house loses air, a low one draws it in; wind adds to it."""
    calm, gale = np.zeros(1), np.full(1, 10.0)
    high, low = (Draught(1e-3, h, calm).flow(0, 0.0, 20.0) for h in (2.0, -2.0))
    assert high < 0.0 < low
    assert low == pytest.approx(-high)
    # V = C_d w sqrt(2 g h dT / T): 0.6 x 1 mm x sqrt(2 x 9.81 x 2 x 20 / 283.15)
    assert low == pytest.approx(1.205 * 0.6e-3 * np.sqrt(2 * 9.81 * 2.0 * 20.0 / 283.15), rel=1e-6)
    assert Draught(1e-3, 0.0, gale).flow(0, 20.0, 20.0) == pytest.approx(1.205 * 0.6e-3 * np.sqrt(0.3 * 100.0))


def test_a_path_that_ends_nowhere_is_refused() -> None:
    network = build_network(mesh_on_lines(section(), np.array([0, 0.4, 0.5, 0.6, 1.0]), np.array([0, 0.5, 1.0])))
    zeros = np.zeros(1)
    bad = [
        AirPath("short", "outdoors", "house", ((0.4, 0.5), (0.5, 0.5)), zeros),
        AirPath("astray", "outdoors", "house", ((0.0, 0.5), (0.4, 0.5)), zeros),
        AirPath("turned", "house", "outdoors", JOINT, zeros),
    ]
    with pytest.raises(SectionError) as caught:
        with_air_paths(network, bad, {})
    assert len(caught.value.problems) == 4


def test_a_path_along_an_edge_of_the_section_needs_no_opening() -> None:
    """An edge that looks into a climate is an end like any other."""
    bar = Section(
        0.0, 0.0, 0.2, 0.1, (Region("layer", "foam", 0.0, 0.0, 0.2, 0.1),),
        edges=(Edge("left", "climate", climate="a"), Edge("right", "climate", climate="b")),
    )  # fmt: skip
    network = build_network(mesh_on_lines(bar, np.linspace(0, 0.2, 5), np.array([0.0, 0.1])))
    placed = with_air_paths(network, [AirPath("p", "a", "b", ((0.0, 0.1), (0.2, 0.1)), np.zeros(1))], {})
    assert placed.network.link_a.size == 6
    assert np.all(placed.network.link_edges[1:5, 0] >= 0)


@pytest.mark.parametrize("flow", [3e-6, -3e-6])
def test_jacobian_is_the_derivative_of_the_residual(flow: float, rng: np.random.Generator) -> None:
    """At a flow small enough for the plain mean of both ends."""
    ways = [AirPath("p", "left", "right", ((0.0, 0.0), (0.2, 0.0)), np.full(1, flow))]
    bench = Bench(
        bar([("layer", 0.2)]), {"layer": two_layer_insulation()}, np.linspace(0, 0.2, 5), [0.0, 0.1],
        lambda t, surface: air(15.0, 0.7, 8.0, 5e-8), suction=lambda x, y: 1e6 + 1e7 * x, air_paths=ways,
    )  # fmt: skip
    system, state = bench.system, bench.integrator.state.copy()
    state.temperature += rng.uniform(-5, 5, state.temperature.size)
    loads, none = bench.integrator.loads.at(0.0, 0.0), np.zeros((system.network.nodes, 2))
    system.evaluate(state)
    system.assemble(state, 0.0, none, loads, jacobian=True)
    exact = bsr_matrix((system.values.reshape(-1, 2, 2), system.indices, system.indptr)).toarray()
    assert np.abs(system.link_flow).max() > 0
    for unknown, (values, h) in enumerate(((state.temperature, 1e-3), (state.potential, 1e-5))):
        for n in range(system.network.nodes):
            sides = []
            for sign in (1, -1):
                values[n] += sign * h
                system.evaluate(state)
                system.assemble(state, 0.0, none, loads, jacobian=False)
                sides.append(system.residual.copy())
                values[n] -= sign * h
            numeric = ((sides[0] - sides[1]) / (2 * h)).ravel()
            column = exact[:, 2 * n + unknown]
            for equation in (0, 1):
                size = np.abs(exact[equation::2]).max()
                np.testing.assert_allclose(numeric[equation::2], column[equation::2], atol=1e-4 * size)
