"""The command `explain`: what the keys of a case and the columns of files mean, on the screen and as a page."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from stemwall.cases.cli.input import refuse
from stemwall.cases.reference.files import OPTIONAL, file_tables
from stemwall.cases.reference.forms import NOT_STATED
from stemwall.cases.reference.keys import REQUIRED, Key, Table, find, similar, tables, tables_of, together

#: begins the paths of a laboratory sheet's tables
SHEET = "sheet"


def explain(text: str | None, out: Console) -> None:
    """Show all tables, or the table or the key of a path; end with code 2 if there is none."""
    groups = _groups()
    every = [table for _, group in groups for table in group]
    if text is None:
        for heading, group in groups:
            out.print(Text(f"{heading}", style="bold"))
            for table in group:
                _entry(table.heading, table.meaning, out)
        return
    found = find(text, every)
    if not found and text == SHEET:
        found = [(table, table.keys) for table in sheet_tables()]
    if not found:
        close = similar(text, every)
        hint = f"; did you mean {', '.join(close)}?" if close else ""
        refuse([f"found no key or table {text!r}; expected one that `stemwall explain` lists{hint}"])
    for table, keys in found:
        _show(table, keys, out)


def sheet_tables() -> tuple[Table, ...]:
    """Return the tables of a laboratory sheet, under their own name."""
    from stemwall.cases.laboratory.sheet import Sheet

    return tables_of(SHEET, Sheet)


def _groups() -> tuple[tuple[str, tuple[Table, ...]], ...]:
    return (
        ("Tables of a case file", tables()),
        ("Files", file_tables()),
        ("Tables of a laboratory sheet", sheet_tables()),
    )


def _show(table: Table, keys: Sequence[Key], out: Console) -> None:
    _lines(Text.assemble((table.heading, "bold"), f"  {table.meaning}"), 0, 2, out)
    for line in about(table):
        _lines(Text(line), 2, 4, out)
    for key in keys:
        _entry(key.name, key.meaning, out)
        for line in details(key):
            _lines(Text(line), 6, 8, out)


def _entry(name: str, meaning: str, out: Console) -> None:
    """Print a name with its meaning."""
    _lines(Text.assemble((name, "bold"), f"  {meaning}"), 2, 4, out)


def _lines(text: Text, first: int, further: int, out: Console) -> None:
    """Print a text whose first line is indented by so many columns and its further lines by so many."""
    for n, line in enumerate(text.wrap(out, out.width - further)):
        line.rstrip()
        out.print(Padding(line, (0, 0, 0, further if n else first), expand=False))


def about(table: Table) -> list[str]:
    """Return what holds for a whole table."""
    lines = [f"only with {together(table.only)}"] if table.only else []
    return [*lines, f"forms: {'; '.join(table.forms)}"] if table.forms else lines


def details(key: Key) -> list[str]:
    """Return how a key is written, in which limits, its default and where that comes from."""
    default = given(key)
    plain = key.default in (REQUIRED, NOT_STATED, OPTIONAL) or not default
    return [line for line in (written_as(key), default if plain else f"default {default}", only(key)) if line]


def written_as(key: Key) -> str:
    """Return how a key is written, with its unit and limits."""
    unit = f"plain numbers are in {key.form.unit}" if key.form.unit and "e.g." in key.form.accepts else key.form.unit
    parts = [key.form.accepts, unit, key.form.limits, f"see {key.inner}" if key.inner else ""]
    return "; ".join(filter(None, parts))


def given(key: Key) -> str:
    """Return the default of a key and where it comes from."""
    return " — ".join(filter(None, (key.default, key.reason)))


def only(key: Key) -> str:
    """Return the forms of the table that have a key."""
    return f"only with {together(key.only)}" if key.only else ""


def write_page(path: Path) -> None:
    """Write all of it as one page that needs no other file."""
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(_text("reference", "reference.html"))
    style = Markup(_text("report", "report.css"))
    groups = _groups()
    words = {"about": about, "written_as": written_as, "given": given, "only": only}
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(template.render(style=style, groups=groups, **words), encoding="utf-8")


def _text(room: str, name: str) -> str:
    return files(f"stemwall.cases.{room}").joinpath(name).read_text(encoding="utf-8")
