"""What is wrong with a table, in the words of a case file: from validation errors to found and expected."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from stemwall.cases.case_file.case import DETAILS
from stemwall.cases.case_file.sample import KINDS
from stemwall.cases.inputs.input_errors import nearest

Location = tuple[str | int, ...]
#: letters of a value that a message shows
SHOWN = 100
#: what is expected where the type is another, in the words of a case file
PLAIN = {
    "model_type": "a table", "model_attributes_type": "a table", "dict_type": "a table",
    "string_type": "a text in quotes", "list_type": "a list", "bool_type": "true or false",
    "bool_parsing": "true or false",
}  # fmt: skip


def untagged(location: Location) -> Location:
    """Return a location without what pydantic adds: the tag of a detail or distribution, the mark of a key."""
    location = tuple(part for part in location if part != "[key]")
    if location[:1] == ("detail",) and location[1:2] and location[1] in DETAILS:
        return (location[0], *location[2:])
    if location[:1] == ("change",) and location[2:3] and location[2] in KINDS:
        return (*location[:2], *location[3:])
    return location


def dotted(location: Location) -> str:
    """Return "region[2].x" of ("region", 2, "x")."""
    text = ""
    for part in location:
        text += f"[{part}]" if isinstance(part, int) else f".{part}"
    return text.removeprefix(".")


def known_keys(model: type[BaseModel], location: Location) -> list[str]:
    """Names of the keys that a table at the parent of ``location`` may have."""
    models: list[type[BaseModel]] = [model]
    for part in location[:-1]:
        if isinstance(part, str):
            own = [inner for outer in models for inner in _inner(outer, part)]
            models = own or [model for model in models if part in _tags(model)] or models
    return [field.alias or name for outer in models for name, field in outer.model_fields.items()]


def _inner(model: type[BaseModel], key: str) -> Iterator[type[BaseModel]]:
    """Models that a field may hold, also inside tuples, dictionaries and unions."""
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            yield from _models(field.annotation)


def _tags(model: type[BaseModel]) -> tuple[Any, ...]:
    """What the key ``kind`` of a model may say."""
    field = model.model_fields.get("kind")
    return getattr(field.annotation, "__args__", ()) if field else ()


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for argument in getattr(annotation, "__args__", ()):
        yield from _models(argument)


def phrase(entry: Any, keys: list[str]) -> tuple[str, str]:
    """Return (found, expected) of one validation error."""
    kind, given, message = entry["type"], entry["input"], str(entry["msg"])
    shown = "this table" if isinstance(given, dict | BaseModel) else show(given)
    if kind == "extra_forbidden":
        name = str(entry["loc"][-1])
        return f"unknown key {name!r}", f"a known key; {nearest(name, keys)}".rstrip("; ")
    if kind == "missing":
        return "nothing", f"a value for {entry['loc'][-1]!r}"
    if kind.startswith("union_tag"):
        tag = given.get("kind") if isinstance(given, dict) else None
        names = ", ".join(f'"{name}"' for name in (DETAILS if entry["loc"][-1:] == ("detail",) else KINDS))
        return f"kind = {show(tag)}" if tag else "no kind", f"kind = one of {names}"
    if kind == "too_short":
        return shown, f"at least {entry['ctx']['min_length']}"
    if kind == "literal_error":
        return shown, f"{entry['ctx']['expected']}".replace("'", '"')
    if kind in PLAIN:
        return shown, PLAIN[kind]
    if kind == "tuple_type":
        return shown, f"[[{entry['loc'][-1]}]], one table each" if isinstance(given, dict) else "a list"
    text = message.removeprefix("Value error, ").removeprefix("Input should be ")
    return shown, text


def show(value: object) -> str:
    """Return a value as it would stand in the file, a long one cut."""
    text = str(value).lower() if isinstance(value, bool) else f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]} ..."
