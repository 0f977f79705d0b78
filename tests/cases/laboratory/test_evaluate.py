"""A sheet's values come back from the material made of it, and what no test said is named."""

from pathlib import Path

import numpy as np
import pytest

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.evaluate import evaluate, evaluate_sheet
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.read_sheet import parse_sheet
from stemwall.cases.laboratory.starter_sheet import starter_sheet
from stemwall.materials.material import MembraneProduct
from stemwall.materials.water import suction_from_humidity


def test_measured_contents_come_back_within_their_scatter(brick: Evaluation) -> None:
    fit = brick.storage
    assert fit is not None
    content = brick.material.water_content(fit.points.suction)
    assert np.all(np.abs(content / fit.points.water - 1.0) < 3.0 * fit.scatter.deviation)
    water = brick.material.water_content(suction_from_humidity(np.array([0.80])))
    assert 9.0 < float(water[0]) < 12.0


def test_every_tested_property_is_measured_and_no_other(brick: Evaluation) -> None:
    confidence = {name: origin.confidence for name, origin in brick.material.provenance.items()}
    estimated = {name for name, trust in confidence.items() if trust == "estimate"}
    assert estimated == {"specific_heat", "specific_heat.value", "vapour.power"}
    assert {confidence[name] for name in set(confidence) - estimated} == {"measured"}
    assert any(one.what == "specific heat" for one in brick.assumed)


def test_hysteresis_is_said(brick: Evaluation) -> None:
    assert any("Desorption holds" in remark for remark in brick.remarks)


def test_the_spread_has_twenty_sets_in_rising_order(brick: Evaluation) -> None:
    coefficients = [one["liquid"]["coefficient"] for one in brick.spread]
    assert len(coefficients) == 20
    assert coefficients == sorted(coefficients)
    assert brick.ordered_by == "water absorption coefficient"


def test_a_soil_keeps_its_retention(soil: Evaluation) -> None:
    assert soil.soil is not None
    assert soil.material.storage.saturation == pytest.approx(431.7, rel=2e-2)
    assert soil.heat is not None
    assert all(soil.heat.fitted)
    assert any(one.value == "that of soil_loam" for one in soil.assumed)


def test_a_membrane_has_its_cups(membrane: Evaluation) -> None:
    product = membrane.product
    assert isinstance(product, MembraneProduct)
    assert product.sd_dry == pytest.approx(4.77, rel=5e-3)
    assert product.sd_wet == pytest.approx(0.828, rel=5e-3)
    assert product.provenance["sd"].confidence == "measured"
    with pytest.raises(TypeError):
        _ = membrane.material


def test_what_is_not_tested_is_that_of_another_material() -> None:
    text = '[sheet]\nid = "b"\nname = "B"\nlike = "brick_1700"\ndraws = 100\n[density]\nvalue = 1650\n'
    found = evaluate_sheet(parse_sheet(text, Path("b.toml")))
    taken = {one.what for one in found.assumed if one.value == "that of brick_1700"}
    assert {"storage", "vapour", "liquid", "conductivity", "specific heat"} <= taken
    assert found.material.density == 1650.0


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("value = [15.1, 15.6, 14.9]", "value = [5.1, 5.6, 4.9]", "a content at zero suction above all others"),
        ('outer_film = "5 mm"', 'outer_film = "400 mm"', "resists more than its air layers"),
        ('hatch = "masonry"', 'like = "brick_170"', "did you mean 'brick_1700'"),
        ('thickness = "20 mm"\nunits = { permeability', "units = { permeability", None),
        ('thickness = "20 mm"\nair_layer', "air_layer", "a thickness"),
        ("[1731, 1745.2", "[2731, 1745.2", "a mass that rises"),
        ("humidity = [33, 53", "humidity = [1e-9, 53", "start at 0 and increase"),
        ("suction = [0.1, 0.3", "suction = [0, 0.3", None),
    ],
)
def test_what_cannot_be_used_is_named(old: str, new: str, expected: str | None, tmp_path: Path) -> None:
    text = starter_sheet("sheet")
    assert old in text
    path = tmp_path / "b.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    if expected is None:
        assert evaluate(path).vapour is not None
        return
    with pytest.raises(CaseError, match=expected):
        evaluate(path)


def test_a_soil_without_retention_takes_that_of_another() -> None:
    text = starter_sheet("soil-sheet").replace('name = "', 'draws = 100\nname = "', 1)
    parts = [part for part in text.split("\n[") if not part.startswith("[retention")]
    found = evaluate_sheet(parse_sheet("\n[".join(parts), Path("s.toml")))
    assert any(one.what == "storage" and one.value == "that of soil_loam" for one in found.assumed)
