"""What acts hour by hour: the same whatever block of hours the loads hold, first and last hour included."""

from datetime import datetime

import numpy as np
import pytest

from stemwall.materials.reference import gardner_soil
from stemwall.solver.forcing import boundary_conditions as loads_module
from stemwall.solver.forcing.hour_ends import QUARTER
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.air_path import AirPath, Draught
from stemwall.solver.model.air_zone import Stream, Vents, Zone
from stemwall.solver.model.climate import indoor
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Edge, Opening, Probe, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule, StartState
from stemwall.solver.model.water import DRY, Flood
from stemwall.solver.run import Run, prepare
from stemwall.solver.spin_up import _rewind
from stemwall.weather.ground import GroundWave

HOURS = 12
#: more hours than the run has, and values that are another in each of them
KNOWN = HOURS + 3
VARYING = np.linspace(0.0, 1.0, KNOWN) ** 2


def made_ready(known: int = KNOWN) -> Run:
    """A flooded crawlspace with vents, a stream and ground air, and a joint through its wall."""
    section = Section(
        0.0, -0.2, 1.2, 0.6,
        (
            Region("soil", "soil", 0.0, -0.2, 1.2, 0.0), Opening("out", "outdoors", 0.0, 0.0, 0.2, 0.6),
            Region("wall", "soil", 0.2, 0.0, 0.4, 0.6), Opening("space", "crawlspace", 0.4, 0.0, 1.2, 0.6),
        ),
        edges=(Edge("bottom", "ground", "table"),), water_table=-0.5, probes=(Probe("floor", 0.8, 0.0),),
    )  # fmt: skip
    outdoors = indoor("outdoors", 5.0 + 10.0 * VARYING[:known], 0.6 + 0.3 * VARYING[:known])
    space = Zone(
        "crawlspace", 12.0, 0.8, (Stream("leakage", "outdoors", np.full(known, 1e-4)),),
        vents=Vents(0.01, "outdoors", 0.3, 4.0 * VARYING), ground_air=np.full(known, 1e-5), pool=0.8,
    )  # fmt: skip
    joint = AirPath("joint", "outdoors", "crawlspace", ((0.2, 0.3), (0.4, 0.3)), Draught(1e-3, 0.3, 4.0 * VARYING))
    level = np.where(np.arange(KNOWN) % 8 < 5, 0.05, DRY)
    flood = Flood("flood", ("crawlspace",), level, np.full(KNOWN, 8.0))
    return prepare(
        section, {"soil": gardner_soil()}, {"outdoors": outdoors}, start=datetime(2001, 3, 1), hours=HOURS,
        ground=GroundWave(10.0, 0.0, 0.0), start_settings=StartState(indoor_temperature=12.0), accuracy=Accuracy(),
        mesh=MeshRule(0.05, 1.5, 0.2, 1), environment=Environment((space,), air_paths=(joint,), floods=(flood,)),
    )  # fmt: skip


def marched(run: Run) -> np.ndarray:
    """Temperature and potential at the end of each hour, of some hours that are repeated and of all then."""
    ends = []
    for hours in (HOURS - 4, HOURS):
        for hour in range(hours):
            run.actions.before(hour, run.integrator.state)
            run.integrator.advance_to((hour + 1) * 3600.0)
            ends.append(np.stack([run.integrator.state.temperature, run.integrator.state.potential]))
        _rewind(run)
    return np.array(ends)


def test_the_answer_is_the_same_whatever_block_is_held(monkeypatch: pytest.MonkeyPatch) -> None:
    """To the last bit, across the borders of blocks and after going back to the first hour."""
    whole = marched(made_ready())
    monkeypatch.setattr(loads_module, "BLOCK", 5)
    few = made_ready()
    np.testing.assert_array_equal(marched(few), whole)
    assert few.loads.hour(0).base is not None
    assert few.loads.hour(0).base.shape[0] == 6


def test_vents_and_streams_bring_the_same_air_in_every_hour() -> None:
    """At the start and the end of the run too, where no hour comes before or after."""
    run = made_ready()
    vents, stream = (run.zoned.inlet_surfaces["crawlspace", name] for name in ("vents", "leakage"))
    air = [layout.AIR_T, layout.AIR_PV]
    for hour in range(HOURS):
        run.actions.before(hour, run.integrator.state)
        rows = run.loads.hour(hour)
        np.testing.assert_array_equal(rows[:, vents][:, air], rows[:, stream][:, air])
    temperature = 5.0 + 10.0 * VARYING
    # nothing goes to or comes from beyond the run, whose last differences stand for those behind it
    a, b, c, d = np.diff(temperature[HOURS - 5 : HOURS])
    once = (a + b + c) / 3.0, (b + c + d) / 3.0, (c + 2.0 * d) / 3.0
    going, last = QUARTER * sum(once) / 3.0, QUARTER * (once[1] + 2.0 * once[2]) / 3.0
    m = temperature[HOURS - 2 : HOURS]
    np.testing.assert_allclose(rows[:, vents, layout.AIR_T], [m.mean() + going / 2.0, m[1] + last])


def test_what_a_climate_holds_beyond_the_run_does_not_count() -> None:
    longer, exact = made_ready(), made_ready(HOURS)
    for run in (longer, exact):
        run.actions.before(HOURS - 1, run.integrator.state)
    np.testing.assert_array_equal(longer.loads.hour(HOURS - 1), exact.loads.hour(HOURS - 1))
