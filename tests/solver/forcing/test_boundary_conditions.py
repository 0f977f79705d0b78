"""Loads keep hourly sums, bend only between hours, and hold what a ground edge states."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pytest

from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.forcing import boundary_conditions as loads_module
from stemwall.solver.forcing.boundary_conditions import HOLD_HEAT, Loads, _through_cover
from stemwall.solver.kernels.support import layout
from stemwall.solver.model.climate import FACINGS, Climate, FacingLoads
from stemwall.solver.model.settings import MeshRule
from stemwall.weather.ground import GroundWave
from stemwall.weather.moistair import saturation_pressure
from tests.solver.samples import corner_section

HOURS = 24


@pytest.fixture
def loads(rng: np.random.Generator) -> Loads:
    return make_loads(rng)


def make_loads(rng: np.random.Generator, hours: int = HOURS) -> Loads:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    zeros = np.zeros(hours)
    sun = rng.uniform(0, 500, hours)
    faces = FacingLoads(zeros + 10.0, zeros, zeros + 300.0, sun, rng.uniform(0, 1e-3, hours))
    climate = Climate("outdoors", rng.uniform(-5, 25, hours), zeros + 0.7, {f: faces for f in FACINGS})
    room = Climate("room", zeros + 20, zeros + 0.5, {f: faces for f in FACINGS})
    absorptance = np.full(len(network.surfaces), 0.5)
    return Loads(
        network, {"outdoors": climate, "room": room}, absorptance, absorptance,
        ground=GroundWave(10, 5, 20), start=datetime(2001, 1, 1), hours=hours,
    )  # fmt: skip


def test_sums_over_the_hours_are_kept(loads: Loads) -> None:
    """The integral of the joined sun is the sum of what the hours' ends say; see `test_hour_ends` for these."""
    times = np.linspace(0, HOURS * 3600.0, HOURS * 60 + 1)
    k = 0
    series = np.array([loads.at(t, t)[k, layout.SUN] for t in times])
    joined = np.trapezoid(series, times)
    ends = np.array([loads.hour(hour)[0, k, layout.SUN] for hour in range(HOURS)] + [series[-1]])
    assert joined == pytest.approx(3600.0 * (ends[1:-1].sum() + 0.5 * (ends[0] + ends[-1])), rel=1e-9)


def test_water_is_constant_within_its_hour_and_taken_from_the_step_not_its_end(loads: Loads) -> None:
    at_boundary = loads.at(5 * 3600.0, 4.5 * 3600.0)[0, layout.AVAILABLE_WATER]
    inside = [loads.at((h + 0.5) * 3600.0, (h + 0.5) * 3600.0)[0, layout.AVAILABLE_WATER] for h in (4, 5)]
    assert inside[0] != inside[1]
    assert at_boundary == inside[0]
    assert loads.at(5 * 3600.0, 5.5 * 3600.0)[0, layout.AVAILABLE_WATER] == inside[1]


def test_vapour_pressure_follows_humidity_and_temperature(loads: Loads) -> None:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    k = next(i for i, s in enumerate(network.surfaces) if s.climate == "room")
    row = loads.at(0.0, 0.0)[k]
    assert row[layout.AIR_PV] == pytest.approx(0.5 * float(saturation_pressure(20.0)), rel=1e-12)
    k = next(i for i, s in enumerate(network.surfaces) if s.climate == "outdoors")
    ends = np.array([loads.hour(hour)[0, k] for hour in range(HOURS)])
    humidity = ends[:, layout.AIR_PV] / saturation_pressure(ends[:, layout.AIR_T])
    assert humidity.mean() == pytest.approx(0.7, abs=0.05)


def test_the_ground_edge_is_held(loads: Loads) -> None:
    network = build_network(build_mesh(corner_section(), MeshRule(0.1, 1.5, 0.3, 1)))
    k = next(i for i, s in enumerate(network.surfaces) if s.climate is None)
    row = loads.at(3600.0, 3600.0)[k]
    assert row[layout.FILM] == HOLD_HEAT
    assert row[layout.PRESCRIBED_SUCTION] == pytest.approx(
        1000 * 9.81 * 1.0
    )  # bottom 1 m above the water table at -2 m


