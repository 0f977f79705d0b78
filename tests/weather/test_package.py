"""The package keeps its promises: public names, its place below the solver, examples that run."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import stemwall.weather

MODULES = [f"stemwall.weather.{m.name}" for m in pkgutil.iter_modules(stemwall.weather.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_weather_knows_no_other_room(name: str) -> None:
    tree = ast.parse(Path(str(importlib.import_module(name).__file__)).read_text())
    imported = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    imported += [alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names]
    assert not [module for module in imported if module.startswith("stemwall") and ".weather" not in module]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
