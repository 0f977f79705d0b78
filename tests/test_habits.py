"""Habits: exceptions to the lint rules only become fewer, what is public is used, what documents name exists."""

from __future__ import annotations

import ast
import importlib
import importlib.util
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
#: files that lint rules are not held in yet; lower it with each one that leaves the list in pyproject.toml
WAITING = 12


def _ignored() -> dict[str, set[str]]:
    """Rules that are not held in single files, by file; patterns of folders stand for good."""
    lint = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["ruff"]["lint"]
    return {file: set(rules) for file, rules in lint["per-file-ignores"].items() if "*" not in file}


def test_exceptions_to_lint_rules_only_become_fewer() -> None:
    pytest.importorskip("ruff", reason="ruff comes with stemwall[dev]")
    waiting = _ignored()
    assert len(waiting) == WAITING
    there = [file for file in waiting if (ROOT / file).exists()]
    assert there == list(waiting), "a listed file is gone: take it off the list"
    if not there:
        return
    command = [sys.executable, "-m", "ruff", "check", "--no-cache", "--exit-zero", "--output-format", "json"]
    command += ["--config", "lint.per-file-ignores = {}", *there]
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    found: dict[str, set[str]] = {file: set() for file in there}
    for finding in json.loads(told):
        found[Path(finding["filename"]).relative_to(ROOT).as_posix()].add(finding["code"])
    needless = {file: rules - found[file] for file, rules in waiting.items() if rules - found[file]}
    assert not needless, f"these files keep these rules: {needless}"


#: public names that nothing in the rooms or the benchmarks uses, and why they stay
KEPT = {
    "materials.stated_numbers.band_of": "one number of `stated_numbers`, for scripts",
    "weather.film.indoor_film": "the surface resistances of ISO 6946, for scripts",
    "weather.moistair.vapour_film_coefficient": "the vapour film from first principles, for scripts",
    "weather.synthetic.scaled_rain": "rain of a stated yearly total, for scripts",
    "weather.year.WeatherYear.tiled": "weather of a run of any length, for scripts",
    "weather.daily.MeasuredDays.soil_moisture": "a measured column like the others beside it",
    "weather.daily.daily_mean": "what measured days are compared with, for scripts",
    "weather.table.write_csv": "writes what the reader reads, for scripts",
    "solver.open_ground.GroundColumn.begin_from": "tests begin a year from a known profile",
    "solver.results.staged_file.StagedFile.truncate": "called by h5py",
    "cases.cli.input.Terminal.on_broken_pipe": "called by rich",
    "cases.batch.pool.Pool.pids": "tests end processes by it",
}
#: decorators that use what they decorate
REGISTERS = ("app.command", "app.callback", "materials_app.command", "questions.command")


def _public(body: Sequence[ast.stmt], within: str) -> Iterator[str]:
    """Dotted names of the public functions, classes and methods defined in a body."""
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            registered = any(ast.unparse(found).startswith(REGISTERS) for found in node.decorator_list)
            if not registered:
                yield f"{within}.{node.name}"
            if isinstance(node, ast.ClassDef):
                yield from _public(node.body, f"{within}.{node.name}")


