"""The network conserves volume, splits nodes at membranes only, and names every exposed length."""

import numpy as np

from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.model.section import Membrane, Opening, Region, Section
from stemwall.solver.model.settings import MeshRule
from tests.solver.samples import corner_section

RULE = MeshRule(finest=0.05, growth=1.5, coarsest=0.2, layer_cells=2)


def test_part_volumes_add_up_to_the_solid_area() -> None:
    section = corner_section()
    network = build_network(build_mesh(section, RULE))
    area = 1.6 - 0.4 * 0.6 - 0.35 * 0.8
    assert np.isclose(network.scv_volume.sum(), area, rtol=1e-12)


def test_surface_lengths_are_those_drawn() -> None:
    network = build_network(build_mesh(corner_section(), RULE))
    lengths = {s.name: s.length for s in network.surfaces}
    assert np.isclose(lengths["outdoors | ground, up"], 0.4)
    assert np.isclose(lengths["outdoors | wall, left"], 0.6)
    assert np.isclose(lengths["room | board, right"], 0.8)
    assert np.isclose(lengths["room | ground, up"], 0.35)
    assert np.isclose(lengths["bottom edge | ground, down"], 1.0)
    assert np.isclose(sum(lengths.values()), network.face_width.sum())


def test_a_membrane_splits_nodes_along_its_length_but_not_at_its_tip() -> None:
    plain = Section(0, 0, 1, 1, (Region("a", "m", 0, 0, 1, 1),), lines_y=(0.4, 0.6), lines_x=(0.5,))
    cut = Section(
        0, 0, 1, 1, (Region("a", "m", 0, 0, 1, 1),),
        membranes=(Membrane("s", 0.5, 0.4, 0.5, 1.0, 1, 1),), lines_y=(0.4, 0.6), lines_x=(0.5,),
    )  # fmt: skip
    whole, split = (build_network(build_mesh(s, RULE)) for s in (plain, cut))
    on_sheet = np.count_nonzero((whole.node_x == 0.5) & (whole.node_y > 0.4))
    assert split.nodes - whole.nodes == on_sheet
    tip = np.count_nonzero((split.node_x == 0.5) & (split.node_y == 0.4))
    assert tip == 1
    assert np.isclose(split.membrane_width.sum(), 0.6 - 0.5 * np.diff(np.unique(whole.node_y))[0] * 0, atol=0.2)


def test_solids_that_touch_only_at_a_corner_do_not_share_a_node() -> None:
    section = Section(
        0, 0, 2, 2,
        (Opening("air", "room", 0, 0, 2, 2), Region("a", "m", 0, 0, 1, 1), Region("b", "m", 1, 1, 2, 2)),
    )  # fmt: skip
    network = build_network(build_mesh(section, RULE))
    assert np.count_nonzero((network.node_x == 1) & (network.node_y == 1)) == 2


def test_path_shapes_give_the_conductance_of_a_slab() -> None:
    """Uniform slab 1 m x 1 m between two held sides: the paths of any column add up to width/length."""
    section = Section(0, 0, 1, 1, (Region("a", "m", 0, 0, 1, 1),))
    network = build_network(build_mesh(section, RULE))
    a, b = network.scv_node[network.edge_a], network.scv_node[network.edge_b]
    along_x = network.edge_rise == 0
    for left in np.unique(network.node_x)[:-1]:
        column = along_x & (np.minimum(network.node_x[a], network.node_x[b]) == left)
        length = np.abs(network.node_x[a] - network.node_x[b])[column][0]
        assert np.isclose(network.edge_shape[column].sum(), 1.0 / length)
