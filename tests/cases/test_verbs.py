"""The verbs of a notebook: loaded, changed, built, run once, assessed, compared, asked why; short when printed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.cases import verbs as sw
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.starter_sheet import starter_sheet
from stemwall.cases.setup.build import draw_section
from tests.cases.samples import changed

TEXT = (
    changed("years = 0.01", "years = 0.0006\nstart = 2001-12-03")
    + '[mesh]\nfinest = "60 mm"\ncoarsest = "2 m"\n[[variant]]\nname = "damp"\n'
    'change = { "indoor.room.humidity" = "70 %" }\n'
)


@pytest.fixture
def model(tmp_path: Path) -> sw.Model:
    path = tmp_path / "wall.toml"
    path.write_text(TEXT)
    return sw.load(path)


def test_a_model_is_loaded_changed_and_told_in_a_line(model: sw.Model) -> None:
    assert model.variants == ("base", "damp")
    assert repr(model) == "<model 'A wall on soil', base: free section, 0.0006 years>"
    warm = sw.change(model, {"indoor.room.temperature": "25 degC"}, name="warm")
    assert (warm.name, warm.case.change) == ("warm", {"indoor.room.temperature": "25 degC"})
    warmer = sw.change(warm, {"run.initial_humidity": "60 %"}, name="warm and dry")
    assert set(warmer.case.change) == {"indoor.room.temperature", "run.initial_humidity"}
    assert model.case.change == {}
    assert sw.build(warm).climates["room"].temperature[0] == 25.0
    with pytest.raises(CaseError, match="temperature"):
        sw.change(model, {"indoor.room.temperature": "3000 degC"})
    assert "conditioned crawlspace" in repr(sw.load())
    assert sw.__version__


def test_runs_are_kept_read_assessed_and_compared(model: sw.Model, tmp_path: Path) -> None:
    base = sw.run(model, tmp_path)
    written = base.path.stat().st_mtime_ns
    again = sw.run(model, tmp_path)
    assert again.path.stat().st_mtime_ns == written
    assert repr(again) == "<run base: 5 h, 1 places, wall-base.nc>"
    place = again.at("inner face")
    assert isinstance(place, xr.Dataset)
    assert place["temperature"].dims == ("time",)
    assert place["temperature"].plot()
    with pytest.raises(KeyError, match="no place 'roof'; there are inner face"):
        again.at("roof")
    damp = sw.run(sw.load(tmp_path / "wall.toml", "damp"))
    table = sw.compare([again, damp])
    assert list(table.columns) == ["base", "damp", "limit"]
    assert table.index.is_unique
    both = table.dropna()
    assert len(both)
    assert (both["base"] != both["damp"]).any()
    assert sw.assess(again).equals(sw.assess(again.data))


def test_why_steady_and_ledger_are_a_call_each(model: sw.Model, tmp_path: Path) -> None:
    asked = ["construction_water"]
    found = sw.why(model, "inner face", tmp_path / "why", sources=asked)
    assert found.shares.dims == ("effect", "source")
    assert set(found.shares.source.values) == set(asked)
    effect = found.answer.lead
    assert float(found.shares.sel(effect=effect.key).sum()) == pytest.approx(found.answer.together(effect))
    assert "the shares are" in repr(found)
    kept = {path: path.stat().st_mtime_ns for path in (tmp_path / "why").glob("*.nc")}
    assert len(kept) == 2
    sw.why(model, "inner face", tmp_path / "why", sources=asked)
    assert {path: path.stat().st_mtime_ns for path in kept} == kept
    with pytest.raises(KeyError, match="no place"):
        sw.why(model, "roof", tmp_path)
    frame = sw.ledger(model, "wall")
    assert list(frame.columns) == ["heat", "vapour", "liquid"]
    assert np.isfinite(frame.to_numpy()).all()
    assert sw.steady(model).coupling > 0.0


def test_a_sheet_becomes_a_material_of_a_model(tmp_path: Path) -> None:
    (tmp_path / "sheet.toml").write_text(starter_sheet("membrane-sheet"), encoding="utf-8")
    answer = sw.material(tmp_path / "sheet.toml", tmp_path / "film.toml", tmp_path / "film.html")
    assert answer.evaluation.spread
    (tmp_path / "case.toml").write_text(
        '[detail]\nkind = "basement"\nwall = { damp_proofing = "membrane_example" }\n'
        '[material.membrane_example]\nfile = "film.toml"\n'
    )
    section, _ = draw_section(sw.load(tmp_path / "case.toml").case)
    assert any(one.sd_dry == pytest.approx(4.77, rel=5e-3) for one in section.membranes)
