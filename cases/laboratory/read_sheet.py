"""Reading a laboratory sheet: TOML text to a valid `Sheet`, every problem at once with its line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from stemwall.cases.case_file.messages import Location, dotted, known_keys, phrase
from stemwall.cases.case_file.text import parse_tree, read_text
from stemwall.cases.inputs.input_errors import CaseError, Problem
from stemwall.cases.inputs.toml_lines import Places
from stemwall.cases.laboratory.sheet import Sheet
from stemwall.materials.doubts import doubts

UNITS = "units"


@dataclass(frozen=True)
class SheetFile:
    """A sheet with the file that it was read from.

    Parameters
    ----------
    sheet : Sheet
    path : Path
    text : str
    tree : dict
        As written, plain numbers with the units of their tables.
    places : Places
        Lines of its keys.
    """

    sheet: Sheet
    path: Path
    text: str
    tree: dict[str, Any]
    places: Places

    def problem(self, place: Location, found: str, expected: str) -> Problem:
        """Return a problem at a place of the sheet."""
        return Problem(dotted(place), found, expected, self.path.name, self.places.line(place))

    @property
    def doubts(self) -> list[Problem]:
        """What is unusual about single numbers."""
        return [self.problem(at, found, expected) for at, found, expected in doubts(self.sheet, self.tree)]


def read_sheet(path: str | Path) -> SheetFile:
    """Read the sheet in a file.

    Raises
    ------
    CaseError
        With every problem found.
    """
    path = Path(path)
    return parse_sheet(read_text(path), path)


def parse_sheet(text: str, path: Path) -> SheetFile:
    """Read the text of a sheet; ``path`` names it in messages."""
    tree, places = parse_tree(text, path.name), Places(text)
    problems = list(_with_units(tree, path.name, places))
    try:
        sheet = Sheet.model_validate(tree)
    except ValidationError as error:
        for entry in error.errors():
            found, expected = phrase(entry, known_keys(Sheet, entry["loc"]))
            problems.append(Problem(dotted(entry["loc"]), found, expected, path.name, places.line(entry["loc"])))
        raise CaseError(problems) from None
    if problems:
        raise CaseError(problems)
    return SheetFile(sheet, path, text, tree, places)


def _with_units(tree: dict[str, Any], file: str, places: Places) -> Iterator[Problem]:
    """Give the plain numbers of every table the units that it names; yield what is wrong with these."""
    for name, value in tree.items():
        for number, table in enumerate(value) if isinstance(value, list) else ((None, value),):
            units = table.get(UNITS) if isinstance(table, dict) else None
            if not isinstance(units, dict):
                continue
            at: Location = (name, UNITS) if number is None else (name, number, UNITS)
            for key, unit in units.items():
                if key not in table or key == UNITS or not isinstance(unit, str):
                    found = f"a unit of {key!r}" if isinstance(unit, str) else f"{unit!r} as a unit"
                    expected = "keys of this table, and units as texts"
                    yield Problem(dotted((*at, key)), found, expected, file, places.line(at))
                else:
                    table[key] = _stated(table[key], unit)


def _stated(value: Any, unit: str) -> Any:
    if isinstance(value, list):
        return [_stated(one, unit) for one in value]
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value!r} {unit}" if plain else value
