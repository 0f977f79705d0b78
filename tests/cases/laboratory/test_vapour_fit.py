"""Cups in all their forms come to one resistance; air layers are taken off; none falls with humidity."""

from typing import Any

import numpy as np
import pytest

from stemwall.cases.laboratory.sheet import CupTest
from stemwall.cases.laboratory.vapour_fit import CupResult, cup_result, fit_vapour
from stemwall.materials.vapour import power_mean
from stemwall.materials.water import AIR_PERMEABILITY, saturation_pressure, still_air_permeability

RNG = np.random.default_rng(2)
AIR = float(still_air_permeability(23.0))
#: of 20 mm with mu 10 at 23 degC
PERMEANCE = AIR / 0.2
FLOW = PERMEANCE * 0.5 * float(saturation_pressure(23.0))


@pytest.mark.parametrize(
    "form",
    [
        {"mu": 10.0}, {"sd": 0.2}, {"permeance": PERMEANCE}, {"permeability": AIR / 10.0}, {"flow": FLOW},
        {"mass": [[0.2, 0.2 - 36.0 * FLOW, 0.2 - 72.0 * FLOW]], "time": [0, 3600, 7200], "area": 0.01},
    ],
)  # fmt: skip
def test_all_forms_say_the_same(form: dict[str, Any]) -> None:
    cup = CupTest.model_validate({"from": 0.0, "to": 0.5, "thickness": 0.02, **form})
    found = cup_result(cup)
    assert found.mu == pytest.approx((10.0,), rel=1e-9)
    assert found.sd == pytest.approx((0.2,), rel=1e-9)


def test_air_layers_are_taken_off() -> None:
    cup = CupTest.model_validate(
        {"from": 0.0, "to": 0.5, "thickness": 0.02, "sd": 0.22, "air_layer": 0.015, "outer_film": 0.005}
    )
    assert cup_result(cup).mu == pytest.approx((10.0,))
    with pytest.raises(ValueError, match="resists more than its air layers"):
        cup_result(cup.model_copy(update={"sd": (0.01,)}))


def test_two_cups_give_the_law_back() -> None:
    base, rise = 1e-11, 2e-11
    cups = [
        CupResult(low, high, 23.0, None, (AIR_PERMEABILITY / (base + rise * power_mean(4.0, low, high)),), 0.0)
        for low, high in ((0.5, 0.93), (0.0, 0.5))
    ]
    law = fit_vapour(cups, 0.05, RNG, 50).law()
    assert (law.base, law.rise) == pytest.approx((base, rise), rel=1e-6)  # type: ignore[union-attr]


def test_cups_that_fall_are_taken_for_equal() -> None:
    cups = [CupResult(0.0, 0.5, 23.0, None, (9.0,), 0.0), CupResult(0.5, 0.93, 23.0, None, (11.0,), 0.0)]
    fit = fit_vapour(cups, 0.05, RNG, 50)
    assert fit.falls
    assert fit.best[0] == pytest.approx(fit.best[1])
    assert np.all(np.diff(fit.draws, axis=1) >= -1e-25)


def test_a_membrane_may_open_as_it_likes() -> None:
    cups = [CupResult(0.0, 0.5, 23.0, (20.0,), None, 0.0), CupResult(0.5, 0.93, 23.0, (0.2,), None, 0.0)]
    fit = fit_vapour(cups, 0.05, RNG, 50, porous=False)
    assert AIR_PERMEABILITY / fit.best == pytest.approx([20.0, 0.2])
