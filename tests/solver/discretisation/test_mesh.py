"""The mesh passes through every line drawn, grades as the rule says and paints in order."""

import numpy as np
import pytest

from stemwall.solver.discretisation.mesh import build_mesh, cell_counts, graded_lines
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Edge, Opening, Region, Section
from stemwall.solver.model.settings import MeshRule

RULE = MeshRule(finest=0.01, growth=1.4, coarsest=0.5, layer_cells=3)


def test_lines_pass_through_everything_drawn() -> None:
    drawn = [0.0, 0.05, 0.25, 3.0, 3.002, 8.0]
    lines = graded_lines(drawn, RULE)
    assert np.all(np.diff(lines) > 0)
    for value in drawn:
        assert np.min(np.abs(lines - value)) < 1e-12


def test_thin_layers_get_their_cells_and_no_cell_is_too_large() -> None:
    lines = graded_lines([0.0, 3.0, 3.002, 8.0], RULE)
    assert np.count_nonzero((lines > 3.0 + 1e-9) & (lines < 3.002 - 1e-9)) == RULE.layer_cells - 1
    assert np.diff(lines).max() <= RULE.coarsest * 1.05  # rounding to whole cells
    assert np.diff(lines)[(lines[:-1] >= 1.5) & (lines[:-1] < 2.95)].min() >= 0.9 * RULE.finest


def test_halving_the_sizes_doubles_the_lines() -> None:
    drawn = [0.0, 2.0, 2.2, 8.0]
    coarse, fine = graded_lines(drawn, RULE), graded_lines(drawn, RULE.refined())
    assert fine.size - 1 == pytest.approx(2 * (coarse.size - 1), abs=6)  # whole cells per span


def test_symmetric_drawing_gives_a_symmetric_mesh() -> None:
    lines = graded_lines([0.0, 0.9, 1.1, 2.0], RULE)
    np.testing.assert_allclose(lines + lines[::-1], 2.0, atol=1e-12)


def test_later_items_paint_over_earlier_ones() -> None:
    section = Section(
        0, 0, 2, 1,
        (Region("a", "m", 0, 0, 2, 1), Opening("hole", "air", 0.5, 0.5, 1.5, 1.0), Region("b", "n", 1, 0, 2, 0.6)),
    )  # fmt: skip
    mesh = build_mesh(section, RULE)
    assert mesh.cells == np.count_nonzero(mesh.material >= 0)
    assert set(np.unique(mesh.region)) == {-1, 0, 1}
    x, y = np.meshgrid(mesh.x_centres, mesh.y_centres)
    np.testing.assert_array_equal(mesh.region == 1, (x > 1) & (y < 0.6))
    np.testing.assert_array_equal(mesh.opening == 0, (x > 0.5) & (x < 1.5) & (y > 0.5) & ~((x > 1) & (y < 0.6)))


def test_bare_rectangle_is_an_error_that_says_where() -> None:
    section = Section(0, 0, 1, 1, (Region("a", "m", 0, 0, 0.5, 1),))
    with pytest.raises(SectionError, match=r"painted by no region .* x = 0\.5"):
        build_mesh(section, RULE)


def test_a_side_that_looks_into_a_climate_is_meshed_finely() -> None:
    regions = (Region("a", "stone", 0.0, 0.0, 0.5, 1.0), Region("b", "stone", 0.5, 0.0, 1.0, 1.0))
    rule = MeshRule(0.01, 1.5, 0.3, 3)
    shut = build_mesh(Section(0.0, 0.0, 1.0, 1.0, regions), rule)
    seen = build_mesh(Section(0.0, 0.0, 1.0, 1.0, regions, edges=(Edge("left", "climate", climate="air"),)), rule)
    first = [float(mesh.x_lines[1] - mesh.x_lines[0]) for mesh in (shut, seen)]
    assert first[0] > 0.05
    assert first[1] < 0.015
    assert seen.x_lines[-1] - seen.x_lines[-2] > 0.05


@pytest.mark.parametrize("rule", [RULE, RULE.refined(), MeshRule(finest=0.2, growth=1.1, coarsest=0.2, layer_cells=1)])
def test_cells_are_counted_without_a_mesh(rule: MeshRule) -> None:
    section = Section(
        0, 0, 2, 1, (Region("a", "m", 0, 0, 2, 1), Opening("hole", "air", 0.5, 0.5, 1.5, 1.0)),
        edges=(Edge("left", "climate", climate="air"),), lines_y=(0.01,),
    )  # fmt: skip
    rows, columns = build_mesh(section, rule).region.shape
    assert cell_counts(section, rule) == (columns, rows)
