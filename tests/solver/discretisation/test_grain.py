"""Wood conducts along its grain where a region says so, and across it in the other direction."""

import numpy as np
import pytest

from stemwall.cases.verification.rig import Bench, Load, bar, held_temperature
from stemwall.materials.catalogue import catalogue
from stemwall.solver.discretisation.mesh import mesh_on_lines
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.discretisation.network_builder import build_network, conducting
from stemwall.solver.model.section import Region, Section

WOOD = "lumber_spf"
LINES = np.linspace(0.0, 0.1, 6)


def section(grain: str | None) -> Section:
    region = Region("wood", WOOD, 0.0, 0.0, 0.1, 0.1, grain=grain)  # type: ignore[arg-type]
    return Section(0.0, 0.0, 0.1, 0.1, (region,))


def network(grain: str | None) -> Network:
    return build_network(mesh_on_lines(section(grain), LINES, LINES))


def test_without_a_grain_in_the_drawing_there_is_one_part_in_each_node() -> None:
    plain = network(None)
    assert plain.scv_node.size == plain.nodes
    assert conducting(section(None), catalogue().materials) == (catalogue().material(WOOD),)


@pytest.mark.parametrize(("grain", "direction"), [("x", 0), ("y", 1)])
def test_paths_in_the_direction_of_the_grain_are_along_it_and_the_volume_is_that_of_the_section(
    grain: str, direction: int
) -> None:
    placed = network(grain)
    across, along = conducting(section(grain), catalogue().materials)
    assert (across, along) == (catalogue().material(WOOD), catalogue().material(WOOD).along)
    a, b = placed.scv_node[placed.edge_a], placed.scv_node[placed.edge_b]
    moved = np.stack([placed.node_x[a] - placed.node_x[b], placed.node_y[a] - placed.node_y[b]])
    runs = np.abs(moved[direction]) > 1e-9
    assert np.array_equal(placed.scv_material[placed.edge_a] == 1, runs)
    assert np.array_equal(placed.scv_material[placed.edge_b] == 1, runs)
    assert placed.scv_volume.sum() == pytest.approx(0.01)
    assert np.all(placed.scv_volume[placed.scv_material == 1] == 0.0)


@pytest.mark.parametrize("grain", [None, "x", "y"])
def test_heat_through_a_bar_is_that_of_the_direction(grain: str | None) -> None:
    """Steady flow through 50 mm of wood, by hand from its conductivity."""
    wood = catalogue().material(WOOD)
    along = wood.along if grain == "x" else wood
    assert along is not None
    drawn = bar([(WOOD, 0.05)], depth=0.01)
    (region,) = drawn.regions
    drawn = Section(0.0, 0.0, drawn.x1, drawn.y1, (Region(**{**vars(region), "grain": grain}),), edges=drawn.edges)

    def load(_: float, surface: Surface) -> Load:
        return held_temperature(20.1 if surface.climate == "left" else 19.9)

    dry = 1e9
    bench = Bench(drawn, {WOOD: wood}, np.linspace(0.0, 0.05, 11), [0.0, 0.01], load, suction=dry)
    bench.run_to(20 * 86400.0)
    water = wood.water_content(dry)
    expected = float(along.thermal_conductivity(water, 20.0)) * 0.2 / 0.05 * 0.01
    assert bench.heat_in[0] == pytest.approx(expected, rel=5e-3)
    assert bench.heat_in.sum() == pytest.approx(0.0, abs=1e-4 * expected)
