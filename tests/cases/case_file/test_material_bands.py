"""Draws from the bands of materials, by the path of a number."""

from pathlib import Path

import pytest

from stemwall.cases.case_file.material_bands import NoBandError, material_band
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import draw_section
from stemwall.cases.setup.material_library import take_stock
from stemwall.materials.catalogue import catalogue
from tests.cases.samples import WALL

SAMPLE = """
[sample]
count = 8

[sample.change]
"""


def test_the_band_of_a_catalogue_material_is_drawn_from_without_a_table_of_its_own() -> None:
    text = WALL + SAMPLE + '"material.concrete_wc050.liquid.coefficient" = { kind = "band" }\n'
    drawn = [
        case._change["material.concrete_wc050.liquid.coefficient"] for case in parse_case(text, Path("a")).cases[1:]
    ]
    assert len(drawn) == 8
    assert min(drawn) >= 0.015
    assert max(drawn) <= 0.03
    assert max(drawn) - min(drawn) > 0.01


def test_a_draw_changes_the_material_that_is_built() -> None:
    path = "material.concrete_wc050.vapour.scale"
    base, *drawn = parse_case(
        WALL + SAMPLE + f'"{path}" = {{ kind = "band", shape = "triangular" }}\n', Path("a")
    ).cases
    plain = draw_section(base)[1]["concrete_wc050"].vapour_permeability(1e7)
    for case in drawn:
        moved = draw_section(case)[1]["concrete_wc050"].vapour_permeability(1e7)
        assert moved == pytest.approx(plain / case._change[path], rel=0.2)
        assert moved != plain


def test_a_number_written_in_the_case_has_the_band_that_stands_beside_it() -> None:
    own = {"mine": {"base": "brick_1700", "liquid": {"coefficient": {"value": 0.2, "low": 0.1, "high": 0.4}}}}
    assert material_band("material.mine.liquid.coefficient", own) == (0.1, 0.2, 0.4)
    assert material_band("material.mine.conductivity.dry", own)[1] == 0.68


def test_the_band_of_a_membrane() -> None:
    assert material_band("material.pe_015.sd.dry", {}) == (50.0, 57.0, 75.0)
    low, value, high = material_band("material.pe_015.sd.scale", {})
    assert (low * 57, value, high * 57) == (pytest.approx(50.0, rel=1e-3), 1.0, pytest.approx(75.0, rel=1e-3))


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("detail.sill.width", "material.ID"),
        ("material.concrete_wc050", "material.ID"),
        ("material.concrete_wc05.density", "sound numbers"),
        ("material.concrete_wc050.porosity", "liquid.coefficient"),
        ("material.concrete_wc050.conductivity.water", "conductivity.scale"),
    ],
)
def test_no_band_at_such_a_path(path: str, words: str) -> None:
    with pytest.raises(NoBandError, match=words):
        material_band(path, {})


def test_a_material_from_a_file_has_ranks_instead() -> None:
    with pytest.raises(NoBandError, match="rank"):
        material_band("material.mine.density", {"mine": {"file": "mine.toml"}})


def test_a_problem_stands_at_its_line_beside_all_others() -> None:
    text = WALL + SAMPLE + '"material.brick.density" = { kind = "band" }\n"run.years" = { kind = "band" }\n'
    with pytest.raises(CaseError) as caught:
        parse_case(text, Path("a"))
    found = {problem.path: problem.line for problem in caught.value.problems}
    assert set(found) == {"sample: material.brick.density", "sample: run.years"}
    assert all(found.values())


def test_numbers_of_a_catalogue_membrane_are_changed_under_its_own_id() -> None:
    problems: list[tuple[str, ...]] = []
    stock = take_stock({"pe_015": {"sd": {"dry": 60.0}}}, lambda *p: problems.append(p), lambda *p: problems.append(p))
    assert (stock.membranes["pe_015"].sd_dry, stock.membranes["pe_015"].sd_wet) == (60.0, 57.0)
    assert problems == []
    assert catalogue().membrane("pe_015").sd_dry == 57.0
