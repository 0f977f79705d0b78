"""Reading case files: TOML text to valid cases, one per variant, with every problem found at once."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.messages import Location, known_keys, phrase, show, untagged
from stemwall.cases.case_file.messages import dotted as dotted
from stemwall.cases.case_file.sweep import DRAWN, VariantTable, file_stem, take_sets, variants_of
from stemwall.cases.case_file.text import DEEPEST, parse_tree, read_text
from stemwall.cases.inputs.input_errors import CaseError, Problem, nearest
from stemwall.cases.inputs.toml_lines import Places
from stemwall.materials.doubts import doubts

BASE = "base"
DEFAULT_FILE = "default.toml"


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
    return Path(__file__).parents[1] / "defaults" / DEFAULT_FILE


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
    return parse_case(read_text(path), path)


def parse_case(text: str, path: Path) -> CaseFile:
    """Read the text of a case file; ``path`` names it in messages and anchors relative file names."""
    reader, tree = _open(text, path)
    tables, sets = tree.pop("variant", []), take_sets(tree)
    built = [reader.case(tree, VariantTable(name=BASE, change={}), ())]
    seen = {BASE}
    if not isinstance(tables, list):
        reader.add(("variant",), "variant", "this table", "[[variant]], one table each")
        tables = []
    for number, table in enumerate(tables):
        variant = reader.variant(table, number, seen)
        if variant is not None:
            seen.add(variant.name)
            built.append(reader.case(tree, variant, ("variant", number)))
    own = tree.get("material")
    for key, variant in variants_of(sets, reader, own if isinstance(own, dict) else None):
        built.append(reader.case(tree, variant, (key,)))
    return CaseFile(path, text, reader.finished(built, path, text))


def parse_variant(text: str, path: Path, name: str, note: str, change: Mapping[str, Any]) -> Case:
    """Read one variant of a case file from the text and its changes, as a result keeps them.

    Raises
    ------
    CaseError
        With every problem found.
    """
    reader, tree = _open(text, path)
    tree.pop("variant", None)
    take_sets(tree)
    variant = VariantTable(name=name, change=dict(change), note=note)
    return reader.finished([reader.case(tree, variant, ("variant",) if change else ())], path, text)[0]


def _open(text: str, path: Path) -> tuple[_Reader, dict[str, Any]]:
    tree = parse_tree(text, path.name)
    return _Reader(path.name, Places(text)), tree


class _Reader:
    """Validates tables and collects problems with their places."""

    def __init__(self, file: str, places: Places) -> None:
        self.file, self.places = file, places
        self.problems: list[Problem] = []
        self.stems: dict[str, str] = {}
        self.asked: set[tuple[Location, str]] = set()

    def finished(self, built: Sequence[Case | None], path: Path, text: str) -> tuple[Case, ...]:
        """Return the cases with what they were read from, or raise all problems."""
        if self.problems:
            raise CaseError(self.unique())
        cases = tuple(case for case in built if case is not None)
        for case in cases:
            case._folder, case._file, case._text = path.parent, path.name, text
        return cases

    def unique(self) -> list[Problem]:
        """Return the problems, each once: not again in a variant if the base has it, nor again and again in a set."""
        known = {(p.path, p.found) for p in self.problems if not p.path.startswith("variant")}
        kept, seen = [], set()
        for problem in self.problems:
            inner = problem.path.partition(": ")[2]
            found = "" if DRAWN.match(problem.path) else problem.found
            same = (problem.line, inner, found, problem.expected)
            if not inner or ((inner, problem.found) not in known and same not in seen):
                kept.append(problem)
                seen.add(same)
        return kept

    def variant(self, table: object, number: int, seen: set[str]) -> VariantTable | None:
        try:
            variant = VariantTable.model_validate(table)
        except ValidationError as error:
            self._collect(error, VariantTable, ("variant", number), "")
            return None
        if variant.name in seen:
            self.add(("variant", number, "name"), "variant.name", f"{variant.name!r} twice", "unique names")
            return None
        return variant

    def refused(self, error: ValidationError, model: type[BaseModel], at: Location) -> None:
        self._collect(error, model, at, "")

    def changed(self, tree: dict[str, Any], variant: VariantTable, at: Location) -> dict[str, Any]:
        """Return the tree with the changes of a variant."""
        result = copy.deepcopy(tree)
        for path, value in variant.change.items():
            problem = _set(result, path.split(".", DEEPEST), copy.deepcopy(value))
            if problem:
                self.add((*at, "change", path), f"variant {variant.name}: {path}", *problem)
        return result

    def case(self, tree: dict[str, Any], variant: VariantTable, at: Location) -> Case | None:
        name = variant.name
        stem = file_stem(name)
        if not stem:
            self.add(at, "variant.name", show(name), "a name with some letters a to z or digits, for its file")
        elif stem in self.stems:
            found = f"{name!r} beside {self.stems[stem]!r}, whose result has the same file name"
            self.add(at, "variant.name", found, "names that differ in letters or digits")
        self.stems[stem] = name
        try:
            stated = self.changed(tree, variant, at) if at else tree
            case = Case.model_validate(stated)
        except ValidationError as error:
            self._collect(error, Case, at, f"variant {name}: " if at else "")
            return None
        case._name, case._note, case._change = name, variant.note, variant.change
        prefix = f"variant {name}: " if at else ""
        for path, found, expected in case.detail.clashes() if case.detail is not None else []:
            where = ("detail", *path.split("."))
            self.add(at or where, prefix + ".".join(where), found, expected)
        case._doubts = tuple(self._doubts(case, stated, at, prefix))
        return case

    def _doubts(self, case: Case, stated: dict[str, Any], at: Location, prefix: str) -> Iterator[Problem]:
        """Yield what is unusual about a case, with its place."""
        unlikely = case.detail.doubts() if case.detail is not None else []
        of_detail = ((("detail", *path.split(".")), found, expected) for path, found, expected in unlikely)
        for location, found, expected in (*doubts(case, stated), *of_detail):
            # what the base states is asked about once, not again in each variant
            if (location, found) in self.asked:
                continue
            if not at:
                self.asked.add((location, found))
            place = self._change_place(at, location) if at else location
            yield Problem(prefix + dotted(location), found, expected, self.file, self.places.line(place))

    def _collect(self, error: ValidationError, model: type[BaseModel], at: Location, prefix: str) -> None:
        for entry in error.errors():
            location = untagged(entry["loc"])
            found, expected = phrase(entry, known_keys(model, entry["loc"]))
            place = self._change_place(at, location) if prefix else (*at, *location)
            self.add(place, prefix + dotted((*at, *location) if at and not prefix else location), found, expected)

    def _change_place(self, at: Location, location: Location) -> Location:
        """Place of the change that a problem comes from, or the variant's own place."""
        for length in range(len(location), 0, -1):
            place = (*at, "change", dotted(location[:length]))
            if self.places.has(place):
                return place
        return at

    def add(self, place: Location, path: str, found: str, expected: str) -> None:
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
