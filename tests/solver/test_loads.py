"""Loads keep hourly sums, bend only between hours, and hold what a ground edge states."""

from datetime import datetime

import numpy as np
import pytest

from stemwall.solver import balance_kernels as kernels
from stemwall.solver.climate import FACINGS, Climate, FacingLoads
from stemwall.solver.loads import HOLD_HEAT, Loads
from stemwall.solver.mesh import build_mesh
from stemwall.solver.network import build_network
from stemwall.solver.settings import GroundWave, MeshRule
from stemwall.weather.moistair import saturation_pressure
from tests.solver.samples import corner_section

HOURS = 24


@pytest.fixture
def loads(rng: np.random.Generator) -> Loads:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    zeros = np.zeros(HOURS)
    sun = rng.uniform(0, 500, HOURS)
    faces = FacingLoads(zeros + 10.0, zeros, zeros + 300.0, sun, rng.uniform(0, 1e-3, HOURS))
    climate = Climate("outdoors", rng.uniform(-5, 25, HOURS), zeros + 0.7, {f: faces for f in FACINGS})
    room = Climate("room", zeros + 20, zeros + 0.5, {f: faces for f in FACINGS})
    absorptance = np.full(len(network.surfaces), 0.5)
    return Loads(
        network, {"outdoors": climate, "room": room}, absorptance, absorptance,
        ground=GroundWave(10, 5, 20), start=datetime(2001, 1, 1), hours=HOURS,
    )  # fmt: skip


def test_sums_over_the_hours_are_kept(loads: Loads) -> None:
    """The integral of the joined sun is the sum of the hourly means but for half an hour at the ends."""
    times = np.linspace(0, HOURS * 3600.0, HOURS * 60 + 1)
    k = 0
    series = np.array([loads.at(t, t)[k, kernels.SUN] for t in times])
    joined = np.trapezoid(series, times)
    means = loads.rows[:, k, kernels.SUN]
    assert joined == pytest.approx(3600.0 * (means[1:-1].sum() + 0.5 * (means[0] + means[-1])), rel=1e-9)


def test_water_is_constant_within_its_hour_and_taken_from_the_step_not_its_end(loads: Loads) -> None:
    at_boundary = loads.at(5 * 3600.0, 4.5 * 3600.0)[0, kernels.SUPPLY]
    assert at_boundary == loads.supply[4, 0]
    assert loads.at(5 * 3600.0, 5.5 * 3600.0)[0, kernels.SUPPLY] == loads.supply[5, 0]


def test_vapour_pressure_follows_humidity_and_temperature(loads: Loads) -> None:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    k = next(i for i, s in enumerate(network.surfaces) if s.climate == "outdoors")
    row = loads.at(0.0, 0.0)[k]
    assert row[kernels.AIR_PV] == pytest.approx(0.7 * float(saturation_pressure(row[kernels.AIR_T])), rel=1e-12)


def test_the_ground_edge_is_held(loads: Loads) -> None:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    k = next(i for i, s in enumerate(network.surfaces) if s.climate is None)
    row = loads.at(3600.0, 3600.0)[k]
    assert row[kernels.FILM] == HOLD_HEAT
    assert row[kernels.HELD_PC] == pytest.approx(1000 * 9.81 * 1.0)  # bottom 1 m above the water table at -2 m