def test_a_cover_puts_the_face_behind_its_resistance() -> None:
    """Steady sign and size: a thick cover leaves 1/R of coupling and a share of sun."""
    row = np.zeros((2, layout.LOAD_COLUMNS))
    row[:, layout.AIR_T], row[:, layout.FILM], row[:, layout.BETA] = -5.0, 12.0, 8e-8
    row[:, layout.LONGWAVE], row[:, layout.EMISSIVITY], row[:, layout.SUN] = 0.9 * 240.0, 0.9, 100.0
    bare = row[0].copy()
    Loads._under_cover(row, np.array([0.0, 5.0]))
    np.testing.assert_array_equal(row[0], bare)
    film = 12.0 + 4 * 0.9 * layout.SIGMA * 268.15**3
    assert row[1, layout.FILM] == pytest.approx(1.0 / (1.0 / film + 5.0), rel=1e-12)
    assert row[1, layout.SUN] == pytest.approx(100.0 * row[1, layout.FILM] / film, rel=1e-12)
    assert row[1, layout.EMISSIVITY] == 0.0


def test_a_cover_lets_vapour_pass_as_it_is_told() -> None:
    """Resistances in series; none where there is none, and no vapour where the cover is tight or says nothing."""
    beta, cover = np.full(4, 8e-8), np.array([0.0, 0.5, 0.5, 0.0])
    told = _through_cover(beta, cover, np.array([0.0, 2.5e8, np.inf, 2.5e8]))
    np.testing.assert_allclose(told, [8e-8, 1 / (1 / 8e-8 + 2.5e8), 0.0, 1 / (1 / 8e-8 + 2.5e8)], rtol=1e-12)
    np.testing.assert_array_equal(_through_cover(beta, cover, None), [8e-8, 0.0, 0.0, 8e-8])


def test_what_hides_a_face_takes_its_sun() -> None:
    """Half hidden by snow of absorptance 0.3, soil of absorptance 0.75: half of each, whatever the soil's."""
    zeros = np.zeros(3)
    faces = FacingLoads(
        zeros + 10.0, zeros, zeros, zeros + 400.0, zeros, hidden=np.array([0.0, 0.5, 1.0]), hidden_absorptance=0.3
    )
    np.testing.assert_allclose(faces.absorbed(0.75), [0.75, 0.525, 0.3])
    np.testing.assert_allclose(faces.absorbed(0.2), [0.2, 0.25, 0.3])


def test_hours_join_to_the_same_rows_whatever_is_held(
    monkeypatch: pytest.MonkeyPatch, rng: np.random.Generator
) -> None:
    """In any order, as a year that is repeated from its start asks for them."""

    def rows(of: Loads, hours: Sequence[int]) -> dict[int, np.ndarray]:
        asked = ((h, share) for h in hours for share in (0.0, 0.3, 1.0))
        return {10 * h + round(3 * share): of.at((h + share) * 3600.0, (h + 0.5) * 3600.0).copy() for h, share in asked}

    whole = rows(make_loads(np.random.default_rng(1)), range(HOURS))
    monkeypatch.setattr(loads_module, "BLOCK", 5)
    few = make_loads(np.random.default_rng(1))
    for hours in (range(HOURS), [*range(12), *range(HOURS)], rng.permutation(HOURS).tolist()):
        for key, row in rows(few, hours).items():
            np.testing.assert_array_equal(row, whole[key])


def test_memory_does_not_grow_with_the_run(monkeypatch: pytest.MonkeyPatch, rng: np.random.Generator) -> None:
    """All arrays that the loads keep, after every hour was asked for."""
    monkeypatch.setattr(loads_module, "BLOCK", 5)

    def held(hours: int) -> int:
        loads = make_loads(rng, hours)
        for hour in range(hours):
            loads.hour(hour)
        return sum(value.nbytes for value in vars(loads).values() if isinstance(value, np.ndarray))

    assert held(10 * HOURS) == held(HOURS)


def test_what_is_written_for_an_hour_lasts_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """The end of the last hour of a block is the first row of the next, which others have not written yet."""
    monkeypatch.setattr(loads_module, "BLOCK", 5)
    few, k = make_loads(np.random.default_rng(1)), 0
    for hour in range(HOURS):
        few.hour(hour)[:, k, layout.AIR_T] = 100.0 + hour
        for share in (0.0, 0.5, 1.0):
            assert few.at((hour + share) * 3600.0, (hour + 0.5) * 3600.0)[k, layout.AIR_T] == 100.0 + hour
