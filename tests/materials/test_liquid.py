"""Liquid conductivity: closed values, absorption and the single count of the wet cup."""

import numpy as np
import pytest

from stemwall.materials import reference
from stemwall.materials.liquid import (
    FunctionLiquid,
    Gardner,
    LongTerm,
    Mualem,
    TabulatedLiquid,
    absorption_coefficient,
    as_vapour,
    cup_share,
    fit_absorption,
    soil_conductivity,
)
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.storage import LinearIsotherm, Storage, sorption_curve, wood_curve
from stemwall.materials.water import (
    AIR_PERMEABILITY,
    GRAVITY,
    FloatArray,
    humidity_from_suction,
    suction_from_humidity,
)

HUMIDITY = [0.2, 0.4, 0.5, 0.6, 0.8, 0.9, 0.95, 0.98]
CONCRETE = Storage(sorption_curve(HUMIDITY, [18.0, 25.0, 30.0, 37.0, 59.0, 76.0, 87.0, 94.0], 110.0))
BRICK = Storage(sorption_curve(HUMIDITY, [3.5, 6.0, 7.0, 8.0, 12.0, 15.0, 18.0, 25.0], 220.0))
WOOD = Storage(wood_curve(430.0, 500.0))


def excess(mu_dry: float, mu_wet: float) -> float:
    return AIR_PERMEABILITY * (1.0 / mu_wet - 1.0 / mu_dry)


def test_mualem_against_the_formula_written_out() -> None:
    """New Mexico soil at 75 cm suction, alpha 0.0335 1/cm, n 2: K by hand."""
    model = soil_conductivity(9.22e-5, 3.35, 2.0, 0.0)
    s = (1.0 + (0.0335 * 75.0) ** 2) ** -0.5
    by_hand = 9.22e-5 * s**0.5 * (1.0 - (1.0 - s**2) ** 0.5) ** 2
    storage = Storage(VanGenuchten.soil(0.102, 0.368, 3.35, 2.0))
    k = model.conductivity(np.array([0.75 * 9810.0, 0.0, -1e4]), storage) * GRAVITY
    np.testing.assert_allclose(k, [by_hand, 9.22e-5, 9.22e-5], rtol=1e-6)


def test_air_entry_keeps_clay_permeable_near_saturation() -> None:
    storage = Storage(VanGenuchten.soil(0.068, 0.38, 0.8, 1.09))
    suction = np.array([100.0, 1000.0])
    plain = Mualem(5.56e-7, 0.8 / 9810.0, 1.09).conductivity(suction, storage)
    fixed = Mualem(5.56e-7, 0.8 / 9810.0, 1.09, 0.02 * 9810.0).conductivity(suction, storage)
    assert fixed[0] == pytest.approx(5.56e-7 / GRAVITY)
    assert plain[0] < 0.2 * fixed[0]
    assert plain[1] < 0.5 * fixed[1]


def test_polynomial_of_en_15026_at_its_centre() -> None:
    """w = 73 kg/m3 where 1 + (8e-8 p_c)^1.6 = 2^(1/0.375)."""
    suction = (2.0 ** (1.0 / 0.375) - 1.0) ** (1.0 / 1.6) / 8e-8
    k = reference.en15026().liquid_conductivity(np.array([suction]))
    assert float(k[0]) == pytest.approx(np.exp(-39.2619), rel=1e-6)


def test_constant_diffusivity_times_capacity() -> None:
    material = reference.hamstad2()
    suction = np.array([1e6, 1e7, 1e8])
    ratio = material.liquid_conductivity(suction) / material.storage.curve.capacity(suction)
    np.testing.assert_allclose(ratio, 6e-10, rtol=1e-12)


def test_exponential_soil() -> None:
    model = Gardner(1e-6, 2.0 / 9810.0)
    k = model.conductivity(np.array([-1e3, 0.0, 9810.0]), CONCRETE) * GRAVITY
    np.testing.assert_allclose(k, [1e-6, 1e-6, 1e-6 * np.exp(-2.0)], rtol=1e-12)


