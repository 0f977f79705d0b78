"""How the value of a key is written, read off its annotation: spellings, unit of a plain number, limits, default."""

from __future__ import annotations

import types
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from stemwall.cases.inputs.field_types import Spelling
from stemwall.materials.ranges import Kind, Quantity, minus

NOT_STATED = "not stated"
PLAIN: dict[Any, str] = {
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    str: "a text",
    datetime: "a date, or a date with hours, e.g. 2001-10-01 or 2001-10-01T06:00:00",
    Any: "any value that fits",
}


@dataclass(frozen=True)
class Form:
    """How a value is written.

    Parameters
    ----------
    accepts : str
        What is accepted, with examples.
    unit : str
        Unit of a plain number; empty without one.
    limits : str
        Accepted range; empty if there is none, or if choices say it.
    """

    accepts: str
    unit: str = ""
    limits: str = ""


def form_of(field: FieldInfo) -> Form:
    """Return how the value of a field is written."""
    return _form(field.annotation, field.metadata)


def _form(annotation: Any, metadata: Sequence[Any]) -> Form:
    """Form of an annotation with what stands beside it, told by the first of them that says it in full."""
    said = [meta.text for meta in metadata if isinstance(meta, Spelling)]
    kinds = [*_kinds(metadata), *(kind for _, beside in _parts(annotation) for kind in _kinds(beside))]
    if not said and kinds and kinds[0] in _kinds(metadata):
        said = [_asked(kinds[0])]
    if kinds:
        return Form(said[0] if said else _words(annotation), _unit(kinds[0]), _range(kinds[0]))
    return Form(said[0] if said else _words(annotation), "", _limits(annotation, metadata))


def _asked(kind: Kind) -> str:
    """What a kind of number asks for, without its limits."""
    whole = ", a whole number" if kind.whole else ""
    return f"{kind.name}{whole}" + (f", e.g. {kind.examples}" if kind.examples else "")


def _words(annotation: Any) -> str:
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _form(arguments[0], arguments[1:]).accepts
    if origin is Literal:
        return alternatives([written(value) for value in arguments])
    if origin in (Union, types.UnionType):
        inner = [_words(one) for one in arguments if one is not type(None)]
        return ", or ".join(dict.fromkeys(inner))
    if origin in (tuple, list):
        each = _words(arguments[0])
        return "tables" if each == "a table" else f"a list [...], each {each}"
    if origin is dict or (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        return "a table"
    return PLAIN.get(annotation, str(annotation))


def _parts(annotation: Any) -> Iterator[tuple[Any, tuple[Any, ...]]]:
    """Annotations inside another, each with what stands beside it."""
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        yield arguments[0], arguments[1:]
        yield from _parts(arguments[0])
    elif origin is not Literal:
        for one in arguments:
            yield from _parts(one)


def _kinds(metadata: Sequence[Any]) -> list[Kind]:
    """Kinds of quantity that stand beside an annotation."""
    return [meta.kind for meta in metadata if isinstance(meta, Quantity)]


def _unit(kind: Kind) -> str:
    return "" if kind.unit in ("", "1") else kind.unit.removesuffix(" of water")


def _limits(annotation: Any, metadata: Sequence[Any]) -> str:
    for beside in (metadata, *(beside for _, beside in _parts(annotation))):
        told = " and ".join(filter(None, map(_limit, _flat(beside))))
        if told:
            return told
    return ""


def _flat(metadata: Sequence[Any]) -> Iterator[Any]:
    """What stands beside an annotation, fields in it taken apart."""
    for meta in metadata:
        if isinstance(meta, FieldInfo):
            yield from meta.metadata
        else:
            yield meta


def _limit(meta: Any) -> str:
    match meta:
        case Gt(gt=low):
            return f"above {_told(low)}"
        case Ge(ge=low):
            return f"at least {_told(low)}"
        case Lt(lt=high):
            return f"below {_told(high)}"
        case Le(le=high):
            return f"at most {_told(high)}"
        case MinLen(min_length=least):
            return f"at least {least} of them"
    return ""


def _told(number: Any) -> str:
    """Return a limit: whole numbers in full, as long as they can be read."""
    whole = float(number).is_integer() and abs(number) < 1e10
    return f"{number:,.0f}".replace("-", "−") if whole else minus(float(number))


def _range(kind: Kind) -> str:
    """Limits of a kind, and where values usually lie."""
    if kind.low == float("-inf"):
        told = "" if kind.high == float("inf") else f"at most {_told(kind.high)}"
    elif kind.high == float("inf"):
        told = f"{'above' if kind.open_low else 'at least'} {_told(kind.low)}"
    else:
        low, high = _told(kind.low), _told(kind.high)
        told = f"above {low} and at most {high}" if kind.open_low else f"{low} to {high}"
    usual = "" if kind.usual in ((kind.low, kind.high), (float("-inf"), float("inf"))) else kind.usually
    return "; ".join(filter(None, (f"{told} {_unit(kind)}".strip() if told else "", usual)))


def alternatives(texts: Sequence[str]) -> str:
    """Return "a, b or c"."""
    return " or ".join(filter(None, (", ".join(texts[:-1]), texts[-1])))


def written(value: Any) -> str:
    """Return a value as it stands in a case file; empty for a table."""
    if value is None:
        return NOT_STATED
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, BaseModel):
        return ""
    if isinstance(value, tuple | list | dict):
        return f"[{', '.join(map(written, value))}]" if value else "none"
    if isinstance(value, float):
        return f"{value:.6g}"
    return f'"{value}"' if isinstance(value, str) else str(value)
