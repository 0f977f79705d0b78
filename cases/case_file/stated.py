"""Every single value of a case with its meaning and its origin: the case file, or a default and its reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from stemwall.cases.case_file.case import Case
from stemwall.cases.inputs.display_units import significant
from stemwall.cases.surroundings.spaces import REASON


@dataclass(frozen=True)
class Setting:
    """One value of a case with its meaning and where it comes from."""

    path: str
    value: str
    meaning: str
    origin: str


def settings_of(model: BaseModel, prefix: str = "", reason: str = "") -> Iterator[Setting]:
    """Yield every single value of a case or one of its tables, stated or default, in SI.

    ``reason`` says why the whole table is a default; empty if it was stated.
    """
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        path = f"{prefix}{field.alias or name}"
        if isinstance(value, BaseModel):
            yield from settings_of(value, f"{path}.", reason)
        elif isinstance(value, dict):
            assumed = model.assumed if isinstance(model, Case) else frozenset()
            for key, inner in value.items():
                if isinstance(inner, BaseModel):
                    yield from settings_of(inner, f"{path}.{key}.", REASON if key in assumed else reason)
        elif isinstance(value, tuple) and any(isinstance(inner, BaseModel) for inner in value):
            for number, inner in enumerate(value):
                yield from settings_of(inner, f"{path}.{getattr(inner, 'name', number)}.", reason)
        elif not isinstance(value, tuple) and name not in ("title", "text"):
            yield Setting(path, _value(value), field.description or "", _origin(model, name, reason))


def _origin(model: BaseModel, name: str, reason: str) -> str:
    if not reason:
        if name in model.model_fields_set:
            return "case file"
        extra = type(model).model_fields[name].json_schema_extra
        reason = str(extra.get("reason", "")) if isinstance(extra, dict) else ""
    return "default" + (f": {reason}" if reason else "")


def _value(value: object) -> str:
    if value is None or value is False:
        return "none"
    if value is True:
        return "yes"
    return significant(value, 6) if isinstance(value, float) else str(value)


def taken(case: Case) -> tuple[list[Setting], int]:
    """Return the defaults of tables that a case leaves out, and the number of all other defaults.

    Tables within tables count among the others, such as the parts of a detail, and sources of moisture that are not
    switched off; the air of a space is shown.
    """
    missing = set(type(case).model_fields) - case.model_fields_set
    shown, others = [], 0
    for setting in settings_of(case):
        parts = setting.path.split(".")
        if not setting.origin.startswith("default") or parts[0] == "case":
            continue
        space = parts[0] in ("indoor", "zone") and parts[1] in case.assumed
        if (space and setting.value not in ("none", "0")) or (parts[0] in missing - {"without"} and len(parts) == 2):
            shown.append(setting)
        else:
            others += 1
    return shown, others
