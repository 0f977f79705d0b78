"""Vapour permeability: cups as integral means, soils, filled pores."""

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import reference
from stemwall.materials.retention import VanGenuchten
from stemwall.materials.storage import Storage
from stemwall.materials.vapour import ConstantVapour, MillingtonQuirk, TabulatedVapour, fit_cups
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

ANY = Storage(VanGenuchten.soil(0.078, 0.43, 3.6, 1.56))


@pytest.mark.parametrize("power", [1.5, 4.0, 5.0])
def test_cups_are_met_as_integral_means(power: float) -> None:
    model = fit_cups(1.5e-12, 6.6e-12, power)
    for low, high, mean in [(1e-9, 0.5, 1.5e-12), (0.5, 0.95, 6.6e-12)]:
        phi = np.linspace(low, high, 20001)
        delta = model.permeability(suction_from_humidity(phi), ANY)
        # suction stops at 1 GPa, which moves the dry end by 1e-4
        assert trapezoid(delta, phi) / (high - low) == pytest.approx(mean, rel=1e-5)


def test_cups_that_the_power_cannot_reach_are_refused() -> None:
    with pytest.raises(ValueError, match=r"wet/dry = 40 must be from 1 to below 26\.4"):
        fit_cups(1e-12, 4e-11, 4.0)


def test_resistance_factor_and_limit_of_still_air() -> None:
    assert ConstantVapour.from_resistance_factor(135.9).delta == pytest.approx(AIR_PERMEABILITY / 135.9)
    wet = fit_cups(1.6e-10, 1.9e-10, 4.0).permeability(np.array([0.0]), ANY)
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
