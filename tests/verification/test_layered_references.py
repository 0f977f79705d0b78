"""The second solver of layered walls against closed forms, and its materials against those of the solver."""

import numpy as np
import pytest

from stemwall.cases.verification.coupled import hamstad_inside_insulation, hamstad_roof, rain_on_wall
from stemwall.cases.verification.coupled.finite_element_wall_moisture import MATERIALS
from stemwall.cases.verification.references.physics import (
    Air,
    Substance,
    log_suction,
    saturation,
    storage_slopes,
    transport,
    vapour_pressure,
)
from stemwall.cases.verification.references.series import PlaneWall
from stemwall.cases.verification.references.spectral_line import Slab, SpectralLine, lobatto
from stemwall.materials import water

NONE = np.zeros_like
CONSTANTS = {
    "brick": hamstad_inside_insulation.BRICK,
    "mortar": hamstad_inside_insulation.MORTAR,
    "inside insulation": hamstad_inside_insulation.INSULATION,
    "load-bearing": hamstad_roof.LOAD_BEARING,
    "roof insulation": hamstad_roof.INSULATION,
    "finish": rain_on_wall.FINISH,
    "masonry": rain_on_wall.MASONRY,
    **MATERIALS,
}


@pytest.mark.parametrize("order", [2, 3, 4, 7])
def test_lobatto_is_exact_for_its_polynomials(order):
    x, weights, derive = lobatto(order)
    np.testing.assert_allclose(derive @ x**order, order * x ** (order - 1), atol=1e-12)
    for power in range(2 * order):
        assert weights @ x**power == pytest.approx((1 + (-1) ** power) / (power + 1), abs=1e-13)


@pytest.mark.parametrize("name", CONSTANTS)
def test_materials_of_solver_and_reference_are_the_same(name):
    constants = CONSTANTS[name]
    material, substance = constants.material(name), constants.substance()
    p_c = np.geomspace(1e2, 5e8, 200)
    w = substance.water(p_c)
    # the solver adds an elastic part below 1e-4 kg/m3
    np.testing.assert_allclose(material.water_content(p_c), w, atol=1.01e-4, rtol=1e-12)
    np.testing.assert_allclose(material.vapour_permeability(p_c), substance.vapour(w), rtol=1e-9)
    np.testing.assert_allclose(material.thermal_conductivity(w), substance.conductivity(w), rtol=1e-12)
    assert material.has_liquid == (substance.liquid is not None)
    if substance.liquid is not None:
        np.testing.assert_allclose(material.liquid_conductivity(p_c), substance.liquid(w), rtol=1e-9)
    assert material.heat_capacity == substance.heat_capacity
    assert material.vapour_exponent == substance.power


def test_moist_air_of_solver_and_reference_is_the_same():
    t = np.linspace(0.1, 40, 50)
    np.testing.assert_allclose(saturation(t)[0], water.saturation_pressure(t), rtol=1e-13)
    for relative in (0.3, 0.9, 0.999):
        p_c = float(water.suction_from_humidity(relative, 7.0))
        assert np.exp(log_suction(relative, 7.0)) == pytest.approx(p_c, rel=1e-12)


def test_coefficients_are_slopes_of_vapour_pressure_and_storage():
    substance, t, u, h = CONSTANTS["masonry"].substance(), np.array([12.0]), np.array([15.5]), 1e-4
    law = transport(substance, t, u)
    delta = substance.vapour(substance.water(np.exp(u))) * ((t + 273.15) / 293.15) ** -1
    by_t = (vapour_pressure(t + h, u) - vapour_pressure(t - h, u)) / (2 * h)
    by_u = (vapour_pressure(t, u + h) - vapour_pressure(t, u - h)) / (2 * h)
    np.testing.assert_allclose([law.vapour_t, law.vapour_u], [delta * by_t, delta * by_u], rtol=1e-6)

    def held(temperature, log_suction):
        w = substance.water(np.exp(log_suction))
        return (substance.heat_capacity + 4180.0 * w) * temperature, w

    warmer, drier = (np.subtract(held(t + a, u + b), held(t - a, u - b)) / (2 * h) for a, b in ((h, 0.0), (0.0, h)))
    np.testing.assert_allclose(storage_slopes(substance, t, u), [warmer[0], *drier], rtol=1e-6)


