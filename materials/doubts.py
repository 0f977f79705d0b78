"""What is unusual about a valid case: numbers outside the ranges that their fields name, with the likely slip."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from stemwall.materials.ranges import Quantity

Location = tuple[str | int, ...]
#: (place, found, expected)
Doubt = tuple[Location, str, str]


def marks(field: FieldInfo) -> list[Quantity]:
    """Return what the numbers of a field are: the marks of its type, those inside unions and lists included."""
    return [item for item in (*field.metadata, *_inner(field.annotation)) if isinstance(item, Quantity)]


def _inner(annotation: Any) -> Iterator[Any]:
    yield from getattr(annotation, "__metadata__", ())
    for argument in get_args(annotation):
        yield from _inner(argument)


def doubts(model: BaseModel, given: object, at: Location = ()) -> Iterator[Doubt]:
    """Yield what is unusual about stated values; defaults are never in doubt.

    Parameters
    ----------
    model : BaseModel
        A valid model.
    given : object
        The table that it was read from.
    at : Location
        Place of that table.
    """
    if not isinstance(given, Mapping):
        return
    for name, field in type(model).model_fields.items():
        key = field.alias or name
        if key in given:
            yield from _of_value(getattr(model, name), given[key], (*at, key), marks(field))


def _of_value(value: object, given: object, at: Location, known: list[Quantity]) -> Iterator[Doubt]:
    if isinstance(value, BaseModel):
        # a single number may stand for a table with ``value``
        yield from doubts(value, given if isinstance(given, Mapping) else {"value": given}, at)
    elif isinstance(value, Mapping) and isinstance(given, Mapping):
        for key, inner in value.items():
            if isinstance(inner, BaseModel):
                yield from doubts(inner, given.get(key), (*at, key))
    elif isinstance(value, tuple | list) and isinstance(given, list) and any(isinstance(i, BaseModel) for i in value):
        for number, (inner, table) in enumerate(zip(value, given, strict=False)):
            yield from doubts(inner, table, (*at, number))
    else:
        bare = given["value"] if isinstance(given, Mapping) and "value" in given else given
        for mark in known:
            yield from ((at, found, expected) for found, expected in mark.doubts(bare))
