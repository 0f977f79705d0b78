"""The finite-element references: drawing, closed forms, balances, derivatives."""

import sys

import numpy as np
import pytest

from stemwall.cases.verification.comparison import NotRun
from stemwall.cases.verification.conduction import finite_element_wall_heat
from stemwall.cases.verification.conduction.transient import rectangle_expected
from stemwall.cases.verification.coupled import finite_element_wall_moisture
from stemwall.cases.verification.references.finite_element_drawing import Box, Drawing
from stemwall.cases.verification.references.physics import Air, log_suction
from stemwall.solver.model.settings import MeshRule


@pytest.mark.parametrize("case", [finite_element_wall_heat.wall_heat, finite_element_wall_moisture.wall_moisture])
def test_without_the_library_nothing_is_run(case, monkeypatch):
    monkeypatch.setitem(sys.modules, "skfem", None)
    with pytest.raises(NotRun, match="skfem is not installed"):
        case()


def test_what_lies_at_a_point():
    drawing = finite_element_wall_heat.drawing()
    names = [drawing.boxes[k].name for k in drawing.box_at(np.array([1.6, 1.72, 3.0]), np.array([0.0, 0.0, -1.0]))]
    assert names == ["wall", "board", "ground"]
    assert drawing.air_at(1.4, 0.2) == "outdoors"
    assert drawing.air_at(2.0, -3.0) == "deep"
    assert drawing.air_at(-1.0, -1.0) is None


def _rectangle(film):
    air = Air(lambda t: 0.0, film)
    size = (0.0, 0.0, 0.2, 0.4)
    boxes = (Box("bar", "solid", *size),)
    return Drawing(size, boxes, dict.fromkeys(("left", "right", "bottom", "top"), "air"), {"air": air})


def test_radau_coefficients():
    pytest.importorskip("skfem")
    from stemwall.cases.verification.references.finite_element_heat import radau_coefficients

    # last row of the table in the books
    last = [(16 - np.sqrt(6)) / 36, (16 + np.sqrt(6)) / 36, 1 / 9]
    np.testing.assert_allclose(radau_coefficients()[-1], last, rtol=1e-13)


def test_cooling_rectangle():
    pytest.importorskip("skfem")
    from stemwall.cases.verification.references.finite_element_heat import HeatElements
    from stemwall.cases.verification.references.finite_element_mesh import build_elements

    elements = build_elements(_rectangle(10.0), MeshRule(finest=0.01, growth=1.2, coarsest=0.05))
    model = HeatElements(elements, {"solid": (1.5, 2e6)})
    # the start jumps, so that the first steps are short ones
    states = model.run(1.0, 300.0, 48)
    values = elements.at(states[-1], np.array([(0.1, 0.2), (0.2, 0.2), (0.2, 0.4)]))
    at = 0.75e-6 * 4 * 3600
    exact = rectangle_expected((2 / 3, 4 / 3), (at / 0.01, at / 0.04))
    np.testing.assert_allclose(values, exact[:3], atol=2e-5)
    # heat that leaves is heat that is lost
    before, now, after = ((model.mass @ t).sum() for t in states[-3:])
    gain = (before - 4 * now + 3 * after) / 600.0
    assert model.flow(("air", "bar"), 0.0, states[-1]) == pytest.approx(gain, rel=1e-3)


def _moist():
    from stemwall.cases.verification.references.finite_element_mesh import build_elements
    from stemwall.cases.verification.references.finite_element_moisture import MoistElements

    section = finite_element_wall_moisture.drawing()
    materials = finite_element_wall_moisture.MATERIALS
    elements = build_elements(section, MeshRule(finest=0.05, growth=2.0, coarsest=0.3, layer_cells=2))
    model = MoistElements(elements, {key: c.substance() for key, c in materials.items()})
    x, y = elements.basis.doflocs
    return model, (12 + 3 * np.sin(3 * x + y), log_suction(0.9, 12.0) - 0.5 * np.cos(4 * y - x))


def test_moist_balance():
    pytest.importorskip("skfem")
    model, state = _moist()
    time = 7 * 86400.0
    gains = model.gains(time, state)
    entered = np.sum([model.inflow(key, time, state) for key in model.elements.faces], axis=0)
    np.testing.assert_allclose([g.sum() for g in gains], entered, rtol=1e-9)
    # soil with the crawlspace cut out, wall above grade, board
    area = 0.9 * 1.0 - 0.4 * 0.3 + 0.4 * 0.2 + 0.8 * 0.05
    assert sum(volume.sum() for volume in model.volumes.values()) == pytest.approx(area)


def test_moist_derivatives():
    pytest.importorskip("skfem")
    model, state = _moist()
    time, n = 7 * 86400.0, model.nodes
    matrix, h = model.jacobian(time, state).toarray(), 1e-5
    for k in np.random.default_rng(1).integers(0, 2 * n, 12):
        moved = []
        for step in (h, -h):
            z = np.concatenate(state)
            z[k] += step
            moved.append(np.concatenate(model.rates(time, (z[:n], z[n:]))))
        exact = (moved[0] - moved[1]) / (2 * h)
        np.testing.assert_allclose(matrix[:, k], exact, atol=1e-5 * np.abs(exact).max())
