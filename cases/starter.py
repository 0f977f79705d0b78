"""Commented starter cases, written from the models: every field with its meaning and its source."""

from __future__ import annotations

import textwrap
from datetime import date, datetime
from typing import Any

from pydantic.fields import FieldInfo

from stemwall.cases.case import DETAILS, Case
from stemwall.cases.fields import Strict

#: short names of the details, for the command line
SHORT_NAMES = {"crawlspace": "conditioned crawlspace", "slab": "slab on grade"}
SPACES = {"conditioned crawlspace": ("house", "crawlspace"), "slab on grade": ("house",)}
WIDTH = 100

HEADER = """\
A case for stemwall. Lengths and other quantities are plain SI numbers or strings with a unit:
0.2, "8 in", "2 ft 6 in", "R-10", "0.1 perm", "70 degF", "33 kPa", "75 %".
Every value below is the default; delete what you do not want to change.
Numbers carry their source behind a dash. Local codes decide what must be built."""

INDOOR = {
    "house": (
        'temperature = { winter = "68 degF", summer = "75 degF" }',
        'humidity = { winter = "35 %", summer = "55 %" }',
    ),
    "crawlspace": (
        'temperature = { winter = "63 degF", summer = "72 degF" }',
        'humidity = { winter = "45 %", summer = "60 %" }',
    ),
}

VARIANT = """\
A variant is a small difference to everything above; write as many as you like.

[[variant]]
name = "no capillary break"
note = "sill plate straight on the concrete"
change = { "detail.sill.capillary_break" = false }"""


def starter(kind: str) -> str:
    """Return the text of a commented starter case.

    Parameters
    ----------
    kind : str
        A kind of detail, e.g. "slab on grade".
    """
    parts = [_comment(HEADER)]
    for name in ("about", "weather", "site", "run", "mesh", "accuracy"):
        field = Case.model_fields[name]
        parts.append(_table(field.alias or name, field))
    parts += [_indoor(space) for space in SPACES[kind]]
    parts += _model(DETAILS[kind](), "detail", DETAILS[kind].__doc__ or "")
    parts.append(_comment(VARIANT))
    return "\n\n".join(parts) + "\n"


def _indoor(space: str) -> str:
    text = (
        "Air of this space: a constant, a yearly wave, or "
        'file = "hourly.csv" with columns temperature [degC] and relative_humidity [%]. '
        "The numbers are common practice, no source."
    )
    return "\n".join([_comment(text), f"[indoor.{space}]", *INDOOR[space]])


def _table(path: str, field: FieldInfo) -> str:
    return "\n\n".join(_model(field.default, path, field.description or ""))


def _model(model: Strict, path: str, text: str) -> list[str]:
    """Return the table of a model and, after it, those of the models inside it."""
    lines, inner = [_comment(text.splitlines()[0]), f"[{path}]"], []
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if isinstance(value, Strict):
            inner += _model(value, f"{path}.{name}", field.description or "")
        else:
            lines += [*_explain(field), _assignment(name, _as_written(model, name, field))]
    return ["\n".join(lines), *inner]


def _as_written(model: Strict, name: str, field: FieldInfo) -> Any:
    """Return the default with its unit, unless the model holds another value."""
    same = getattr(type(model)(), name) == getattr(model, name)
    return field.default if same else getattr(model, name)


def _explain(field: FieldInfo) -> list[str]:
    extra = field.json_schema_extra
    reason = extra.get("reason", "") if isinstance(extra, dict) else ""
    text = (field.description or "") + (f" — {reason}" if reason else "")
    return [_comment(text)] if text else []


def _comment(text: str) -> str:
    lines = [piece for line in text.splitlines() for piece in textwrap.wrap(line, WIDTH) or [""]]
    return "\n".join(f"# {line}".rstrip() for line in lines)


def _assignment(name: str, value: Any) -> str:
    if value is None:
        return f"# {name} ="
    if isinstance(value, bool):
        return f"{name} = {str(value).lower()}"
    if isinstance(value, datetime | date):
        return f"{name} = {value.isoformat()}"
    return f'{name} = "{value}"' if isinstance(value, str) else f"{name} = {value}"