def test_cooling_wall():
    biot, half, film = 2 / 3, 0.1, 10.0
    solid = Substance(lambda p: 1e-3 * np.exp(-p / 1e8), NONE, lambda w: film * half / biot + 0 * w, 2e6)
    air = Air(lambda t: 0.0, film)
    line = SpectralLine([Slab(solid, np.linspace(0, 2 * half, 9))], (air, air))
    start = np.tile([1.0, np.log(1e7)], (line.x.size, 1))
    series, share = PlaneWall(biot), np.array([0.0, 0.37, 1.0])
    states = line.run(start, [fo * half**2 * 2e6 / 1.5 for fo in (0.1, 0.5, 2.0)], 1e-8)
    for fourier, state in zip((0.1, 0.5, 2.0), states, strict=True):
        np.testing.assert_allclose(line.at(state[0], half * (1 + share)), series.at(share, fourier), atol=2e-6)


def test_drying_slab():
    # w = 50 phi and a heat capacity so large that evaporation cools nothing
    kelvin, beta, delta, half = 461.5e3 * 293.15, 2e-8, 2e-11, 0.05
    solid = Substance(lambda p: 50 * np.exp(-p / kelvin), lambda w: delta + 0 * w, lambda w: 1.0 + 0 * w, 1e15)
    pressure = float(saturation(20.0)[0])
    air = Air(lambda t: 20.0, 0.0, lambda t: 0.5 * pressure, beta)
    line = SpectralLine([Slab(solid, np.linspace(0, 2 * half, 13))], (air, air))
    start = np.tile([20.0, log_suction(0.8, 20.0)], (line.x.size, 1))
    series, diffusivity = PlaneWall(beta * half / delta), delta * pressure / 50
    times = [fo * half**2 / diffusivity for fo in (0.1, 0.5)]
    for fourier, state in zip((0.1, 0.5), line.run(start, times, 1e-8), strict=True):
        share = np.array([0.0, 0.5, 1.0])
        phi = np.exp(-np.exp(line.at(state[1], half * (1 + share))) / kelvin)
        np.testing.assert_allclose(phi, 0.5 + 0.3 * series.at(share, fourier), atol=2e-5)
        assert line.water(state, 0) == pytest.approx(50 * 2 * half * (0.5 + 0.3 * series.mean(fourier)), rel=2e-5)


def test_rates_balance_what_enters():
    wall = rain_on_wall.wall()
    line = wall.reference((6, 8), 3)
    x = line.x / line.x[-1]
    state = np.stack([12 + 5 * np.sin(3 * x), 15 - 2 * np.cos(4 * x)], axis=1)
    time = 24 * 3600.0
    rates, gained = line.rates(time, state), np.zeros(2)
    for slab, span in zip(line.slabs, line.spans, strict=True):
        index = line.index[span]
        c_t, c_u, slope = storage_slopes(slab.substance, state[index, 0], state[index, 1])
        volume = line.weights * line.half[span, None]
        gained[0] += np.sum(volume * (c_t * rates[index, 0] + c_u * rates[index, 1]))
        gained[1] += np.sum(volume * slope * rates[index, 1])
    left, right = (end.inflow(time, *state[k]) for end, k in zip(wall.ends, (0, -1), strict=True))
    assert left[2] > 0  # it rains
    np.testing.assert_allclose(gained, [left[0] + right[0], sum(left[1:]) + sum(right[1:])], rtol=1e-9)


def test_rain_is_refused_by_a_full_face():
    air = Air(lambda t: 10.0, 25.0, rain=lambda t: 1e-3, contact=1e-7)
    assert air.inflow(0.0, np.array(10.0), np.log(1e7))[2] == pytest.approx(1e-3)
    assert air.inflow(0.0, np.array(10.0), np.log(1e2))[2] == pytest.approx(1e-5)
