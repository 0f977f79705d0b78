"""The numbers of a case: they add up, follow the standard where it speaks, and refuse what has no building."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from stemwall.cases.case_file.case import DETAILS
from stemwall.cases.cli import commands
from stemwall.cases.setup.build import build
from stemwall.cases.steady.numbers import steady
from stemwall.cases.steady.results import Steady
from tests.cases.samples import changed, read

runner = CliRunner()
COARSE = '[mesh]\nfinest = "40 mm"\n'


def case_of(kind: str, more: str = "") -> Steady:
    return steady(read(f'{COARSE}[detail]\nkind = "{kind}"\n{more}').base, freezing_index=500.0)


@pytest.mark.parametrize("kind", DETAILS)
def test_a_detail_has_numbers_of_the_size_of_the_standard(kind: str) -> None:
    found = case_of(kind)
    inner, outer = found.linear
    assert inner > outer  # outer dimensions count more of wall and floor
    assert found.perimeter == pytest.approx(found.coupling - found.wall * found.heights[0])
    assert abs(found.perimeter / found.floor.stationary - 1.0) < 0.35
    assert found.year.months.sum() == pytest.approx(found.year.at_rest, rel=0.02)
    assert found.year.at_rest / found.year.standard_at_rest == pytest.approx(
        found.perimeter / found.floor.stationary, rel=1e-6
    )
    assert all(0.0 < factor < 1.0 for factor, *_ in found.surface.values())
    assert all(0.0 < factor < 1.0 for factor in found.factor.values())
    assert (found.below_grade is None) == (kind == "slab on grade")
    assert "W/(m K)" in repr(found)


def test_more_insulation_less_heat_and_warmer_surfaces() -> None:
    bare = case_of("basement", 'insulation = { placement = "none" }\n')
    better = case_of("basement", 'insulation = { placement = "outside" }\n')
    assert better.coupling < 0.8 * bare.coupling
    assert better.surface["basement"][0] > bare.surface["basement"][0]
    assert better.below_grade is not None
    assert bare.below_grade is not None
    assert better.below_grade < bare.below_grade


def test_frost_is_deeper_in_colder_winters_and_goes_to_the_footing_last() -> None:
    case = read(f'{COARSE}[detail]\nkind = "slab on grade"\n').base
    depths = [steady(case, freezing_index=index).frost.depth for index in (0.0, 200.0, 1000.0)]
    assert depths[0] == 0.0
    assert 0.0 < depths[1] < depths[2] < 3.0
    named = steady(case, freezing_index=1000.0).frost.places
    lowest = {place.name: place.lowest for place in named}
    assert lowest["under footing, outer"] < lowest["under footing, inner"]


def test_soil_that_conducts_better_loses_more() -> None:
    case = read(f'{COARSE}[detail]\nkind = "slab on grade"\n').base
    assert steady(case, ground=3.0).coupling > steady(case, ground=1.0).coupling
    assert steady(case, ground=3.0).floor.conductivity == 3.0


def test_a_space_without_heat_lies_between_and_more_air_draws_it_outwards() -> None:
    still = case_of("vented crawlspace", "[zone.crawlspace]\noutdoor_leakage = 0.01\n[indoor.house]\n"
                    'temperature = 20\nhumidity = "40 %"\n')  # fmt: skip
    windy = case_of("vented crawlspace")
    assert 0.0 < windy.factor["crawlspace"] < still.factor["crawlspace"] < 1.0
    assert windy.coupling > still.coupling


def test_a_free_section_has_them_too() -> None:
    found = steady(read(changed("years = 0.01", "years = 1") + COARSE).base)
    assert found.heated == ("room",)
    assert found.floor.kind == "slab on ground"
    assert found.coupling > 0.0
    assert np.isfinite(found.linear).all()


def test_a_section_without_a_building_is_refused() -> None:
    one = read(changed('climate = "room"', 'climate = "outdoors"')).base
    with pytest.raises(ValueError, match="given indoor air"):
        steady(one)
    assert replace(build(one)).case is one


def test_the_command_prints_and_keeps_them(tmp_path: Path) -> None:
    path = tmp_path / "slab.toml"
    path.write_text(f'{COARSE}[detail]\nkind = "slab on grade"\n')
    result = runner.invoke(commands.app, ["steady", str(path), "--out", str(tmp_path / "s.json"), "--winter", "50"],
                           env={"COLUMNS": "200"})  # fmt: skip
    assert result.exit_code == 0, result.output
    told = " ".join(result.output.split())
    for part in ("perimeter heat loss factor", "linear transmittance", "ISO 13370", "no 50-year winter"):
        assert part in told
    kept = json.loads((tmp_path / "s.json").read_text())
    assert kept["linear_transmittance_inner_dimensions"] > kept["linear_transmittance_outer_dimensions"]
    assert len(kept["year"]["months"]) == 12
    path.write_text(changed('climate = "room"', 'climate = "outdoors"'))
    refused = runner.invoke(commands.app, ["steady", str(path)])
    assert refused.exit_code == 2
    assert "given indoor air" in " ".join(refused.output.split())
