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
#: rooms inside rooms, from the ground up: each imports of those before it, never of those behind it
LAYERS = {
    "solver": (
        "model", "kernels", "discretisation", "integration", "forcing", "results", "run|open_ground", "spin_up",
        "simulate", "assessment",
    ),
    "solver/kernels": ("support", "physics", "linear", "newton", "time"),
    "cases": (
        "inputs", "section", "surroundings", "details", "case_file", "setup", "results", "batch", "report",
        "investigation", "steady", "reference", "verification", "laboratory", "verbs", "cli",
    ),
}  # fmt: skip


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
    bad.write_text("def f():\n    from stemwall import cases\n    import stemwall.solver.discretisation.mesh\n")
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
    for path in (p for p in (ROOT / room).rglob("*") if p.suffix in {".toml", ".csv", ".html", ".css"}):
        package = "stemwall." + ".".join(path.parent.relative_to(ROOT).parts)
        assert path.name in {item.name for item in importlib.resources.files(package).iterdir()}
        setuptools = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
        assert package in setuptools["packages"], f"a wheel would leave out {path.name}"
        patterns = setuptools["package-data"][package]
        assert any(path.match(pattern) for pattern in patterns), f"{path.name} is not in the package"


def _inner_imports(path: Path, folder: str) -> set[str]:
    """What a file imports of a folder: the first name below it."""
    prefix = "stemwall." + folder.replace("/", ".") + "."
    text = path.read_text(encoding="utf-8")
    names: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return {name.removeprefix(prefix).split(".")[0] for name in names if name.startswith(prefix)}


@pytest.mark.parametrize("folder", LAYERS)
def test_rooms_inside_rooms_import_one_way(folder: str) -> None:
    rank = {name: k for k, names in enumerate(LAYERS[folder]) for name in names.split("|")}
    wrong = [
        f"{path.relative_to(ROOT)} imports {other}"
        for name, level in rank.items()
        for path in [*(ROOT / folder / name).rglob("*.py"), ROOT / folder / f"{name}.py"]
        if path.exists()
        for other in _inner_imports(path, folder)
        if rank.get(other, -1) > level
    ]
    assert not wrong, "\n".join(sorted(wrong))


def test_every_room_inside_a_room_has_its_layer() -> None:
    for folder, layers in LAYERS.items():
        there = {path.parent.name for path in (ROOT / folder).glob("*/__init__.py")}
        there |= {path.stem for path in (ROOT / folder).glob("*.py")} - {"__init__"}
        known = {name for names in layers for name in names.split("|")}
        assert there - known <= {"defaults"}


def test_kernels_import_kernels_and_numba_alone() -> None:
    """The folder of compiled code is named after `solver/kernels`: what lies elsewhere could be stale.

    `jit` asks besides where files are kept, and how they are sealed.
    """
    allowed = re.compile(r"stemwall\.solver\.kernels\b|numpy|numba|llvmlite|(math|operator|typing|__future__)$")
    for path in (ROOT / "solver" / "kernels").rglob("*.py"):
        if path.name == "jit.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert all(allowed.match(name) for name in names), f"{path.name}: {names}"


def _private_kernels_used(path: Path) -> list[str]:
    """What a file uses of kernel files that begins with an underscore."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    files, used = set(), []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and ".kernels" in (node.module or ""):
            files |= {alias.asname or alias.name for alias in node.names}
            used += [alias.name for alias in node.names if alias.name.startswith("_")]
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.attr.startswith("_"):
            used += [node.attr] if node.value.id in files else []
    return used


def test_python_keeps_away_from_kernels_of_kernels(tmp_path: Path) -> None:
    """They are compiled without a way in from Python, see `kernels.support.jit`: a call would end the process."""
    wrong = tmp_path / "wrong.py"
    wrong.write_text("from a.kernels import b\nfrom a.kernels.c import _d\nb._e(1)\nb.f(2)\n")
    assert _private_kernels_used(wrong) == ["_d", "_e"]
    for room in (*ROOMS, "tests", "benchmarks"):
        for path in (ROOT / room).rglob("*.py"):
            if path.name not in {"jit.py", "test_jit.py"}:
                assert not _private_kernels_used(path), path.name


@pytest.mark.parametrize("room", [r for r in ROOMS if r != "cases"])
def test_doctests(room: str) -> None:
    import doctest

    for name in _modules():
        if name.startswith(f"stemwall.{room}."):
            result = doctest.testmod(importlib.import_module(name))
            assert result.failed == 0, name
