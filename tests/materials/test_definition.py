"""Materials written inline: closed forms, points, changes of a catalogue entry, and every error."""

from typing import Any

import numpy as np
import pytest
from scipy.integrate import trapezoid

from stemwall.materials import MaterialError, catalogue, check, material_from_mapping
from stemwall.materials.water import AIR_PERMEABILITY, suction_from_humidity

BOARD: dict[str, Any] = {
    "name": "Test board",
    "density": 600.0,
    "specific_heat": 1300,
    "porosity": 0.6,
    "storage": {
        "kind": "sorption",
        "humidity": [0.5, 0.8, 0.95],
        "water": [40.0, 70.0, 110.0],
        "saturation": 400.0,
    },
    "liquid": {"kind": "absorption", "coefficient": 0.002},
    "vapour": {"kind": "cups", "mu_dry": 200.0, "mu_wet": 60.0},
    "conductivity": {"kind": "linear", "dry": 0.11, "per_water": 5e-4, "slope": 2e-4, "mean": 10.0},
}


def problems(mapping: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(MaterialError) as caught:
        material_from_mapping("board", mapping)
    return {problem.place: problem.expected for problem in caught.value.problems}


def test_complete_material() -> None:
    board = material_from_mapping("board", BOARD)
    assert (board.id, board.name, board.heat_capacity) == ("board", "Test board", 600.0 * 1300.0)
    assert float(board.water_content(suction_from_humidity(0.8))) == pytest.approx(70.0, abs=1e-3)
    assert float(board.thermal_conductivity(100.0, 20.0)) == pytest.approx(0.16 * (1.0 + 2e-3 / 0.11))
    assert board.has_liquid


def test_total_flow_through_both_cups_is_what_was_measured() -> None:
    """Vapour plus liquid through 0-50 and 50-93 % RH: nothing is counted twice, nothing lost."""
    board = material_from_mapping("board", BOARD)
    for low, high, mu in [(1e-6, 0.50, 200.0), (0.50, 0.93, 60.0)]:
        phi = np.linspace(low, high, 200001)
        p_c = suction_from_humidity(phi)
        liquid = -trapezoid(board.liquid_conductivity(p_c), p_c) / (2336.951 * (high - low))
        vapour = trapezoid(board.vapour_permeability(p_c), phi) / (high - low)
        assert vapour + liquid == pytest.approx(AIR_PERMEABILITY / mu, rel=2e-3)


@pytest.mark.parametrize(
    ("storage", "at_80"),
    [
        ({"kind": "hyperbola", "water_80": 70.0, "saturation": 400.0}, 70.0),
        ({"kind": "power-hyperbola", "water_50": 40.0, "water_80": 70.0, "saturation": 400.0}, 70.0),
        ({"kind": "wood", "saturation": 400.0}, 600.0 * 0.1604),
        ({"kind": "table", "suction": [0.0, 1e6, 3.0189e7, 1e9], "water": [400.0, 200.0, 70.0, 1.0]}, 70.0),
        ({"kind": "multimodal", "saturation": 146.0, "modes": [{"weight": 1.0, "alpha": 8e-8, "n": 1.6}],
          "junction": None}, 79.3),
        ({"kind": "open-pores", "humidity": [0.5, 0.8], "water": [40, 70], "saturation": 500}, 70.0),
    ],
)  # fmt: skip
def test_every_kind_of_storage(storage: dict[str, Any], at_80: float) -> None:
    board = material_from_mapping("board", {**BOARD, "storage": storage})
    assert float(board.water_content(suction_from_humidity(0.8))) == pytest.approx(at_80, rel=1e-3)


SOIL = {"kind": "van-genuchten", "theta_r": 0.078, "theta_s": 0.43, "alpha": 3.6, "n": 1.56}


@pytest.mark.parametrize(
    ("liquid", "at_saturation"),
    [
        ({"kind": "mualem", "saturated": 2.9e-6}, 2.9e-6 / 9.81),
        ({"kind": "exponential", "saturated": 1e-6, "alpha": 2.0}, 1e-6 / 9.81),
        ({"kind": "table", "suction": [0.0, 1e5], "conductivity": [1e-9, 1e-14]}, 1e-9),
        ({"kind": "polynomial", "coefficients": [-20.0]}, np.exp(-20.0)),
        ({"kind": "none"}, 0.0),
    ],
)
def test_every_kind_of_liquid(liquid: dict[str, Any], at_saturation: float) -> None:
    soil = {**BOARD, "storage": SOIL, "liquid": liquid, "vapour": {"kind": "millington-quirk"}}
    material = material_from_mapping("soil", soil)
    assert float(material.liquid_conductivity(0.0)) == pytest.approx(at_saturation, rel=1e-6)


def test_changes_of_a_catalogue_material() -> None:
    base = catalogue().material("xps_25")
    board = material_from_mapping("new", {"base": "xps_25", "density": 40.0, "vapour": {"mu": 200.0}})
    assert (board.density, board.specific_heat) == (40.0, base.specific_heat)
    assert float(board.vapour_permeability(0.0)) == pytest.approx(AIR_PERMEABILITY / 200.0)
    assert board.provenance["vapour"].confidence == "unsourced"
    assert board.provenance["storage"] == base.provenance["storage"]


def test_all_errors_come_at_once_with_their_place() -> None:
    wrong = {
        **BOARD,
        "density": -5.0,
        "colour": "red",
        "vapour": {"kind": "cups", "mu_dry": 20.0, "mu_wet": 60.0},
        "storage": {"kind": "sorptoin"},
        "conductivity": {"kind": "soil", "chi": 0.75, "eta": 1.2},
    }
    del wrong["specific_heat"]
    found = problems(wrong)
    assert found["board.density.value"] == "a dry density between 0.5 and 25,000 kg/m^3"
    assert found["board.specific_heat"] == "a value (the entry is required)"
    assert found["board.colour"] == "a known entry of this table"
    assert "mu_wet not above mu_dry = 20.0" in found["board.vapour.cups"]
    assert "'sorption'" in found["board.storage"]
    assert "board.conductivity.soil.kappa" in found


def test_inconsistent_parts_come_at_once() -> None:
    found = problems(
        {
            **BOARD,
            "liquid": {"kind": "mualem", "saturated": 1e-6},
            "vapour": {"kind": "cups", "mu_dry": 2000.0, "mu_wet": 20.0},
        }
    )
    assert "van-genuchten storage" in found["board.liquid"]
    assert "must be from 1 to below 24.7" in found["board.vapour"]


def test_falling_sorption_points_are_refused() -> None:
    storage = {**BOARD["storage"], "water": [40.0, 30.0, 110.0]}
    assert "increase strictly towards saturation" in problems({**BOARD, "storage": storage})["board.storage"]


def test_unknown_base_names_the_nearest() -> None:
    assert "concrete_wc050" in problems({"base": "concrete_wc05"})["board.base"]


def test_more_water_than_pores_is_refused() -> None:
    assert problems({**BOARD, "porosity": 0.3})["board.storage"] == "at most porosity x 1000 = 301.5 kg/m3"


def test_alpha_in_the_wrong_unit_is_refused() -> None:
    sand = {
        **BOARD,
        "hatch": "sand",
        "storage": {**SOIL, "alpha": 0.145, "n": 2.68},
        "liquid": {"kind": "none"},
    }
    assert problems(sand)["board.storage.alpha"] == "1/m, not 1/cm"


def test_doubtful_values_are_asked_about() -> None:
    found = {f.rule for f in check(material_from_mapping("board", {**BOARD, "hatch": "wood", "specific_heat": 2500.0}))}
    assert {"specific heat", "unsourced", "liquid in the wet cup"} <= found
