"""The recorder: what it reads, and that humidity stays a fraction under water."""

import numpy as np

from stemwall.cases.verification.bench import Bench, bar
from stemwall.materials.reference import gardner_soil
from stemwall.solver import layout
from stemwall.solver.recorder import PlacedProbe, Recorder
from stemwall.solver.section import Probe


def test_humidity_of_water_under_pressure_is_recorded_as_one() -> None:
    """Regression: 2 bar of pore pressure gave 1.0015, which no criterion takes for a humidity."""
    bench = Bench(
        bar([("soil", 1.0)], left=False, right=False), {"soil": gardner_soil()}, [0, 0.5, 1.0], [0, 0.1],
        lambda t, s: {}, suction=lambda x, y: np.where(x > 0.4, -2e5, 5e6),
    )  # fmt: skip
    system = bench.system
    assert system.node_state[:, layout.RH].max() > 1.001
    wet, dry = (int(np.argmax(sign * bench.network.node_x)) for sign in (1, -1))
    probes = tuple(PlacedProbe(Probe("p", 0, 0), node, 0) for node in (wet, dry))
    recorder = Recorder(system, probes)
    _, humidity, _ = recorder.series(bench.march.state)
    assert humidity[0] == 1.0
    assert 0.9 < humidity[1] < 1.0
    assert np.nanmax(recorder.fields(bench.march.state)[1]) <= 1.0
