"""The references themselves, against numbers computed independently of them."""

import numpy as np
import pytest

from stemwall.cases.verification.conduction.slab import formula
from stemwall.cases.verification.references import series
from stemwall.cases.verification.references.similarity import (
    CONSERVED,
    STANDARD,
    WITHOUT_WATER,
    CoupledUptake,
    ExponentialUptake,
)
from stemwall.materials.reference import en15026, hamstad2
from stemwall.materials.water import suction_from_humidity


@pytest.mark.parametrize(
    ("biot", "fourier", "expected"),
    [
        (2 / 3, 0.1, (0.995203, 0.965056, 0.800388, 0.942593)),
        (1.0, 1.0, (0.533859, 0.485224, 0.348177, 0.470397)),
        (10.0, 0.5, (0.454641, 0.343513, 0.064329, 0.315016)),
    ],
)
def test_plane_wall(biot, fourier, expected):
    wall = series.PlaneWall(biot)
    np.testing.assert_allclose([*wall.at([0, 0.5, 1], fourier), wall.mean(fourier)], expected, atol=6e-7)


def test_first_root_of_the_textbook():
    wall = series.PlaneWall(1.0)  # Heisler 1947 (from memory)
    assert wall.mu[0] == pytest.approx(0.8603, abs=5e-5)
    assert wall.weight[0] == pytest.approx(1.1191, abs=5e-5)


def test_half_space_behind_a_film_tends_to_a_held_surface():
    x = np.linspace(0, 2, 9)
    np.testing.assert_allclose(series.half_space_film(x, 0.3, 1e7), series.half_space_step(x, 0.3), atol=1e-6)


def test_half_space_behind_a_film():
    # 10 degC, air -5 degC, h 10, 1 d
    at = 7.5e-7 * 86400
    computed = 10 - 15 * series.half_space_film([0, 0.05, 0.1, 0.25, 0.5, 1.0], at, 10 / 1.5)
    np.testing.assert_allclose(computed, [-0.61901, 0.80407, 2.13952, 5.47860, 8.66048, 9.96505], atol=6e-6)


def test_square_at_its_middle():
    assert series.square_with_hot_top(0.5, 0.5) == pytest.approx(0.25, abs=1e-12)


@pytest.mark.parametrize(("breadth", "flow"), [(4, 4.617866), (8, 5.477393), (20, 6.629972)])
def test_strip_flow(breadth, flow):
    assert 2.0 * series.StripOnGround(breadth, 0.3).flow() == pytest.approx(flow, abs=1e-6)


def test_strip_flux_adds_up_to_its_flow():
    strip = series.StripOnGround(8.0, 0.3)
    # substitution that crowds the points at the edge, where the flux has a logarithm
    u, weight = np.polynomial.legendre.leggauss(200)
    s = 0.5 * (u + 1)
    x = 4 * (1 - s**3)
    assert 2 * np.sum(0.5 * weight * 12 * s**2 * strip.flux(x)) == pytest.approx(strip.flow(), rel=1e-6)


def test_strip_surface_temperature():
    strip = series.StripOnGround(8.0, 0.3)
    np.testing.assert_allclose(strip.temperature([0, 3.9, 4.15, 4.4], 0.0), [1, 1, 0.5, 0], atol=1e-12)


def test_drying_layer_mean_is_the_mean_of_its_profile():
    at, arguments = 6e-10 * 3.6e5, (0.2, 84.7687, 19.5356, 30.5059)
    u, weight = np.polynomial.legendre.leggauss(200)
    profile = series.layer_between(0.1 * (u + 1), at, *arguments)
    assert 0.5 * weight @ profile == pytest.approx(series.layer_between_mean(at, *arguments), rel=1e-6)


def test_drying_benchmark_water_contents():
    # 84.7 is the value usually quoted for the start
    computed = hamstad2().water_content(suction_from_humidity([0.95, 0.45, 0.65]))
    np.testing.assert_allclose(computed, [84.7687, 19.5356, 30.5059], atol=6e-5)


def test_coupled_uptake_by_an_independent_boundary_value_problem():
    # same equations with the gas constant 8.314462618 / 0.01801528 J/(kg K)
    found = CoupledUptake(en15026(), (30.0, 0.95), (20.0, 0.50), STANDARD)
    assert found.uptake == pytest.approx(5.79232e-4, rel=5e-5)
    temperature, water = found.at([1e-6, 5e-6, 1e-5, 2e-5, 1e-4, 1e-3])
    np.testing.assert_allclose(water, [123.4654, 92.9831, 59.4961, 44.8261, 42.9433, 42.9423], atol=3e-3)
    np.testing.assert_allclose(temperature, [29.9966, 29.9821, 29.9604, 29.9093, 29.4765, 24.9863], atol=2e-4)


def test_forms_of_the_energy_equation_differ_as_stated():
    eta = np.linspace(1e-5, 5e-3, 200)
    conserved, standard, without = (
        CoupledUptake(en15026(), (30.0, 0.95), (20.0, 0.50), form).at(eta)[0]
        for form in (CONSERVED, STANDARD, WITHOUT_WATER)
    )
    assert 1e-6 < np.abs(conserved - standard).max() < 5e-5
    assert np.abs(conserved - without).max() == pytest.approx(0.22, abs=0.01)


def test_exponential_uptake():
    found = ExponentialUptake(7.5)
    assert found.sorptivity == pytest.approx(0.498251, abs=2e-6)
    computed = found.at([0.1, 0.2, 0.3, 0.4, 0.45, 0.5, 0.55])
    expected = [0.972451, 0.937940, 0.892169, 0.825087, 0.775450, 0.702002, 0.563247]
    np.testing.assert_allclose(computed, expected, atol=2e-5)


@pytest.mark.parametrize(("resistance", "expected"), [(0.0, 4.4324), (0.5, 3.2748), (1.0, 2.6727), (2.5, 1.7479)])
def test_formula_of_iso_13370(resistance, expected):
    assert formula(resistance) == pytest.approx(expected, abs=6e-5)
