"""One page on a sheet: data against curves, residuals, spread, assumptions, simulated tests; it needs no other file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup
from matplotlib.figure import Figure

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory.evaluate import evaluate_sheet
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.figures import figures
from stemwall.cases.laboratory.material_file import material_file
from stemwall.cases.laboratory.read_sheet import read_sheet
from stemwall.cases.laboratory.simulated import Dried, Returned, done_again, dried
from stemwall.cases.laboratory.summary import numbers, residuals, returned_rows
from stemwall.cases.report import style
from stemwall.solver.results.output_places import write_whole


@dataclass(frozen=True)
class Answer:
    """A sheet's evaluation, its simulated tests, and the files that say it."""

    evaluation: Evaluation
    returned: tuple[Returned, ...]
    dried: tuple[Dried, ...]
    material: Path
    page: Path


def material_of_sheet(sheet: str | Path, material: Path | None = None, page: Path | None = None) -> Answer:
    """Evaluate a laboratory sheet and write the material file and the page.

    Parameters
    ----------
    sheet : str or Path
        The sheet (TOML).
    material, page : Path, optional
        Files to write; by default ``ID.toml`` and ``ID.html`` in the present folder, ID as the sheet says.

    Raises
    ------
    CaseError
        With every problem of the sheet.
    OutputError
        If a file cannot be written.
    """
    file = read_sheet(sheet)
    key = file.sheet.about.id
    material, page = material or Path(f"{key}.toml"), page or Path(f"{key}.html")
    if material.resolve() == Path(sheet).resolve():
        raise CaseError([file.problem(("sheet", "id"), f"{material}, this sheet", "another name")])
    evaluation = evaluate_sheet(file)
    membrane = file.sheet.about.kind == "membrane"
    again = () if membrane else tuple(done_again(evaluation))
    drying = () if membrane else tuple(dried(evaluation))
    text = material_file(evaluation, material.name)
    write_whole(material, text)
    write_whole(page, page_text(evaluation, again, drying, text, material.name, file.text))
    return Answer(evaluation, again, drying, material, page)


def page_text(
    evaluation: Evaluation, again: Sequence[Returned], drying: Sequence[Dried], text: str, name: str, sheet_text: str
) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    evaluation : Evaluation
    again, drying : sequence
        Simulated tests.
    text, name : str
        The material file and its name.
    sheet_text : str
        The sheet as it was read.
    """
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(_text("laboratory", "sheet.html"))
    pictures = []
    for number, (title, figure, caption) in enumerate(_figures(evaluation, tuple(drying))):
        with style.style(f"sheet {number}"):
            pictures.append((title, Markup(style.svg(figure, title)), caption))
    about = evaluation.sheet.about
    return template.render(
        style=Markup(_text("report", "report.css")), about=about, file=evaluation.file, draws=about.draws,
        membrane=about.kind == "membrane", doubts=evaluation.doubts, numbers=list(numbers(evaluation)),
        remarks=evaluation.remarks, pictures=pictures, residuals=list(residuals(evaluation)),
        returned=returned_rows(again), dried=drying, assumed=evaluation.assumed, written_to=name,
        spread=len(evaluation.spread), ordered_by=evaluation.ordered_by, text=text, sheet_text=sheet_text,
    )  # fmt: skip


def _figures(evaluation: Evaluation, drying: tuple[Dried, ...]) -> list[tuple[str, Figure, str]]:
    with style.style("sheet"):
        return list(figures(evaluation, drying))


def _text(room: str, name: str) -> str:
    return files(f"stemwall.cases.{room}").joinpath(name).read_text(encoding="utf-8")
