"""Commented starter cases, written from the models: every field with its meaning and its source."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from pydantic.fields import FieldInfo

from stemwall.cases.case_file.case import DETAILS, Case
from stemwall.cases.details.workmanship import poor_value
from stemwall.cases.inputs.field_types import Strict, as_written
from stemwall.cases.surroundings.air_zone import DehumidifierTable, HeaterTable, VentTable, ZoneTable
from stemwall.cases.surroundings.spaces import GIVEN, SPACES
from stemwall.cases.surroundings.water_events import FloodTable, LeakTable

#: short names of the details, for the command line
SHORT_NAMES = {
    "crawlspace": "conditioned crawlspace",
    "vented": "vented crawlspace",
    "basement": "basement",
    "icf": "insulated concrete form wall",
    "slab": "slab on grade",
}
WIDTH = 100

HEADER = """\
A case for stemwall. Lengths and other quantities are plain SI numbers or strings with a unit:
0.2, "8 in", "2 ft 6 in", "R-10", "0.1 perm", "70 degF", "33 kPa", "75 %".
Every value below is the default; delete what you do not want to change.
Numbers carry their source behind a dash. Local codes decide what must be built."""

#: the variant that a starter shows: name, note, and the changes
VARIANTS: dict[str, tuple[str, str, tuple[tuple[str, str], ...]]] = {
    "conditioned crawlspace": (
        "no capillary break", "sill plate straight on the concrete", (("detail.sill.capillary_break", "false"),)
    ),
    "vented crawlspace": (
        "insulated floor",
        "batts between the joists over bare earth",
        (("detail.floor.insulation_thickness", '"5 1/2 in"'), ("detail.earth.ground_cover", "false")),
    ),
    "basement": (
        "framed, no foam",
        "a frame wall with batts on the bare wall",
        (("detail.insulation.placement", '"none"'), ("detail.lining.frame_depth", '"3 1/2 in"'),
         ("detail.lining.board_thickness", '"1/2 in"')),
    ),
    "insulated concrete form wall": (
        "drained", "a drainage mat outside that leads to a footing drain",
        (("detail.wall.drainage_mat", '"dimple_hdpe"'), ("detail.drain.present", "true")),
    ),
    "slab on grade": (
        "shallow, with wing insulation", "a footing at 16 in, foam outside and level in the ground",
        (("detail.wall.below_grade", '"16 in"'), ("detail.insulation.placement", '"outside"'),
         ("detail.wing.thickness", '"2 in"')),
    ),
}  # fmt: skip


def starter(kind: str) -> str:
    """Return the text of a commented starter case.

    Parameters
    ----------
    kind : str
        A kind of detail, e.g. "slab on grade".
    """
    parts = [_comment(HEADER)]
    for name, field in Case.model_fields.items():
        if isinstance(field.default, Strict):
            parts.append(_table(field.alias or name, field))
    space, zone = SPACES.get(kind, ("", None))
    parts += [_indoor(key) for key in ("house", space) if key in GIVEN]
    if zone is not None:
        text = f"The air of this space, computed; a table [indoor.{space}] in its place gives it, as for the house."
        parts += _model(zone, f"zone.{space}", text)
    parts += _model(DETAILS[kind](), "detail", DETAILS[kind].__doc__ or "")
    parts += [_left_out(text) for text in optional(kind)]
    parts.append(_comment(_variant(*VARIANTS[kind])))
    return "\n\n".join(parts) + "\n"


def optional(kind: str) -> list[str]:
    """Return the tables that a case may have besides: what else moves a space's air, a leak, a flood, with defaults."""
    space, zone = SPACES.get(kind, ("", None))
    where = {"where": space, "level": -0.6} if space else {"level": 0.1}
    example = "one table each — place and name are examples."
    tables: list[tuple[Strict, str, str]] = [
        *_air_tables(space, zone),
        (LeakTable(name="pipe", x=-0.3, y=-0.5), "[leak]", f"Water brought to a place x, y in m; {example}"),
        (FloodTable(name="flood", **where), "[flood]", f"Water that stands up to a level y in m; {example}"),
    ]
    return ["\n\n".join(_model(model, path, text)) for model, path, text in tables]


def _air_tables(space: str, zone: ZoneTable | None) -> list[tuple[Strict, str, str]]:
    """Return the tables of computed air that a starter leaves out: the whole zone, or its openings and appliances."""
    if not space:
        return []
    whole = ZoneTable(vents=VentTable(), heater=HeaterTable(), dehumidifier=DehumidifierTable())
    if zone is None:
        return [(whole, f"zone.{space}", f"The air of this space computed, in place of [indoor.{space}].")]
    fields = ZoneTable.model_fields
    return [
        (getattr(whole, name), f"zone.{space}.{name}", fields[name].description or "")
        for name in fields
        if getattr(zone, name) is None
    ]


def _left_out(text: str) -> str:
    """Return a table as a comment, each line by itself, so that it can be taken in again."""
    return "\n".join(f"# {line}".rstrip() for line in text.splitlines())


def _variant(name: str, note: str, changes: tuple[tuple[str, str], ...]) -> str:
    text = "A variant is a small difference to everything above; write as many as you like.\n\n"
    lines = [f'"{path}" = {value}' for path, value in changes]
    reason = "# numbers of a variant — common practice, no source"
    return text + "\n".join(["[[variant]]", reason, f'name = "{name}"', f'note = "{note}"', "[variant.change]", *lines])


def _indoor(space: str) -> str:
    text = (
        "Air of this space: a constant, a yearly wave, a schedule such as "
        '{ day = [[0, "17 degC"], [6, "21 degC"]], weekend = [[0, "21 degC"]] }, relation = "EN 15026", '
        '"ISO 13788" or "ASHRAE 160" instead of both (temperature may be stated with it), or '
        'file = "hourly.csv" with columns temperature [degC] and relative_humidity [%]. '
        "The numbers are common practice, no source."
    )
    lines = [f"{name} = {_inline(wave)}" for name, wave in GIVEN[space].items()]
    return "\n".join([_comment(text), f"[indoor.{space}]", *lines])


def _inline(table: Mapping[str, str]) -> str:
    return "{ " + ", ".join(f'{key} = "{value}"' for key, value in table.items()) + " }"


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
            written = _assignment(name, as_written(model, name, field))
            # what a preset sets is not stated: the preset would no longer change it
            preset = poor_value(field.json_schema_extra) is not None
            lines += [*_explain(field), _comment(written) if preset else written]
    return ["\n".join(lines), *inner]


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
    if isinstance(value, tuple):
        return f"{name} = {list(value)}"  # of texts: TOML takes single quotes, too
    return f'{name} = "{value}"' if isinstance(value, str) else f"{name} = {value}"
