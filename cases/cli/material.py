"""The command `material`: a laboratory sheet evaluated, its files written, and what came out on the screen."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from stemwall.cases.cli.input import ask, refuse, refuse_places
from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.page import Answer, material_of_sheet
from stemwall.cases.laboratory.summary import numbers, returned_rows


def evaluate_file(sheet: Path, material: Path | None, page: Path | None, out: Console) -> None:
    """Evaluate a sheet and write both files, or end with every problem of it."""
    refuse_places([material, page])
    try:
        answer = material_of_sheet(sheet, material, page)
    except CaseError as error:
        refuse(map(str, error.problems), "nothing was written")
    ask(map(str, answer.evaluation.doubts))
    _show(answer, out)


def _show(answer: Answer, out: Console) -> None:
    evaluation = answer.evaluation
    about = evaluation.sheet.about
    table = Table("quantity", "value", "unit", "90 % band", "scatter", "specimens", title=escape(about.name))
    for row in numbers(evaluation):
        table.add_row(*map(escape, row))
    out.print(table)
    if answer.returned:
        again = Table("simulated test", "unit", "sheet", "specimens", "simulated", "difference")
        for line in returned_rows(answer.returned):
            again.add_row(*map(escape, line))
        out.print(again)
    for one in answer.dried:
        out.print(escape(f"{one.name}: simulation within {one.apart:.1%} of the first content on the mean"))
    for remark in evaluation.remarks:
        out.print(escape(remark))
    for assumed in evaluation.assumed:
        out.print(f"[bold]assumed:[/bold] {escape(str(assumed))}", highlight=False)
    out.print(f"→ {escape(str(answer.material))}")
    out.print(f"→ {escape(str(answer.page))}")
