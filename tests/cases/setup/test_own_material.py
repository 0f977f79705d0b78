"""Materials and membranes that a case brings itself: in its own tables, in a file, at a place in their spread."""

from pathlib import Path

import pytest

from stemwall.cases.case_file.read import load_case
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.setup.build import draw_section
from stemwall.cases.setup.own_material import whole
from stemwall.materials.problems import MaterialError

MATERIAL = """
[material.board_7]
name = "Board 7"
density = { value = 600, source = "sheet 7", confidence = "measured" }
specific_heat = 1500
storage = { kind = "sorption", humidity = [0.5, 0.8], water = [40, 70], saturation = 500 }
vapour = { kind = "constant", mu = 50 }
conductivity = { kind = "linear", dry = 0.13, source = "sheet 7", confidence = "measured" }

[[material.board_7.spread]]
density = { value = 580 }
conductivity = { kind = "linear", dry = 0.12 }

[[material.board_7.spread]]
density = { value = 620 }
conductivity = { kind = "linear", dry = 0.14 }

[material.film_3]
name = "Film 3"
sd = { dry = 12.0, wet = 9.0, source = "sheet 3", confidence = "measured" }
liquid = "break"
"""
CASE = """
[detail]
kind = "conditioned crawlspace"
sill = { material = "board_7", capillary_break = "film_3" }
wall = { damp_proofing = "film_3" }
[material.board_7]
file = "tests.toml"
[material.film_3]
file = "tests.toml"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "tests.toml").write_text(MATERIAL)
    (tmp_path / "case.toml").write_text(CASE)
    return tmp_path


def test_material_and_membrane_of_a_file_are_drawn(folder: Path) -> None:
    section, materials = draw_section(load_case(folder / "case.toml").base)
    assert materials["board_7"].density == 600.0
    assert materials["board_7"].provenance["density"].confidence == "measured"
    own = {one.name for one in section.membranes if one.sd_dry == 12.0}
    assert len(own) >= 1


def test_a_rank_takes_one_set_of_the_spread_with_its_provenance(folder: Path) -> None:
    for rank, density in ((0.0, 580), (0.49, 580), (0.51, 620), (1.0, 620)):
        table = whole("board_7", {"file": "tests.toml", "rank": rank}, folder)
        assert table["density"] == {"value": density, "source": "sheet 7", "confidence": "measured"}
    table = whole("board_7", {"file": "tests.toml", "density": 1.0}, folder)
    assert table["density"] == 1.0
    assert "spread" not in table


def test_a_sample_draws_the_rank(folder: Path) -> None:
    (folder / "case.toml").write_text(
        CASE + '[sample]\ncount = 4\nchange."material.board_7.rank" = { kind = "uniform", low = 0, high = 1 }\n'
    )
    cases = load_case(folder / "case.toml").variants()
    found = [draw_section(case)[1]["board_7"].density for case in cases]
    assert found[0] == 600.0
    assert sorted(found[1:]) == [580.0, 580.0, 620.0, 620.0]


@pytest.mark.parametrize(
    ("table", "place"),
    [
        ({"file": "nothing.toml"}, "board.file"),
        ({"file": 7}, "board.file"),
        ({"file": "tests.toml"}, "board.file"),
        ({"base": "osb_en", "rank": 0.5}, "board.rank"),
        ({"base": "osb_en", "rank": 5, "spread": [{}]}, "board.rank"),
    ],
)
def test_what_cannot_be_taken_is_named(folder: Path, table: dict[str, object], place: str) -> None:
    with pytest.raises(MaterialError) as caught:
        whole("board", table, folder)
    assert [problem.place for problem in caught.value.problems] == [place]


def test_a_wrong_membrane_is_a_problem_of_the_case(folder: Path) -> None:
    (folder / "tests.toml").write_text(MATERIAL.replace("wet = 9.0", "wet = 99.0"))
    with pytest.raises(CaseError) as caught:
        draw_section(load_case(folder / "case.toml").base)
    assert any("material.film_3" in str(one) for one in caught.value.problems)
