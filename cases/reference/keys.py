"""What a case file may say: every table and key of its models, with meaning, spelling, limits, default and source.

Tables are named by their dotted path.  A name that the case gives itself, such as that of a space, stands in
capitals: ``indoor.SPACE.temperature``.  A table may have several forms, told apart by ``kind`` or by their keys;
what only some of them have says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.sweep import SampleTable, SweepTable, VariantTable
from stemwall.cases.inputs.field_types import as_written
from stemwall.cases.reference.forms import Form, alternatives, form_of, written
from stemwall.cases.setup.own_material import OwnMaterial
from stemwall.materials.schema import MaterialSpec, MembraneSpec

#: tables beside those of one case
SETS: tuple[tuple[str, str, type[BaseModel]], ...] = (
    ("variant", "[[variant]]", VariantTable),
    ("sweep", "[sweep]", SweepTable),
    ("sample", "[sample]", SampleTable),
)
#: models of tables that are read later than the case
LATER: dict[str, tuple[type[BaseModel], ...]] = {"material": (MaterialSpec, MembraneSpec, OwnMaterial)}
#: what stands for a name that the case gives itself
NAMES = {"indoor": "SPACE", "zone": "SPACE", "material": "ID", "change": "PATH"}
REQUIRED = "required"
#: begins the label of a form that its key ``kind`` tells
KIND = "kind = "
SUGGESTED = 6
#: keys of which there is no more to say than that they are tables
PLAIN = ("a table", "tables")

Models = tuple[type[BaseModel], ...]


@dataclass(frozen=True)
class Key:
    """One key.

    Parameters
    ----------
    path : str
        Dotted path.
    meaning : str
        What it means.
    form : Form
        How its value is written.
    default : str
        As it would be written; `REQUIRED` if there is none.
    reason : str
        Source of the default, or why it is that.
    only : tuple of str
        Forms of the table that have it, empty for all.
    inner : str
        Path of the table that it may be, empty if it is none.
    """

    path: str
    meaning: str
    form: Form
    default: str
    reason: str = ""
    only: tuple[str, ...] = ()
    inner: str = ""

    @property
    def name(self) -> str:
        """Last part of the path."""
        return self.path.rpartition(".")[2]


@dataclass(frozen=True)
class Table:
    """One table, or the columns of a file.

    Parameters
    ----------
    path : str
        Dotted path.
    heading : str
        As it stands in a case file.
    meaning : str
        What it is for.
    keys : tuple of Key
        Its keys.
    forms : tuple of str
        What the table may be, empty if there is one form only.
    only : tuple of str
        Forms of the table around it that have it, empty for all.
    """

    path: str
    heading: str
    meaning: str
    keys: tuple[Key, ...]
    forms: tuple[str, ...] = ()
    only: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Shape:
    """One form of a table: its label, its model, and a table of its defaults."""

    label: str
    model: type[BaseModel]
    defaults: BaseModel | None = None


@cache
def tables() -> tuple[Table, ...]:
    """Return all tables of a case file, in the order of its models."""
    found: list[Table] = []
    for name, field in Case.model_fields.items():
        found += _inner_tables(field.alias or name, [(_Shape("", Case), name, field)], ("",), ())
    for path, heading, model in SETS:
        found += _visit(path, heading, _about(model), [_Shape("", model)], ())
    return tuple(found)


def tables_of(prefix: str, model: type[BaseModel]) -> tuple[Table, ...]:
    """Return the tables of another kind of file, whose paths begin with ``prefix``."""
    found: list[Table] = []
    for name, field in model.model_fields.items():
        found += _inner_tables(f"{prefix}.{field.alias or name}", [(_Shape("", model), name, field)], ("",), ())
    return tuple(replace(table, heading=table.heading.replace(f"{prefix}.", "")) for table in found)


def _visit(path: str, heading: str, meaning: str, shapes: Sequence[_Shape], only: tuple[str, ...]) -> Iterator[Table]:
    """Yield a table and those inside it."""
    holders: dict[str, list[tuple[_Shape, str, FieldInfo]]] = {}
    for shape in shapes:
        for name, field in shape.model.model_fields.items():
            holders.setdefault(field.alias or name, []).append((shape, name, field))
    labels = tuple(dict.fromkeys(shape.label for shape in shapes))
    keys: list[Key] = []
    inner: list[Table] = []
    for name, held in holders.items():
        tables = list(_inner_tables(f"{path}.{name}", held, labels, only))
        inner += tables
        keys += _keys(f"{path}.{name}", held, labels, tables[0].path if tables else "")
    yield Table(path, heading, meaning, tuple(keys), labels if len(labels) > 1 else (), only)
    yield from inner


def _keys(
    path: str, held: Sequence[tuple[_Shape, str, FieldInfo]], labels: tuple[str, ...], inner: str
) -> Iterator[Key]:
    """Yield the key, once for all forms that agree on it."""
    alike: dict[Key, list[str]] = {}
    for shape, name, field in held:
        extra = field.json_schema_extra
        reason = str(extra.get("reason", "")) if isinstance(extra, dict) else ""
        default = _default(shape, name, field)
        key = Key(path, field.description or "", form_of(field), default, reason, (), inner)
        alike.setdefault(key, []).append(shape.label)
    for key, have in alike.items():
        yield replace(key, only=_only(have, labels))


def _default(shape: _Shape, name: str, field: FieldInfo) -> str:
    if field.is_required():
        return REQUIRED
    if shape.defaults is not None:
        return written(as_written(shape.defaults, name, field))
    return written(field.get_default(call_default_factory=True))


def _inner_tables(
    path: str, held: Sequence[tuple[_Shape, str, FieldInfo]], labels: tuple[str, ...], only: tuple[str, ...]
) -> Iterator[Table]:
    """Yield the tables that a key may be, and those inside them.

    ``labels`` are those of all forms of the table around them, ``only`` those that this itself needs.
    """
    groups: dict[tuple[Models, str], list[tuple[_Shape, BaseModel | None]]] = {}
    for shape, name, field in held:
        models = LATER.get(path, tuple(_models(field.annotation)))
        default = getattr(shape.defaults, name) if shape.defaults is not None else field.default
        instance = default if isinstance(default, BaseModel) else None
        if models:
            groups.setdefault((models, repr(instance)), []).append((shape, instance))
    if not groups:
        return
    shapes = []
    for (models, _), members in groups.items():
        outer = together([shape.label for shape, _ in members]) if len(groups) > 1 else ""
        for model in models:
            label = ", ".join(filter(None, (outer, _label(model, models))))
            instance = members[0][1]
            shapes.append(_Shape(label, model, instance if isinstance(instance, model) else None))
    field = held[0][2]
    meaning = field.description or ""
    kind = _container(field.annotation)
    if kind == "named":
        path = f"{path}.{NAMES.get(path.rpartition('.')[2], 'NAME')}"
    some = _only([shape.label for members in groups.values() for shape, _ in members], labels) or only
    yield from _visit(path, f"[[{path}]]" if kind == "list" else f"[{path}]", meaning, shapes, some)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    """Models inside an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is Annotated:
        yield from _models(get_args(annotation)[0])
    elif get_origin(annotation) is not Literal:
        for one in get_args(annotation):
            yield from _models(one)


