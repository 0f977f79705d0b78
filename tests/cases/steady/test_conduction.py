"""Conduction at rest and in the yearly rhythm against solutions by hand and published ones."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.steady.conduction import R_DOWN, R_OUTSIDE, R_UPRIGHT, Conduction, conductivities
from stemwall.cases.verification.conduction.slab import ELEMENTS
from stemwall.materials.catalogue import catalogue
from stemwall.materials.reference import conductor
from stemwall.solver.model.section import Membrane, Opening, Region, Section
from stemwall.solver.model.settings import MeshRule

OUT = frozenset({"outdoors"})


def wall(membranes: tuple[Membrane, ...] = ()) -> Conduction:
    items = (
        Region("wall", "a", 0.0, 0.0, 0.2, 1.0), Region("board", "b", 0.2, 0.0, 0.25, 1.0),
        Opening("air outside", "outdoors", -0.5, 0.0, 0.0, 1.0), Opening("air inside", "room", 0.25, 0.0, 1.0, 1.0),
    )  # fmt: skip
    section = Section(-0.5, 0.0, 1.0, 1.0, items, membranes=membranes)
    return Conduction.of(section, {"a": conductor(1.6), "b": conductor(0.04)}, MeshRule(0.02), OUT)


def test_a_wall_is_its_resistances_in_series() -> None:
    conduction = wall()
    flows = conduction.flows(conduction.unit_fields()).real
    by_hand = 1.0 / (R_OUTSIDE + 0.2 / 1.6 + 0.05 / 0.04 + R_UPRIGHT)
    assert conduction.airs == ("outdoors", "room")
    assert flows == pytest.approx(by_hand * np.array([[1.0, -1.0], [-1.0, 1.0]]), rel=1e-9)
    layer = (Membrane("foil", 0.2, 0.0, 0.2, 1.0, 10.0, 10.0, resistance=0.5),)
    flow = wall(layer).flows(wall(layer).unit_fields()).real[0, 0]
    assert 1.0 / flow == pytest.approx(1.0 / by_hand + 0.5, rel=1e-9)


@pytest.mark.parametrize("number", range(4))
def test_a_slab_on_the_ground_is_that_of_quadratic_finite_elements(number: int) -> None:
    # the closed wall is so low that its own faces take hardly any heat to the corners
    half, reach, low = 4.0, 20.0, 0.0004
    floor = (0.0, 0.5, 1.0, 2.5)[number]
    items = [
        Region("ground", "ground", -0.3 - reach, -reach, half, 0.0),
        Opening("air outside", "outdoors", -0.3 - reach, 0.0, -0.3, low),
        Region("wall", "closed", -0.3, 0.0, 0.0, low),
        Opening("air inside", "room", 0.0, 0.0, half, low),
    ]
    section = Section(
        -0.3 - reach, -reach, half, low, tuple(items),
        membranes=(Membrane("floor", 0.0, 0.0, half, 0.0, 1.0, 1.0, resistance=max(floor, 1e-9)),),
    )  # fmt: skip
    materials = {"ground": conductor(2.0), "closed": conductor(1e-9)}
    conduction = Conduction.of(section, materials, MeshRule(0.005, 1.2, 0.8, 1), OUT)
    coupling = conduction.flows(conduction.unit_fields()).real[0, 0]
    assert R_DOWN == 0.17
    assert 2.0 * coupling == pytest.approx(ELEMENTS[2.5][number], rel=0.005)


def test_the_yearly_wave_sinks_into_the_ground_as_it_should() -> None:
    items = (Region("ground", "g", 0.0, -30.0, 1.0, 0.0), Opening("air", "outdoors", 0.0, 0.0, 1.0, 1.0))
    ground = conductor(2.0)
    conduction = Conduction.of(Section(0.0, -30.0, 1.0, 1.0, items), {"g": ground}, MeshRule(0.02, 1.1, 0.2, 3), OUT)
    field = conduction.yearly_fields()[:, 0]
    network = conduction.network
    heat = conduction.capacity.sum() / 30.0
    depth = np.sqrt(2.0 / heat * 365.0 * 86400.0 / np.pi)
    surface = np.mean(field[np.abs(network.node_y) < 1e-9])
    for z in (1.0, 3.0, 6.0):
        node = int(np.argmin(np.abs(network.node_y + z)))
        expected = surface * np.exp(network.node_y[node] / depth * (1.0 + 1.0j))
        assert abs(field[node] - expected) < 2e-3


def test_soil_may_have_a_stated_conductivity_and_nothing_else() -> None:
    known = {key: catalogue().material(key) for key in ("soil_loam", "xps_25")}
    own, stated = conductivities(known), conductivities(known, 2.0)
    assert stated["soil_loam"] == 2.0
    assert stated["xps_25"] == own["xps_25"] == pytest.approx(0.03, abs=0.01)
    assert own["soil_loam"] > 0.5
