"""Kernel tables against the models they stand for."""

import numpy as np
import pytest

from stemwall.materials import (
    Material,
    catalogue,
    evaluate,
    reference,
    stretched,
    suction,
    suction_slope,
    tabulate,
)
from stemwall.materials.tables import cubics, limit_slopes
from stemwall.materials.water import DRY_SUCTION, FloatArray

MATERIALS = [
    *catalogue().materials.values(),
    reference.en15026(),
    reference.hamstad2(),
    reference.two_layer_insulation(),
    reference.linear_vapour(),
    reference.gardner_soil(),
]
TABLES = tabulate(MATERIALS)
NODES = TABLES.water.shape[1]
S: FloatArray = np.random.default_rng(7).uniform(TABLES.s0, TABLES.s0 + TABLES.ds * (NODES - 1), 3000)
EACH = pytest.mark.parametrize(("index", "material"), list(enumerate(MATERIALS)), ids=TABLES.ids)


def test_stretched_suction_inverts() -> None:
    values = np.array([-2.5e5, -1.0, 0.0, 50.0, 1e9])
    np.testing.assert_allclose(suction(stretched(values)), values, rtol=1e-12, atol=1e-12)
    slope = (suction(stretched(values) + 1e-6) - suction(stretched(values) - 1e-6)) / 2e-6
    np.testing.assert_allclose(suction_slope(stretched(values)), slope, rtol=1e-7)


@EACH
def test_water(index: int, material: Material) -> None:
    """Within 2e-5 of saturation everywhere; strictly monotone between the nodes too."""
    value, slope = evaluate(TABLES.water[index], TABLES.s0, TABLES.ds, S)
    expected = material.water_content(suction(S))
    assert np.abs(value - expected).max() < 2e-5 * expected.max()
    assert np.all(slope < 0.0)
    exact = -material.storage.capacity(_nodes()) * suction_slope(stretched(_nodes()))
    limited = ~np.isclose(TABLES.water[index, :, 1], exact, rtol=1e-6, atol=0.0)
    assert limited.sum() <= 2  # the dry end, and where sand starts on its straight line


@EACH
def test_flux_potential(index: int, material: Material) -> None:
    """Its slope gives K: 99 of 100 points within 0.1 %, kinks within 3 %, where K matters at all."""
    _, slope = evaluate(TABLES.flux_potential[index], TABLES.s0, TABLES.ds, S)
    expected = material.liquid_conductivity(suction(S))
    if not material.has_liquid:
        assert np.all(slope == 0.0)
        return
    k = -slope / suction_slope(S)
    matters = expected > 1e-12 * expected.max()
    error = np.abs(k / np.where(matters, expected, 1.0) - 1.0)[matters]
    assert np.quantile(error, 0.99) < 1e-3
    assert error.max() < 3e-2


def test_flux_potential_is_the_integral_of_k() -> None:
    """Constant diffusivity: Phi = D (w - w_dry) exactly."""
    index = TABLES.ids.index("hamstad2")
    material = MATERIALS[index]
    value, _ = evaluate(TABLES.flux_potential[index], TABLES.s0, TABLES.ds, S[S > 0.0])
    curve = material.storage.curve
    expected = 6e-10 * (curve.content(suction(S[S > 0.0])) - curve.content(np.array(1e9)))
    np.testing.assert_allclose(value, expected, rtol=1e-6, atol=1e-16)


@EACH
def test_vapour_and_conductivity(index: int, material: Material) -> None:
    """Vapour within 0.1 % of its largest value; conductivity within 1 % at kinks, 0.1 % elsewhere."""
    delta, _ = evaluate(TABLES.vapour[index], TABLES.s0, TABLES.ds, S)
    expected = material.vapour_permeability(suction(S))
    assert np.abs(delta - expected).max() <= 1e-3 * expected.max()
    value, _ = evaluate(TABLES.conductivity[index], TABLES.s0, TABLES.ds, S)
    error = np.abs(value / material.thermal_conductivity(material.water_content(suction(S))) - 1.0)
    assert error.max() < 1e-2
    assert np.quantile(error, 0.99) < 1e-3


@EACH
def test_temperature_factor(index: int, material: Material) -> None:
    t = np.linspace(-50.0, 90.0, 333)
    value, _ = evaluate(TABLES.temperature_factor[index], TABLES.t0, TABLES.dt, t)
    np.testing.assert_allclose(value, material.temperature.factor(t), rtol=3e-3)


def test_interpolation_is_held_outside() -> None:
    table = TABLES.water[0]
    value, _ = evaluate(table, TABLES.s0, TABLES.ds, [TABLES.s0 - 1.0, 100.0])
    np.testing.assert_allclose(value, [table[0, 0], table[-1, 0]], rtol=1e-12, atol=1e-12)


def test_cubics_meet_values_and_slopes_at_both_ends_of_each_cell(rng: np.random.Generator) -> None:
    table, step = rng.normal(size=(3, 7, 2)), 0.3
    c0, c1, c2, c3 = np.moveaxis(cubics(table, step), -1, 0)
    np.testing.assert_array_equal(c0, table[:, :-1, 0])
    np.testing.assert_allclose(c1 / step, table[:, :-1, 1], rtol=1e-14)
    np.testing.assert_allclose(c0 + c1 + c2 + c3, table[:, 1:, 0], atol=1e-14)
    np.testing.assert_allclose((c1 + 2.0 * c2 + 3.0 * c3) / step, table[:, 1:, 1], atol=1e-13)


def test_limited_slopes_make_a_monotone_cubic() -> None:
    values = np.array([0.0, 0.0, 0.1, 1.0, 1.0])
    raw = np.array([0.5, 2.0, 3.0, 4.0, -1.0])
    table = np.stack([values, limit_slopes(values, raw, 1.0)], axis=-1)
    value, slope = evaluate(table, 0.0, 1.0, np.linspace(0.0, 4.0, 401))
    assert np.all(np.diff(value) >= -1e-15)
    assert np.all(slope >= -1e-12)


def _nodes() -> FloatArray:
    return np.minimum(suction(TABLES.s0 + TABLES.ds * np.arange(NODES)), DRY_SUCTION)
