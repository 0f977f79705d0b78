"""A material that a case brings itself, in a table of its own or in a file, with the spread of its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from stemwall.cases.case_file.text import parse_tree, read_text
from stemwall.cases.inputs.field_types import Strict, described
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.materials.kinds import Share
from stemwall.materials.material import Provenance
from stemwall.materials.problems import MaterialError, Problem

#: keys of a table [material.ID] that are no property
FILE, SPREAD, RANK = "file", "spread", "rank"


class OwnMaterial(Strict):
    """Where a material of a case comes from, beside what it states itself."""

    base: str | None = described(None, "id of a catalogue material, whose numbers hold where nothing else is stated")
    file: str | None = described(
        None, "material file, such as `stemwall material` writes; its table of the same id, or its only one"
    )
    spread: list[dict[str, Any]] | None = described(
        None, "other sets of properties that the same tests allow, in rising order; `rank` takes one of them"
    )
    rank: Share | None = described(
        None, "place in `spread` from 0 to 1, for [sample]; by default the properties as they are stated"
    )


def whole(key: str, written: Mapping[str, Any], folder: Path) -> dict[str, Any]:
    """Return the table of a material with what its file says, at its place in the spread.

    Parameters
    ----------
    key : str
        Identifier of the material.
    written : mapping
        Its table in the case.
    folder : Path
        Folder that file names start from.

    Raises
    ------
    MaterialError
        If the file cannot be read or has no such material, or there is no spread to take a rank of.
    """
    table = dict(written)
    if FILE in table:
        name = table.pop(FILE)
        table = {**_of_file(key, name, folder), **table}
    spread, rank = table.pop(SPREAD, None), table.pop(RANK, None)
    if rank is None:
        return table
    if not isinstance(rank, int | float) or isinstance(rank, bool) or not 0.0 <= rank <= 1.0:
        raise _wrong(key, RANK, repr(rank), "a share from 0 to 1")
    if not (isinstance(spread, list) and spread and all(isinstance(one, dict) for one in spread)):
        raise _wrong(key, RANK, f"{rank} without a spread", "tables [[material.ID.spread]], in the case or its file")
    drawn = spread[min(int(rank * len(spread)), len(spread) - 1)]
    return {**table, **{name: _sourced(table.get(name), value) for name, value in drawn.items()}}


def _sourced(stated: object, drawn: object) -> object:
    """A drawn property with the provenance of the one it takes the place of."""
    if not isinstance(stated, Mapping) or not isinstance(drawn, Mapping):
        return drawn
    kept = {name: value for name, value in stated.items() if name in Provenance.__dataclass_fields__}
    return {**kept, **drawn}


def _of_file(key: str, name: object, folder: Path) -> dict[str, Any]:
    if not isinstance(name, str):
        raise _wrong(key, FILE, repr(name), "the name of a material file")
    path = folder / name
    try:
        tables = parse_tree(read_text(path), path.name).get("material", {})
    except CaseError as error:
        raise _wrong(key, FILE, "; ".join(map(str, error.problems)), "a material file") from error
    found = tables.get(key, next(iter(tables.values())) if len(tables) == 1 else None)
    if not isinstance(found, dict):
        raise _wrong(key, FILE, f"a file with {', '.join(tables) or 'no material'}", f"a table [material.{key}]")
    return dict(found)


def _wrong(key: str, name: str, found: str, expected: str) -> MaterialError:
    return MaterialError([Problem(f"{key}.{name}", found, expected)])
