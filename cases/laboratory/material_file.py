"""The material file: one table for a case, the spread of its numbers, and how both are used, as TOML."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from stemwall.cases.laboratory.evaluation import Evaluation

WIDTH = 110


def material_file(evaluation: Evaluation, name: str) -> str:
    """Return the text of a material file.

    Parameters
    ----------
    evaluation : Evaluation
    name : str
        Name that the file will have, for the lines that say how to use it.
    """
    about = evaluation.sheet.about
    key = f"material.{about.id}"
    lines = [
        *_comment(f"{about.name}: written by `stemwall material {evaluation.file}`. {about.laboratory}".strip()),
        "#",
        *_comment("In a case, beside the file:"),
        f"#   [{key}]",
        f"#   file = {json.dumps(name)}",
        *_comment(f'and "{about.id}" wherever a {_kind(evaluation)} is named. Its spread, in rising order of the '
                  f"{evaluation.ordered_by}, is drawn from by"),
        "#   [sample]",
        "#   count = 20",
        f'#   change."{key}.rank" = {{ kind = "uniform", low = 0, high = 1 }}',
        *(["#", *_comment("Assumed, since nothing was tested:")] if evaluation.assumed else []),
        *(line for one in evaluation.assumed for line in _comment(f"- {one}")),
        "",
        f"[{key}]",
        *(f"{name} = {written(value)}" for name, value in evaluation.table.items() if not isinstance(value, Mapping)),
        *(f"{name} = {written(value)}" for name, value in evaluation.table.items() if isinstance(value, Mapping)),
    ]  # fmt: skip
    if evaluation.table.get("note") is None and about.laboratory:
        lines.insert(lines.index(f"[{key}]") + 2, f"note = {json.dumps(about.laboratory, ensure_ascii=False)}")
    for drawn in evaluation.spread:
        lines += ["", f"[[{key}.spread]]", *(f"{name} = {written(value)}" for name, value in drawn.items())]
    return "\n".join(lines) + "\n"


def _kind(evaluation: Evaluation) -> str:
    return "membrane" if evaluation.sheet.about.kind == "membrane" else "material"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, WIDTH)]


def written(value: Any) -> str:
    """Return a value as TOML, tables and lists on one line."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {written(item)}" for key, item in value.items()) + " }"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Sequence):
        return "[" + ", ".join(written(item) for item in value) + "]"
    return f"{value:.9g}"
