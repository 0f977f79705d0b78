"""A material file is read back as it was meant, and runs in cases: as a material, a membrane, a spread."""

import tomllib
from pathlib import Path

import pytest

from stemwall.cases.case_file.read import load_case
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.material_file import material_file, written
from stemwall.cases.setup.build import draw_section

CASE = """
[detail]
kind = "basement"
wall = {{ material = "brick_example", damp_proofing = "membrane_example" }}
[site]
soil = "soil_example"
[material.brick_example]
file = "brick.toml"
[material.membrane_example]
file = "membrane.toml"
[material.soil_example]
file = "soil.toml"
[sample]
count = 3
change."material.brick_example.rank" = {{ kind = "uniform", low = 0, high = 1 }}
change."material.soil_example.rank" = {{ kind = "uniform", low = 0, high = 1 }}
{more}
"""


@pytest.mark.parametrize("name", ["brick", "soil", "membrane"])
def test_a_file_says_what_was_fitted(name: str, request: pytest.FixtureRequest) -> None:
    evaluation: Evaluation = request.getfixturevalue(name)
    text = material_file(evaluation, "own.toml")
    table = tomllib.loads(text)["material"][evaluation.sheet.about.id]
    spread = table.pop("spread")
    assert len(spread) == len(evaluation.spread) == 20
    table.pop("note", None)
    for key, value in evaluation.table.items():
        assert table[key] == pytest.approx(value) if isinstance(value, float) else table[key] == value
    assert all(str(one) in text.replace("\n# ", " ") for one in evaluation.assumed)


def test_all_three_stand_in_a_case(brick: Evaluation, soil: Evaluation, membrane: Evaluation, tmp_path: Path) -> None:
    for evaluation, name in ((brick, "brick.toml"), (soil, "soil.toml"), (membrane, "membrane.toml")):
        (tmp_path / name).write_text(material_file(evaluation, name), encoding="utf-8")
    (tmp_path / "case.toml").write_text(CASE.format(more=""), encoding="utf-8")
    cases = load_case(tmp_path / "case.toml").variants()
    drawn = [draw_section(case) for case in cases]
    section, materials = drawn[0]
    assert materials["brick_example"].provenance["vapour"].confidence == "measured"
    assert "soil_example" in materials
    assert any(one.sd_dry == pytest.approx(4.77, rel=5e-3) for one in section.membranes)
    densities = {materials["brick_example"].density for _, materials in drawn}
    assert len(densities) == 4


def test_values_as_toml() -> None:
    value = {"a": [1.0, 2.5e-11], "b": {"c": 'x "y" ü', "d": True}, "e": 3}
    assert tomllib.loads(f"v = {written(value)}")["v"] == value
