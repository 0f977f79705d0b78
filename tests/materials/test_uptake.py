"""Free uptake by its similarity solution, against closed forms and an independent boundary-value solution."""

import numpy as np
import pytest

from stemwall.materials.liquid import ConstantDiffusivity, FunctionLiquid, NoLiquid
from stemwall.materials.storage import LinearIsotherm, Storage
from stemwall.materials.uptake import uptake_coefficient
from stemwall.materials.vapour import ConstantVapour
from stemwall.materials.water import FloatArray, fluidity_ratio, humidity_from_suction, saturation_pressure

LINEAR = Storage(LinearIsotherm(250.0), 1e-15)
DRY = ConstantVapour(0.0)


def test_constant_diffusivity_is_the_error_function() -> None:
    """A = 2 (w_f - w_i) sqrt(D / pi)."""
    exact = 2.0 * 125.0 * np.sqrt(1e-9 / np.pi)
    assert uptake_coefficient(ConstantDiffusivity(1e-9), DRY, LINEAR, 0.5, 20.0) == pytest.approx(exact, rel=2e-3)


def test_vapour_alone_diffuses_down_a_linear_isotherm() -> None:
    """D = delta p_sat / 250."""
    d = 2e-12 * float(saturation_pressure(20.0)) / 250.0
    exact = 2.0 * 125.0 * np.sqrt(d / np.pi)
    assert uptake_coefficient(NoLiquid(), ConstantVapour(2e-12), LINEAR, 0.5, 20.0) == pytest.approx(exact, rel=2e-3)


def test_both_add_up_where_both_are_linear() -> None:
    d = 2e-12 * float(saturation_pressure(20.0)) / 250.0 + 1e-9
    found = uptake_coefficient(ConstantDiffusivity(1e-9), ConstantVapour(2e-12), LINEAR, 0.2, 20.0)
    assert found == pytest.approx(2.0 * 200.0 * np.sqrt(d / np.pi), rel=2e-3)


def test_exponential_diffusivity() -> None:
    """D = 1e-9 exp(7.5 theta_r), theta_s 0.25: A = 0.167492 by an independent boundary-value solution."""

    def conductivity(suction: FloatArray) -> FloatArray:
        return 1e-9 * np.exp(7.5 * humidity_from_suction(suction)) * LINEAR.curve.capacity(suction)

    found = uptake_coefficient(FunctionLiquid(conductivity), DRY, LINEAR, 1e-3, 20.0)
    assert found == pytest.approx(0.167492, rel=1e-3)


def test_liquid_follows_the_viscosity_of_water() -> None:
    """The isotherm is that of 20 degC, so 50 % RH at 23 degC starts it from 0.5^(296.15 / 293.15)."""
    warm, cool = (uptake_coefficient(ConstantDiffusivity(1e-9), DRY, LINEAR, 0.5, t) for t in (23.0, 20.0))
    fillable = (1.0 - 0.5 ** (296.15 / 293.15)) / 0.5
    assert warm / cool == pytest.approx(fillable * np.sqrt(float(fluidity_ratio(23.0))), rel=5e-4)