def test_absorption_of_an_exponential_diffusivity() -> None:
    """D = 1e-9 exp(7.5 theta_r), theta_s 0.25: A = 0.167492 by an independent boundary-value solution."""
    storage = Storage(LinearIsotherm(250.0))

    def conductivity(suction: FloatArray) -> FloatArray:
        return 1e-9 * np.exp(7.5 * humidity_from_suction(suction)) * storage.curve.capacity(suction)

    assert absorption_coefficient(FunctionLiquid(conductivity), storage) == pytest.approx(0.167492, rel=3e-3)


def test_unfaded_law_has_the_known_factor() -> None:
    """D_f = 3.734 (A / w_f)^2 for D = D_f 1000^(w/w_f - 1), by an independent uptake solution."""
    law = fit_absorption(WOOD, 0.004, excess(130.0, 30.0), 0.93)
    assert law.diffusivity / (0.004 / 500.0) ** 2 == pytest.approx(3.734, rel=3e-3)


@pytest.mark.parametrize(
    ("storage", "coefficient", "mu_dry", "mu_wet"),
    [(CONCRETE, 0.02, 160.0, 27.0), (BRICK, 0.37, 16.0, 10.0), (WOOD, 0.004, 130.0, 30.0)],
)
def test_fit_returns_absorption_and_does_not_exceed_the_wettest_cup(
    storage: Storage, coefficient: float, mu_dry: float, mu_wet: float
) -> None:
    law = fit_absorption(storage, coefficient, excess(mu_dry, mu_wet), 0.95)
    assert absorption_coefficient(law, storage) == pytest.approx(coefficient, rel=1e-3)
    assert as_vapour(law, storage, np.array([0.95]), 20.0)[0] <= excess(mu_dry, mu_wet) * 1.005


def test_concrete_gives_the_wettest_cup_rise_to_liquid_there_and_little_to_drier_cups() -> None:
    law = fit_absorption(CONCRETE, 0.02, excess(160.0, 27.0), 0.95)
    assert as_vapour(law, CONCRETE, np.array([0.95]), 20.0)[0] == pytest.approx(excess(160.0, 27.0), rel=5e-3)
    assert cup_share(law, CONCRETE, 0.7, 0.8, 20.0) < 0.05 * AIR_PERMEABILITY / 84.0


def test_liquid_through_a_cup_is_its_flow_potential() -> None:
    """Integral of K over suction between both sides, referred to their difference in vapour pressure."""
    law, (dry, wet) = LongTerm(3e-13, 3e4), suction_from_humidity(np.array([0.5, 0.93]))
    flow = 3e-13 / GRAVITY * 3e4 * (np.arctan(dry / 3e4) - np.arctan(wet / 3e4))
    share = cup_share(law, CONCRETE, 0.5, 0.93, 20.0)
    assert share == pytest.approx(flow / (2336.951 * 0.43), rel=1e-3)


def test_long_term_law_is_darcy_at_saturation_and_halved_at_its_entry() -> None:
    k = LongTerm(3e-13, 3e4).conductivity(np.array([-5e5, 0.0, 3e4, 3e6]), CONCRETE) * GRAVITY
    np.testing.assert_allclose(k, [3e-13, 3e-13, 1.5e-13, 3e-17], rtol=1e-3)


@pytest.mark.parametrize("storage", [CONCRETE, BRICK, WOOD])
def test_capillary_law_never_rises_with_suction(storage: Storage) -> None:
    law = fit_absorption(storage, 0.02, 1e-12, 0.93)
    k = law.conductivity(np.concatenate([[-1e4, 0.0], np.geomspace(0.2, 9e8, 500)]), storage)
    assert np.all(np.diff(k) <= 1e-12 * k[:-1])


def test_table_meets_its_points() -> None:
    table = TabulatedLiquid((1e2, 1e4, 1e6), (1e-9, 1e-11, 1e-15))
    k = table.conductivity(np.array([0.0, 1e4, 1e6, 2e6]), CONCRETE)
    np.testing.assert_allclose(k, [1e-9, 1e-11, 1e-15, 1e-15 / 8.0], rtol=1e-9)
