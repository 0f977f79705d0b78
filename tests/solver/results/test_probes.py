"""The recorder: what it reads, and that humidity stays a fraction under water."""

from dataclasses import replace

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver.kernels.physics.material_state import freezing_suction
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.section import Probe
from stemwall.solver.results.probes import PlacedProbe, Recorder, place_probes
from tests.solver.samples import corner_bench


def test_humidity_of_water_under_pressure_is_recorded_as_one() -> None:
    """Regression: 2 bar of pore pressure gave 1.0015, which no criterion takes for a humidity."""
    bench = Bench(
        bar([("soil", 1.0)], left=False, right=False), {"soil": gardner_soil()}, [0, 0.5, 1.0], [0, 0.1],
        lambda t, s: {}, suction=lambda x, y: np.where(x > 0.4, -2e5, 5e6),
    )  # fmt: skip
    system = bench.system
    assert system.node_state[:, layout.RH].max() > 1.001
    wet, dry = (int(np.argmax(sign * bench.network.node_x)) for sign in (1, -1))
    probes = tuple(PlacedProbe(Probe("p", 0, 0), (node,) * 4, (0,) * 4, (1.0, 0.0, 0.0, 0.0)) for node in (wet, dry))
    recorder = Recorder(system, probes)
    humidity = recorder.series(bench.integrator.state).relative_humidity
    assert humidity[0] == 1.0
    assert 0.9 < humidity[1] < 1.0
    assert np.nanmax(recorder.fields(bench.integrator.state).relative_humidity) <= 1.0


def test_ice_is_read_as_the_node_holds_it() -> None:
    """Full soil at -2 degC: what the table holds at zero suction less what it holds at the suction of ice."""
    bench = Bench(
        bar([("soil", 1.0)], left=False, right=False), {"soil": gardner_soil()}, [0, 0.5, 1.0], [0, 0.1],
        lambda t, s: {}, temperature=-2.0, suction=5e4,
    )  # fmt: skip
    system = bench.system
    system.evaluate(bench.integrator.state)
    soil = gardner_soil().storage
    ice = float(soil.water(np.array([5e4]))[0] - soil.water(np.array([freezing_suction(-2.0)[0]]))[0])
    recorder = Recorder(system, (PlacedProbe(Probe("p", 0, 0), (0,) * 4, (0,) * 4, (1.0, 0.0, 0.0, 0.0)),))
    assert recorder.series(bench.integrator.state).ice_content[0] == pytest.approx(ice, rel=1e-3)
    np.testing.assert_allclose(recorder.fields(bench.integrator.state).ice_content, ice, rtol=1e-3)
    bench.integrator.state.temperature[:] = 1.0
    system.evaluate(bench.integrator.state)
    assert recorder.series(bench.integrator.state).ice_content[0] == 0.0


def _read(places: list[tuple[float, float, str | None]]) -> tuple[Bench, list[PlacedProbe], np.ndarray]:
    """The corner with a temperature that is a bilinear function of the place, and what probes read of it."""
    bench = corner_bench()
    network, state = bench.network, bench.integrator.state
    section = replace(network.mesh.section, probes=tuple(Probe(f"p{k}", *at) for k, at in enumerate(places)))
    placed = list(place_probes(replace(network, mesh=replace(network.mesh, section=section))))
    state.temperature[:] = _field(network.node_x, network.node_y)
    bench.system.evaluate(state)
    return bench, placed, Recorder(bench.system, tuple(placed)).series(state).temperature


def _field(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 1.0 + 2.0 * x - 3.0 * y + 0.5 * x * y


def test_probes_read_between_nodes() -> None:
    """What is bilinear is read exactly; before, a probe read the nearest node, another on another mesh."""
    places = [
        (0.137, -0.21, None), (0.53, 0.345, "wall"), (0.6, 0.33, "board"), (0.61, -0.05, None), (0.9, -0.93, None),
    ]  # fmt: skip
    bench, placed, read = _read(places)
    x, y = np.array([p[0] for p in places]), np.array([p[1] for p in places])
    np.testing.assert_allclose(read, _field(x, y), rtol=1e-12)
    network = bench.network
    for at, probe in zip(places, placed, strict=True):
        assert sum(probe.weights) == pytest.approx(1.0)
        apart = np.hypot(network.node_x[list(probe.nodes)] - at[0], network.node_y[list(probe.nodes)] - at[1])
        assert probe.nearest == np.argmin(apart)
    # at an interface, behind a membrane, only nodes of the side that is meant
    assert {network.scv_region[p] for p in placed[2].scvs} == {2}


def test_a_probe_on_a_node_reads_it_alone() -> None:
    _, placed, read = _read([(0.4, 0.2, "wall"), (0.0, -1.0, None), (1.0, -1.0, "ground")])
    for probe, value in zip(placed, read, strict=True):
        assert max(probe.weights) == 1.0
        assert value == _field(np.array([probe.probe.x]), np.array([probe.probe.y]))[0]