def _used(tree: ast.AST) -> Iterator[str]:
    """Names that a file reads."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.ImportFrom):
            yield from (alias.name for alias in node.names if alias.asname)


def _unused(root: Path, rooms: Sequence[str]) -> set[str]:
    """Dotted names of what is public in the rooms and used neither there nor by benchmarks or templates."""
    defined: list[str] = []
    used: set[str] = set()
    for room in rooms:
        for path in (root / room).rglob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            used |= set(_used(tree))
            if room != "benchmarks":
                defined += _public(tree.body, ".".join(path.relative_to(root).with_suffix("").parts))
        for path in (root / room).rglob("*.html"):
            used |= set(re.findall(r"\w+", path.read_text(encoding="utf-8")))
    return {name for name in defined if name.rsplit(".", 1)[1] not in used}


def test_what_is_public_is_used() -> None:
    assert _unused(ROOT, ("materials", "weather", "solver", "cases", "benchmarks")) == set(KEPT)


def test_a_function_that_nobody_calls_is_found(tmp_path: Path) -> None:
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "file.py").write_text(
        "def called(): ...\ndef left(): ...\nclass Kind:\n    def other(self): ...\ncalled(Kind)\n"
    )
    assert _unused(tmp_path, ("room",)) == {"room.file.left", "room.file.Kind.other"}


def test_code_in_readme_names_what_exists() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    assert blocks
    for node in ast.walk(ast.parse("".join(blocks))):
        if isinstance(node, ast.ImportFrom) and node.module:
            module = importlib.import_module(node.module)
            for alias in node.names:
                named = f"{node.module}.{alias.name}"
                assert hasattr(module, alias.name) or importlib.util.find_spec(named), named


def test_citation_has_the_version_of_the_package() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert f"\nversion: {project['version']}\n" in (ROOT / ".github" / "CITATION.cff").read_text(encoding="utf-8")
    assert "license" not in project, "README.md says that none has been chosen"


def test_change_notes_are_of_a_known_kind() -> None:
    for path in (ROOT / ".changes").glob("*.md"):
        assert path.name == "README.md" or path.suffixes[0] in {".added", ".changed", ".fixed", ".removed"}, path.name


#: pages whose names of files and modules are held, and the folder that they are given from
PAGES = {
    "DEVELOPERS.md": ".",
    "solver/README.md": "solver",
    "solver/PHYSICS.md": "solver",
    "solver/NUMERICS.md": "solver",
}
_ROOM = (
    "materials|weather|solver|cases|tests|model|kernels|discretisation|integration|forcing|results|assessment|simulate"
)


def _named(text: str) -> set[str]:
    """Files, folders and modules that a page names: paths with slashes, and dotted names that begin with a room."""
    paths = set(re.findall(r"(?<![\w./*])(?:[\w.-]+/)+[\w*-]+\.(?:py|toml|md|html)\b", text))
    folders = set(re.findall(rf"`((?:{_ROOM})(?:/\w+)*/)`", text))
    dotted = set(re.findall(rf"(?<![\w./])((?:{_ROOM})\.\w+(?:\.\w+)*)(?![\w/])", text))
    return paths | folders | {name for name in dotted if not re.search(r"\.(py|md|toml)$", name)}


def _there(name: str, folder: Path) -> bool:
    """Whether a path exists, or a dotted name is a module or something in one."""
    if "/" in name:
        return any((base / name).exists() or any(base.glob(name)) for base in (ROOT, folder))
    *parts, last = name.split(".")
    return any(
        (base.joinpath(*parts, last).with_suffix(".py")).exists()
        or base.joinpath(*parts, last).is_dir()
        or (
            base.joinpath(*parts).with_suffix(".py").exists()
            and re.search(rf"\b{last}\b", base.joinpath(*parts).with_suffix(".py").read_text(encoding="utf-8"))
        )
        for base in (ROOT, folder)
    )


@pytest.mark.parametrize("page", PAGES)
def test_what_documents_name_exists(page: str) -> None:
    names = _named((ROOT / page).read_text(encoding="utf-8"))
    assert names or page.endswith("PHYSICS.md")
    assert not [name for name in sorted(names) if not _there(name, ROOT / PAGES[page])]


def test_a_name_of_nothing_is_found() -> None:
    text = "`solver/gone.py`, `cases/nowhere/`, kernels.time.gone and simulate.nothing_of_it"
    assert len(_named(text)) == 4
    assert not [name for name in _named(text) if _there(name, ROOT / "solver")]


def test_equations_that_kernels_name_stand_on_the_pages() -> None:
    pages = "".join((ROOT / "solver" / name).read_text(encoding="utf-8") for name in ("PHYSICS.md", "NUMERICS.md"))
    listed = re.findall(r"^## \(([PN]\d+)\)", pages, re.MULTILINE)
    assert listed == [*(f"P{k}" for k in range(1, 14)), *(f"N{k}" for k in range(1, 12))]
    named = {
        number
        for path in (ROOT / "solver" / "kernels").rglob("*.py")
        for number in re.findall(r"\(([PN]\d+)\)", path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= set(listed)