def _container(annotation: Any) -> str:
    origin = get_origin(annotation)
    if origin is Annotated:
        return _container(get_args(annotation)[0])
    return "list" if origin in (tuple, list) else "named" if origin is dict else "table"


def _label(model: type[BaseModel], beside: Models) -> str:
    """What tells a form of a table from the others."""
    if len(beside) == 1:
        return ""
    kind = model.model_fields.get("kind")
    if kind is not None:
        return f"{KIND}{alternatives([written(value) for value in get_args(kind.annotation)])}"
    return _about(model).partition(",")[0]


def _about(model: type[BaseModel]) -> str:
    """What a model says of itself, as a part of a sentence."""
    first = (model.__doc__ or "").strip().splitlines()[0].rstrip(".").replace("`", "")
    return first[:1].lower() + first[1:]


def _only(have: Sequence[str], labels: Sequence[str]) -> tuple[str, ...]:
    return () if set(have) == set(labels) else tuple(dict.fromkeys(have))


def together(labels: Sequence[str]) -> str:
    """Return labels in one phrase."""
    plain = [label.removeprefix(KIND) for label in dict.fromkeys(labels)]
    return (KIND if labels[0].startswith(KIND) else "") + alternatives(plain)


def find(text: str, among: Sequence[Table]) -> list[tuple[Table, tuple[Key, ...]]]:
    """Return what a path names: the key, in its table, and the table that it is, with all its keys.

    Parameters
    ----------
    text : str
        A path such as ``detail.insulation``, ``[indoor.house]`` or ``leak[1].amount``.
    among : sequence of Table
        Where to look.

    Returns
    -------
    list
        Empty if there is no such path.
    """
    parts = _split(text)
    found = [(table, table.keys) for table in among if _matches(parts, table.path)]
    for table in among:
        keys = [key for key in table.keys if _matches(parts, key.path)]
        keys = [key for key in keys if key.name == parts[-1]] or keys
        if keys and not (found and all(key.form.accepts in PLAIN for key in keys)):
            found.insert(0, (table, tuple(keys)))
    return found


def similar(text: str, among: Sequence[Table]) -> list[str]:
    """Return paths that may have been meant: of the same last part first, then those spelled alike."""
    paths = list(dict.fromkeys(path for table in among for path in (table.path, *(key.path for key in table.keys))))
    parts = _split(text)
    same = [path for path in paths if parts and path.split(".")[-1] == parts[-1]]
    close = get_close_matches(".".join(parts), paths, n=SUGGESTED, cutoff=0.6)
    last = get_close_matches(parts[-1], [path.split(".")[-1] for path in paths], n=1, cutoff=0.7) if parts else []
    alike = [path for path in paths if path.split(".")[-1] in last]
    return list(dict.fromkeys([*same, *close, *alike]))[:SUGGESTED]


def _split(text: str) -> list[str]:
    """Parts of a path as somebody writes it: brackets of headings and numbers of tables are left out."""
    plain = re.sub(r"\[\d*\]", "", text.strip())
    plain = plain.strip("[]") if plain.startswith("[") else plain
    return [part.strip("\"'") for part in re.findall(r'"[^"]*"|\'[^\']*\'|[^.]+', plain)]


def _matches(parts: Sequence[str], path: str) -> bool:
    names = path.split(".")
    return len(parts) == len(names) and all(
        ours == theirs or theirs.isupper() for ours, theirs in zip(parts, names, strict=True)
    )
