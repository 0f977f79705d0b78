"""Plants on the ground: the balance of their leaves, what they draw from the soil, and that nothing is lost."""

from datetime import datetime

import numpy as np
import pytest

from stemwall.materials.catalogue import catalogue
from stemwall.solver.forcing.canopy import STRESS, WILTING, Canopy
from stemwall.solver.kernels.support.layout import L_V, SIGMA
from stemwall.solver.model.climate import LEWIS, Climate, FacingLoads, Leaves
from stemwall.solver.model.section import Edge, Opening, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule, StartState
from stemwall.solver.run import Run, prepare
from stemwall.weather.ground import GroundWave
from stemwall.weather.moistair import saturation_pressure

HOURS, WIDTH = 48, 0.5
AIR, HUMIDITY, SUN, LONGWAVE = 20.0, 0.6, 400.0, 350.0


def leafy(conductance: float = 0.05, resistance: float = 0.10, shade: float = 0.8) -> FacingLoads:
    one = np.ones(HOURS)
    leaves = Leaves(conductance * one, shade * one, 0.4)
    return FacingLoads(
        10.0 * one, 0.0 * one, LONGWAVE * one, SUN * one, 0.0 * one, resistance=resistance * one,
        vapour_resistance=np.inf * one, leaves=leaves,
    )  # fmt: skip


def canopy(**given: float) -> Canopy:
    loads = leafy(**given)
    assert loads.leaves is not None
    return Canopy.of(np.full(HOURS, AIR), np.full(HOURS, HUMIDITY), loads, 0.75 * loads.leaves.shade * SUN, 0.95)


def lawn(suction: float, loads: FacingLoads) -> Run:
    """Loam under plants, closed all around."""
    one = np.ones(HOURS)
    climate = Climate("sky", AIR * one, HUMIDITY * one, {"up": loads})
    section = Section(
        0.0, -1.0, WIDTH, 0.2,
        items=(Region("soil", "soil_loam", 0.0, -1.0, WIDTH, 0.0), Opening("air", "sky", 0.0, 0.0, WIDTH, 0.2)),
        edges=(Edge("bottom"),),
    )  # fmt: skip
    return prepare(
        section, {"soil_loam": catalogue().material("soil_loam")}, {"sky": climate}, start=datetime(2001, 7, 1),
        hours=HOURS, ground=GroundWave(15.0, 0.0, 0.0), start_settings=StartState(ground_suction=suction),
        accuracy=Accuracy(), mesh=MeshRule(0.02, 1.6, 0.3),
    )  # fmt: skip


def marched(run: Run, hours: int) -> np.ndarray:
    """Integrate; return what the plants gave, in sum [J/m, kg/m], rows as named."""
    total = np.zeros((2, 2))
    for hour in range(hours):
        run.actions.before(hour, run.integrator.state)
        total += 3600.0 * run.actions.given
        run.integrator.advance_to((hour + 1) * 3600.0)
    return total


def test_balance_of_the_leaves_closes() -> None:
    """Sun and longwave taken in = heat to the air + evaporation + heat to the ground, by the leaves' temperature."""
    plants, ground = canopy(), 15.0
    evaporated = plants.evaporation(ground)[0]
    film, gain = (float(value[0]) for value in plants.towards_ground())
    to_ground = gain + film * (AIR - ground)
    leaf = ground + 0.10 * to_ground
    warmth = saturation_pressure(AIR + 0.5) - saturation_pressure(AIR - 0.5)
    by_hand = 0.05 * (saturation_pressure(AIR) + warmth * (leaf - AIR) - HUMIDITY * saturation_pressure(AIR))
    assert evaporated == pytest.approx(float(by_hand), rel=1e-12)
    kelvin = AIR + 273.15
    longwave = 0.95 * (LONGWAVE - SIGMA * kelvin**4 - 4.0 * SIGMA * kelvin**3 * (leaf - AIR))
    taken = 0.75 * 0.8 * SUN + longwave
    assert taken == pytest.approx(10.0 * (leaf - AIR) + evaporated + to_ground, rel=1e-12)


def test_leaves_that_evaporate_nothing_are_a_cover() -> None:
    film, gain = canopy(conductance=0.0, shade=1.0).towards_ground()
    outer = 10.0 + 4.0 * 0.95 * SIGMA * (AIR + 273.15) ** 3
    assert film[0] == pytest.approx(1.0 / (1.0 / outer + 0.10))
    taken = 0.75 * SUN + 0.95 * (LONGWAVE - SIGMA * (AIR + 273.15) ** 4)
    assert gain[0] == pytest.approx(taken / (1.0 + 0.10 * outer))


def test_evaporation_at_the_leaves_cools_the_ground_less_than_below_them() -> None:
    """Of a watt taken at the leaves the ground, as warm as the air, feels 1/(1 + film x resistance)."""
    wet, dry = canopy(), canopy(conductance=0.0)
    felt = dry.towards_ground()[1][0] - wet.towards_ground()[1][0]
    assert felt == pytest.approx(wet.evaporation(AIR)[0] / (1.0 + dry.film[0] * 0.10), rel=1e-12)


def test_roots_draw_what_leaves_evaporate_and_no_more() -> None:
    run = lawn(1.0e4, leafy())
    before, held = run.integrator.conserved.sum(axis=0).copy(), run.integrator.injected.copy()
    given = marched(run, 24)
    lost = run.integrator.conserved.sum(axis=0) - before
    assert given[0, 1] == pytest.approx(float(run.integrator.injected[1] - held[1]), rel=1e-9)
    assert lost[1] == pytest.approx(given[0, 1], rel=1e-6)
    warmest = float(run.integrator.state.temperature.max())
    least, most = (canopy().evaporation(ground)[0] / L_V * 86400.0 * WIDTH for ground in (15.0, warmest))
    assert least < -given[0, 1] < most < 2.0 * least
    assert given[1, 0] == pytest.approx(0.0, abs=1e-6 * abs(given[0, 0]))


def test_wilted_plants_draw_nothing_and_leave_the_heat_to_the_ground() -> None:
    dry, bare = lawn(1.2 * WILTING, leafy()), lawn(1.2 * WILTING, leafy(conductance=0.0))
    given = marched(dry, 24)
    marched(bare, 24)
    assert given[0, 1] == 0.0
    assert given[1, 0] > 0.0
    np.testing.assert_allclose(dry.integrator.state.temperature, bare.integrator.state.temperature, atol=0.15)


@pytest.mark.parametrize(("suction", "share"), [(STRESS, 1.0), (np.sqrt(STRESS * WILTING), 0.5), (WILTING, 0.0)])
def test_uptake_falls_with_the_logarithm_of_suction(suction: float, share: float) -> None:
    run = lawn(suction, leafy())
    run.actions.before(0, run.integrator.state)
    wet = lawn(1.0e3, leafy())
    wet.actions.before(0, wet.integrator.state)
    [patch] = wet.actions.plants.patches
    able = run.actions.plants._unstressed(run.integrator.state, patch.roots)
    assert float(patch.root_share @ able) == pytest.approx(share, abs=1e-3)


def test_frozen_roots_draw_nothing() -> None:
    run = lawn(1.0e4, leafy())
    run.integrator.state.temperature[:] = -1.0
    run.actions.before(0, run.integrator.state)
    assert run.actions.given[0, 1] == 0.0


def test_air_between_leaves_is_moister_by_what_they_give() -> None:
    plants = canopy()
    rise = plants.moistens(np.full(HOURS, LEWIS * 10.0))[0]
    assert rise * LEWIS * 10.0 * L_V == pytest.approx(plants.evaporation(AIR)[0])
