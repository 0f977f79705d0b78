"""Reading case files: TOML text to valid cases, one per variant, with every problem found at once."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from stemwall.cases.case import DETAILS, Case
from stemwall.cases.fields import Strict
from stemwall.cases.places import Places
from stemwall.cases.problems import CaseError, Problem, nearest

BASE = "base"
DEFAULT_FILE = "default.toml"
Location = tuple[str | int, ...]


class VariantTable(Strict):
    """A small difference to the base: ``change`` maps dotted paths to new values."""

    name: str
    change: dict[str, Any]
    note: str = ""


@dataclass(frozen=True)
class CaseFile:
    """A case file: the base and its variants, all of them valid.

    Parameters
    ----------
    path : Path
        Where it was read from.
    text : str
        Its TOML text.
    cases : tuple of Case
        The base first.
    """

    path: Path
    text: str
    cases: tuple[Case, ...]

    @property
    def base(self) -> Case:
        """The case without any change."""
        return self.cases[0]

    def variants(self) -> list[Case]:
        """Return all cases, the base first."""
        return list(self.cases)

    def variant(self, name: str) -> Case:
        """Return the variant of that name.

        Raises
        ------
        CaseError
            If there is none.
        """
        for case in self.cases:
            if case.name == name:
                return case
        names = [case.name for case in self.cases]
        found = f"no variant {name!r}"
        raise CaseError([Problem("variant", found, nearest(name, names) or ", ".join(names), self.path.name)])


def default_path() -> Path:
    """Return the path of the case that is shipped with the program."""
    return Path(__file__).with_name(DEFAULT_FILE)


def load_case(path: str | Path) -> CaseFile:
    """Read a case file.

    Parameters
    ----------
    path : str or Path
        A TOML file.

    Raises
    ------
    CaseError
        With every problem found in the base and in its variants.
    """
    path = Path(path)
    if not path.is_file():
        raise CaseError([Problem("", "no such file", "an existing case file", str(path))])
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise CaseError(
            [Problem("", "bytes that are no UTF-8", "a TOML text file in UTF-8", path.name)]
        ) from error
    return parse_case(text, path)


def parse_case(text: str, path: Path) -> CaseFile:
    """Read the text of a case file; ``path`` names it in messages and anchors relative file names."""
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([_syntax(error, path.name)]) from error
    reader = _Reader(path.name, Places(text))
    tables = tree.pop("variant", [])
    built = [reader.case(tree, BASE, "", ())]
    seen = {BASE}
    for number, table in enumerate(tables if isinstance(tables, list) else []):
        variant = reader.variant(table, number, seen)
        if variant is not None:
            seen.add(variant.name)
            changed = reader.changed(tree, variant, number)
            built.append(reader.case(changed, variant.name, variant.note, ("variant", number)))
    if reader.problems:
        raise CaseError(reader.unique())
    cases = tuple(case for case in built if case is not None)
    for case in cases:
        case._folder, case._file, case._text = path.parent, path.name, text
    return CaseFile(path, text, cases)


def _syntax(error: tomllib.TOMLDecodeError, file: str) -> Problem:
    message, _, place = str(error).partition(" (at ")
    line = place.removeprefix("line ").split(",")[0]
    return Problem(
        "", message[0].lower() + message[1:], "valid TOML", file, int(line) if line.isdigit() else None
    )


class _Reader:
    """Validates tables and collects problems with their places."""

    def __init__(self, file: str, places: Places) -> None:
        self.file, self.places = file, places
        self.problems: list[Problem] = []

    def unique(self) -> list[Problem]:
        """Return the problems, those that the base already has left out of the variants."""
        known = {(p.path, p.found) for p in self.problems if not p.path.startswith("variant")}
        kept = []
        for problem in self.problems:
            inner = problem.path.partition(": ")[2]
            if not inner or (inner, problem.found) not in known:
                kept.append(problem)
        return kept

    def variant(self, table: object, number: int, seen: set[str]) -> VariantTable | None:
        try:
            variant = VariantTable.model_validate(table)
        except ValidationError as error:
            self._collect(error, VariantTable, ("variant", number), "")
            return None
        if variant.name in seen:
            self._add(("variant", number, "name"), "variant.name", f"{variant.name!r} twice", "unique names")
            return None
        return variant

    def changed(self, tree: dict[str, Any], variant: VariantTable, number: int) -> dict[str, Any]:
        """Return the tree with the changes of a variant."""
        result = copy.deepcopy(tree)
        for path, value in variant.change.items():
            problem = _set(result, path.split("."), value)
            if problem:
                place = ("variant", number, "change", path)
                self._add(place, f"variant {variant.name}: {path}", *problem)
        return result

    def case(self, tree: dict[str, Any], name: str, note: str, at: Location) -> Case | None:
        try:
            case = Case.model_validate(tree)
        except ValidationError as error:
            self._collect(error, Case, at, f"variant {name}: " if at else "")
            return None
        case._name, case._note = name, note
        clashes = case.detail.clashes() if case.detail is not None else []
        for path, found, expected in clashes:
            where = ("detail", *path.split("."))
            prefix = f"variant {name}: " if at else ""
            self._add(at or where, prefix + ".".join(where), found, expected)
        return case

    def _collect(self, error: ValidationError, model: type[BaseModel], at: Location, prefix: str) -> None:
        for entry in error.errors():
            location = _untagged(entry["loc"])
            found, expected = _phrase(entry, _keys(model, location))
            place = self._change_place(at, location) if prefix else (*at, *location)
            self._add(
                place, prefix + dotted((*at, *location) if at and not prefix else location), found, expected
            )

    def _change_place(self, at: Location, location: Location) -> Location:
        """Place of the change that a problem comes from, or the variant's own place."""
        for length in range(len(location), 0, -1):
            place = (*at, "change", dotted(location[:length]))
            if self.places.has(place):
                return place
        return at

    def _add(self, place: Location, path: str, found: str, expected: str) -> None:
        self.problems.append(Problem(path, found, expected, self.file, self.places.line(place)))


