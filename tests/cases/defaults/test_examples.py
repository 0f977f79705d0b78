"""The examples that come with the program run, and what they return is what they promise."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

FOLDER = Path(__file__).resolve().parents[3] / "cases" / "defaults" / "examples"


def example(name: str) -> ModuleType:
    """Return an example, imported from its file as a user's script would be."""
    spec = importlib.util.spec_from_file_location(f"example_{name}", FOLDER / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_example_is_run_here() -> None:
    tests = Path(__file__).read_text(encoding="utf-8")
    assert all(f'example("{path.stem}")' in tests for path in FOLDER.glob("*.py"))


def test_a_run_is_read(tmp_path: Path) -> None:
    table = example("run_and_read").main(tmp_path, 48)
    assert {"sill core", "crawlspace air"} & set(table["place"])
    assert set(table["period"]) == {"whole run"}
    assert (tmp_path / "default.nc").exists()


def test_placements_differ(tmp_path: Path) -> None:
    table = example("compare_placements").main(tmp_path, 24)
    both = table.dropna()
    assert list(table) == ["base", "foam outside"]
    assert (both["base"] != both["foam outside"]).any()


def test_own_material_is_used(tmp_path: Path) -> None:
    table = example("own_material").main(tmp_path, 24)
    assert "sill core" in table.index
    assert (table["above 80 % [h]"] <= 24).all()


def test_steady_heat_is_that_of_resistances_in_series(tmp_path: Path) -> None:
    computed, by_hand = example("steady_check").main(tmp_path)
    assert computed == pytest.approx(by_hand, rel=5e-3)
