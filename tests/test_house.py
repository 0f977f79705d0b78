"""The house: fixed top level, one-way imports, every file imported once, data reachable, types."""

import ast
import importlib
import importlib.resources
import pkgutil
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("materials", "weather", "solver", "cases")
#: what each room may import of the others
ALLOWED: dict[str, set[str]] = {
    "materials": set(),
    "weather": set(),
    "solver": {"materials", "weather"},
    "cases": {"materials", "weather", "solver"},
}


def _modules() -> list[str]:
    found = []
    for room in ROOMS:
        package = importlib.import_module(f"stemwall.{room}")
        found += [m.name for m in pkgutil.walk_packages(package.__path__, f"stemwall.{room}.")]
    return found


def _rooms_imported(path: Path) -> set[str]:
    """Rooms that a file imports anywhere, also inside functions."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return {parts[1] for parts in (n.split(".") for n in names) if parts[0] == "stemwall" and len(parts) > 1}


def test_top_level_is_fixed() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout
    top = {line.split("/")[0] for line in listed.splitlines() if not line.startswith(".")}
    assert top <= {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "solver", "materials", "weather", "cases", "tests",
        "benchmarks",
    }  # fmt: skip


@pytest.mark.parametrize("room", ROOMS)
def test_imports_point_one_way(room: str) -> None:
    for path in (ROOT / room).rglob("*.py"):
        wrong = _rooms_imported(path) - ALLOWED[room] - {room}
        assert not wrong, f"{path.relative_to(ROOT)} imports {', '.join(sorted(wrong))}"


def test_the_contract_would_catch_a_violation(tmp_path: Path) -> None:
    bad = tmp_path / "bad.py"
    bad.write_text("def f():\n    from stemwall import cases\n    import stemwall.solver.mesh\n")
    assert _rooms_imported(bad) == {"cases", "solver"}


def test_every_module_imports_and_no_file_has_two_names() -> None:
    for name in _modules():
        importlib.import_module(name)
    seen: dict[str, str] = {}
    for name, module in list(sys.modules.items()):
        file = getattr(module, "__file__", None)
        if file and Path(file).is_relative_to(ROOT) and Path(file).parts[len(ROOT.parts)] in ROOMS:
            assert file not in seen, f"{file} is imported as {seen[file]} and {name}"
            seen[file] = name


def test_packages_listed_are_the_packages_there() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    found = {
        "stemwall." + ".".join(path.parent.relative_to(ROOT).parts)
        for room in ROOMS
        for path in (ROOT / room).rglob("__init__.py")
    }
    assert set(listed) == found


@pytest.mark.parametrize("room", ROOMS)
def test_data_files_are_reachable(room: str) -> None:
    data = {p.name for p in (ROOT / room).iterdir() if p.suffix in {".toml", ".csv", ".html", ".css"}}
    reachable = {item.name for item in importlib.resources.files(f"stemwall.{room}").iterdir()}
    assert data <= reachable


def test_kernel_files_read_nothing_that_their_cache_is_not_named_after() -> None:
    """The folder of compiled code is named after the kernel files and those below; all else could be stale."""
    for path in (ROOT / "solver").glob("*_kernels.py"):
        read = re.findall(r"^from (stemwall\S+) import|^import (stemwall\S+)", path.read_text(), re.MULTILINE)
        modules = {"".join(found).removeprefix("stemwall.solver.") for found in read}
        named = {"compiled", "layout", "lanes", "scheme"}
        assert all(name in named or name.endswith("_kernels") for name in modules), path.name


def _private_kernels_used(path: Path) -> list[str]:
    """What a file uses of kernel files that begins with an underscore."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    files, used = {}, []
    for node in ast.walk(tree):
        for alias in node.names if isinstance(node, ast.ImportFrom) else ():
            if alias.name.endswith("_kernels"):
                files[alias.asname or alias.name] = alias.name
            elif (node.module or "").endswith("_kernels") and alias.name.startswith("_"):
                used.append(alias.name)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.attr.startswith("_"):
            used += [node.attr] if node.value.id in files else []
    return used


def test_python_keeps_away_from_kernels_of_kernels(tmp_path: Path) -> None:
    """They are compiled without a way in from Python, see `solver.compiled`: a call would end the process."""
    wrong = tmp_path / "wrong.py"
    wrong.write_text("from a import b_kernels as b\nfrom a.c_kernels import _d\nb._e(1)\nb.f(2)\n")
    assert _private_kernels_used(wrong) == ["_d", "_e"]
    for room in (*ROOMS, "tests", "benchmarks"):
        for path in (ROOT / room).rglob("*.py"):
            assert not _private_kernels_used(path), path.name


@pytest.mark.parametrize("room", [r for r in ROOMS if r != "cases"])
def test_doctests(room: str) -> None:
    import doctest

    for name in _modules():
        if name.startswith(f"stemwall.{room}."):
            result = doctest.testmod(importlib.import_module(name))
            assert result.failed == 0, name