def _set(tree: Any, keys: Sequence[str], value: object) -> tuple[str, str] | None:
    """Set a value at a path; lists of tables are entered by name. Return (found, expected) if that fails."""
    *parents, last = keys
    for key in parents:
        child = _enter(tree, key)
        if child is None:
            return f"no {key!r} on the way", "a dotted path of tables; [[tables]] by their name"
        tree = child
    if not isinstance(tree, dict):
        return f"no table at {'.'.join(parents)!r}", "a dotted path of tables"
    if isinstance(value, dict) and isinstance(tree.get(last), dict):
        for key, inner in value.items():
            _set(tree[last], [key], inner)
    else:
        tree[last] = value
    return None


def _enter(tree: Any, key: str) -> Any:
    if isinstance(tree, dict):
        return tree.setdefault(key, {})
    if isinstance(tree, list):
        return next((item for item in tree if isinstance(item, dict) and item.get("name") == key), None)
    return None


def _untagged(location: Location) -> Location:
    """Return a location without the tag of its detail, which the union adds."""
    tagged = location[:1] == ("detail",) and location[1:2] and location[1] in DETAILS
    return (location[0], *location[2:]) if tagged else location


def dotted(location: Location) -> str:
    """Return "region[2].x" of ("region", 2, "x")."""
    text = ""
    for part in location:
        text += f"[{part}]" if isinstance(part, int) else f".{part}"
    return text.removeprefix(".")


def _keys(model: type[BaseModel], location: Location) -> list[str]:
    """Names of the keys that a table at the parent of ``location`` may have."""
    models: list[type[BaseModel]] = [model]
    for part in location[:-1]:
        if isinstance(part, str):
            models = [inner for outer in models for inner in _inner(outer, part)] or models
    return [field.alias or name for outer in models for name, field in outer.model_fields.items()]


def _inner(model: type[BaseModel], key: str) -> Iterator[type[BaseModel]]:
    """Models that a field may hold, also inside tuples, dictionaries and unions."""
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            yield from _models(field.annotation)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for argument in getattr(annotation, "__args__", ()):
        yield from _models(argument)


def _phrase(entry: Any, keys: list[str]) -> tuple[str, str]:
    """Return (found, expected) of one validation error."""
    kind, given, message = entry["type"], entry["input"], str(entry["msg"])
    shown = "this table" if isinstance(given, dict | BaseModel) else _show(given)
    if kind == "extra_forbidden":
        name = str(entry["loc"][-1])
        return f"unknown key {name!r}", f"a known key; {nearest(name, keys)}".rstrip("; ")
    if kind == "missing":
        return "nothing", f"a value for {entry['loc'][-1]!r}"
    if kind.startswith("union_tag"):
        tag = given.get("kind") if isinstance(given, dict) else None
        names = ", ".join(f'"{name}"' for name in DETAILS)
        return f"kind = {_show(tag)}" if tag else "no kind", f"kind = one of {names}"
    if kind == "literal_error":
        return shown, f"{entry['ctx']['expected']}".replace("'", '"')
    text = message.removeprefix("Value error, ").removeprefix("Input should be ")
    return shown, text


def _show(value: object) -> str:
    """Return a value as it would stand in the file."""
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)
