"""Vapour permeability: cups as integral means, soils, filled pores."""

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import reference
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.storage import Storage
from stemwall.materials.vapour import ConstantVapour, Cup, MillingtonQuirk, TabulatedVapour, VapourModel, fit_cups
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

ANY = Storage(VanGenuchten.soil(0.078, 0.43, 3.6, 1.56))


def pair(dry: float, wet: float) -> list[Cup]:
    """Cups 0-50 and 50-93 % RH of these permeabilities."""
    return [Cup(0.0, 0.50, dry), Cup(0.50, 0.93, wet)]


def mean(model: VapourModel, cup: Cup) -> float:
    """Mean permeability over the range of a cup."""
    phi = np.linspace(max(cup.low, 1e-9), cup.high, 20001)
    delta = model.permeability(suction_from_humidity(phi), ANY)
    return float(trapezoid(delta, phi)) / (cup.high - cup.low)


@pytest.mark.parametrize("power", [1.5, 4.0, 5.0])
def test_two_cups_are_met_as_integral_means(power: float) -> None:
    cups = pair(2e-12, 6.6e-12)
    model = fit_cups(cups, power)
    # suction stops at 1 GPa, which moves the dry end by 1e-4
    assert [mean(model, cup) for cup in cups] == pytest.approx([2e-12, 6.6e-12], rel=1e-5)


@pytest.mark.parametrize("power", [3.0, 5.0])
@pytest.mark.parametrize("mus", [(156, 135, 84, 50, 27), (200, 125, 48, 23, 20), (10, 9.5, 9, 8, 5)])
def test_many_cups_are_met_each_over_its_own_humidities(power: float, mus: tuple[float, ...]) -> None:
    ranges = [(0.0, 0.5), (0.35, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95)]
    cups = [Cup(low, high, AIR_PERMEABILITY / mu) for (low, high), mu in zip(ranges, mus, strict=True)]
    model = fit_cups(cups, power)
    assert [AIR_PERMEABILITY / mean(model, cup) for cup in cups] == pytest.approx(list(mus), rel=0.01)


def test_three_cups_of_the_law_of_two_are_that_law() -> None:
    law = fit_cups(pair(1.5e-12, 6.6e-12), 4.0)
    cups = [Cup(low, high, mean(law, Cup(low, high, 1.0))) for low, high in ((0.0, 0.5), (0.5, 0.8), (0.8, 0.95))]
    phi = suction_from_humidity(np.linspace(0.05, 0.99, 50))
    np.testing.assert_allclose(
        fit_cups(cups, 4.0).permeability(phi, ANY), law.permeability(phi, ANY), rtol=0.02, atol=1e-14
    )


def test_cups_that_contradict_each_other_are_met_in_the_mean() -> None:
    twice = [Cup(0.0, 0.5, 1e-12), Cup(0.0, 0.5, 1.2e-12), Cup(0.5, 0.93, 3e-12)]
    assert mean(fit_cups(twice, 4.0), twice[0]) == pytest.approx(1.09e-12, rel=0.02)


def test_one_cup_is_a_constant() -> None:
    delta = fit_cups([Cup(0.0, 0.5, 1e-12)]).permeability(np.array([-1.0, 1e5, 1e9]), ANY)
    np.testing.assert_array_equal(delta, 1e-12)


def test_permeance_at_the_temperature_of_the_test() -> None:
    """0.1 perm at 23 degC through 25.4 mm of still air's 0.1 perm inch: mu = 1.983e-10 / 1.459e-13."""
    cup = Cup.of_permeance(0.0, 0.5, 0.1 * 57.4525e-12, 0.0254, 23.0)
    assert AIR_PERMEABILITY / cup.delta == pytest.approx(198.2613e-12 / (5.74525e-12 * 0.0254), rel=1e-4)


def test_cups_that_no_curve_can_reach_are_refused() -> None:
    with pytest.raises(ValueError, match=r"wet/dry = 40 must be from 1 to below 24\.7"):
        fit_cups(pair(1e-12, 4e-11), 4.0)
    steep = [Cup(0.0, 0.5, 1e-10), Cup(0.5, 0.55, 1e-14), Cup(0.6, 0.65, 1e-10)]
    with pytest.raises(ValueError, match="would be negative"):
        fit_cups(steep, 4.0)


def test_resistance_factor_and_limit_of_still_air() -> None:
    assert ConstantVapour.from_resistance_factor(135.9).delta == pytest.approx(AIR_PERMEABILITY / 135.9)
    wet = fit_cups(pair(1.6e-10, 1.9e-10), 4.0).permeability(np.array([0.0]), ANY)
    assert wet[0] == AIR_PERMEABILITY


def test_soil_gas_diffusion_dry_and_full() -> None:
    """Dry loam: mu = n^(-4/3) = 3.08; full: no gas path."""
    delta = MillingtonQuirk(0.43).permeability(np.array([1e9, -10.0]), ANY)
    assert AIR_PERMEABILITY / delta[0] == pytest.approx(0.43 ** (-4.0 / 3.0), rel=1e-6)
    assert delta[1] == 0.0


def test_filled_pores_of_en_15026() -> None:
    """Dry: 26.1e-6 / 200 M_w / (R T); half full: times 0.5 / (0.503 / 4 + 0.497)."""
    material = reference.en15026()
    half = (2.0 ** (1.0 / 0.375) - 1.0) ** (1.0 / 1.6) / 8e-8
    dry = 0.01801528 / (8.314462618 * 293.15) * 26.1e-6 / 200.0
    delta = float(material.vapour_permeability(np.array([half]))[0])
    assert delta == pytest.approx(dry * 0.5 / (0.503 / 4.0 + 0.497), rel=1e-4)


def test_table_meets_its_points_and_is_constant_beyond() -> None:
    table = TabulatedVapour((0.25, 0.5, 0.75, 0.95), (1.26e-12, 1.4e-12, 2.5e-12, 6.3e-12))
    delta = table.permeability(suction_from_humidity([0.1, 0.25, 0.75, 0.95, 0.99]), ANY)
    np.testing.assert_allclose(delta, [1.26e-12, 1.26e-12, 2.5e-12, 6.3e-12, 6.3e-12], rtol=1e-9)
