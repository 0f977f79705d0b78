"""Liquid and vapour fitted together: both tests come back, and what cannot be is refused."""

import numpy as np
import pytest

from stemwall.materials import MaterialError, catalogue, material_from_mapping
from stemwall.materials.liquid import Absorption, LongTerm
from stemwall.materials.storage import Storage, sorption_curve
from stemwall.materials.transport import fit_uptake, vapour_beside
from stemwall.materials.uptake import uptake_coefficient
from stemwall.materials.vapour import ConstantVapour, Cup, fit_cups
from stemwall.materials.water import AIR_PERMEABILITY

HUMIDITY = [0.2, 0.4, 0.5, 0.6, 0.8, 0.9, 0.95, 0.98]
CONCRETE = Storage(sorption_curve(HUMIDITY, [18.0, 25.0, 30.0, 37.0, 59.0, 76.0, 87.0, 94.0], 110.0))
CUPS = [Cup(0.0, 0.5, AIR_PERMEABILITY / 160.0), Cup(0.5, 0.93, AIR_PERMEABILITY / 70.0)]


@pytest.mark.parametrize("coefficient", [0.003, 0.02, 0.2])
def test_fitted_law_takes_up_what_was_stated(coefficient: float) -> None:
    liquid, vapour = fit_uptake(CONCRETE, coefficient, fit_cups(CUPS, 5.0), CUPS, 5.0)
    assert isinstance(liquid, Absorption)
    assert uptake_coefficient(liquid, vapour, CONCRETE) == pytest.approx(coefficient, rel=1e-3)


def test_vapour_stays_as_it_is_without_cups() -> None:
    delta = ConstantVapour(1e-12)
    liquid, vapour = fit_uptake(CONCRETE, 0.02, delta, [], 1.0)
    assert vapour is delta
    assert uptake_coefficient(liquid, vapour, CONCRETE) == pytest.approx(0.02, rel=1e-3)


def test_less_uptake_than_vapour_brings_is_refused() -> None:
    with pytest.raises(ValueError, match="vapour alone takes up"):
        fit_uptake(CONCRETE, 1e-4, fit_cups(CUPS, 5.0), CUPS, 5.0)


def test_liquid_is_taken_off_the_cups() -> None:
    beside = vapour_beside(LongTerm(1e-11, 1e6), CONCRETE, CUPS, 5.0).permeability(np.array([1e7]), CONCRETE)
    alone = fit_cups(CUPS, 5.0).permeability(np.array([1e7]), CONCRETE)
    assert beside[0] < alone[0]


def test_a_service_is_chosen_without_losing_the_source() -> None:
    base, short = (
        catalogue().material("concrete_wc050"),
        material_from_mapping("fresh", {"base": "concrete_wc050", "liquid": {"service": "short-term"}}),
    )
    assert isinstance(base.liquid, LongTerm)
    assert isinstance(short.liquid, Absorption)
    assert short.provenance["liquid"] == base.provenance["liquid"]
    assert base.provenance["liquid.long_term"].source == "WUCONCRETE"


def test_long_term_service_needs_its_law_and_cups_need_their_numbers() -> None:
    wrong = {
        "base": "brick_1700",
        "liquid": {"service": "long-term"},
        "vapour": {"kind": "cups", "cups": [{"from": 0.5, "to": 0.3, "mu": 5.0}, {"from": 0.0, "to": 0.5}]},
    }
    with pytest.raises(MaterialError) as caught:
        material_from_mapping("brick", wrong)
    found = "\n".join(f"{problem.place}: {problem.expected}" for problem in caught.value.problems)
    assert "a table long_term to go with service = 'long-term'" in found
    assert "from below to = 0.3" in found
    assert "mu, or permeance with thickness" in found


def test_cups_with_permeance_replace_a_pair() -> None:
    board = material_from_mapping(
        "board",
        {
            "base": "plywood_13",
            "vapour": {
                "cups": [
                    {"from": 0.0, "to": 0.5, "permeance": 5.7e-11, "thickness": 0.0127},
                    {"from": 0.5, "to": 0.93, "permeance": 5.7e-10, "thickness": 0.0127, "temperature": 20.0},
                ]
            },
        },
    )
    assert float(board.vapour_permeability(1e9)) < 5.7e-11 * 0.0127 < float(board.vapour_permeability(1e7))
