"""The command line: `stemwall run`, `draw`, `check`, `new`, `materials`, `report`.

Exit codes: 0 done, 2 the input cannot be used, 3 the computation failed, 130 interrupted.
Everything heavy is imported inside the commands, so that `--help` answers at once.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer
from rich.console import Console
from rich.markup import escape
from rich.table import Table

if TYPE_CHECKING:
    from stemwall.cases.build import Setup
    from stemwall.cases.case import Case
    from stemwall.cases.case_file import CaseFile

OK, BAD_INPUT, FAILED, INTERRUPTED = 0, 2, 3, 130

app = typer.Typer(
    name="stemwall",
    help="Heat and moisture in foundation sections: draw a case, run it through hourly weather, report.",
    epilog="Exit codes: 0 done, 2 input that cannot be used, 3 failed computation, 130 interrupted.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
)
materials_app = typer.Typer(help="Look into the material catalogue.", no_args_is_help=True)
app.add_typer(materials_app, name="materials")

out = Console()
err = Console(stderr=True)

CaseArgument = Annotated[
    Path | None, typer.Argument(metavar="[CASE]", help="Case file (TOML); without one, the default case.")
]
VariantOption = Annotated[
    list[str] | None, typer.Option("--variant", "-v", help="Only this variant; may be repeated.")
]


class Units(StrEnum):
    """Units of a report."""

    SI = "SI"
    IP = "IP"


UnitsOption = Annotated[Units, typer.Option("--units", "-u", help="Units of the report: SI or inch-pound (IP).")]


@app.command()
def run(
    case: CaseArgument = None,
    variant: VariantOption = None,
    out_dir: Annotated[Path, typer.Option("--out", "-o", help="Folder for the result files.")] = Path(),
    years: Annotated[
        float | None,
        typer.Option("--years", "-y", min=0.0001, max=100, help="Length of the run, overrides the case."),
    ] = None,
    report_file: Annotated[
        Path | None, typer.Option("--report", "-r", help="Then write this report on what was run.")
    ] = None,
    units: UnitsOption = Units.SI,
) -> None:
    """Simulate a case: one result file (netCDF) per variant.

    Without --variant every variant of the case file is run, the base first. Ctrl-C keeps what was
    computed until then. An existing result is replaced only when the new one is complete.
    """
    from stemwall.cases.runs import result_path, run_case
    from stemwall.solver.errors import SectionError, SolverError

    cases = _chosen(case, variant)
    setups = _build_all(cases, years)
    out_dir.mkdir(parents=True, exist_ok=True)
    results = []
    for setup in setups:
        try:
            path = run_case(setup, out_dir, out)
        except (SolverError, SectionError) as error:
            err.print(f"{escape(setup.case.title)}: {escape(str(error))}", soft_wrap=True, highlight=False)
            raise typer.Exit(FAILED) from error
        except KeyboardInterrupt as error:
            err.print(f"interrupted; what was computed is in {escape(str(result_path(setup, out_dir)))}")
            raise typer.Exit(INTERRUPTED) from error
        results.append(path)
        out.print(f"[bold]{escape(setup.case.title)}[/bold] → {escape(str(path))}")
    if report_file is not None:
        from stemwall.cases.report import write_report

        out.print(f"→ {escape(str(write_report(results, report_file, units=units.value)))}")


@app.command()
def check(case: CaseArgument = None) -> None:
    """Check a case file with all its variants, and say what would be run."""
    setups = _build_all(_chosen(case, None), None)
    table = Table(
        "variant", "cells", "hours", "probes", "membranes", "note", title=escape(setups[0].case.about.title)
    )
    from stemwall.solver.mesh import build_mesh

    for setup in setups:
        cells = build_mesh(setup.section, setup.mesh).cells
        section = setup.section
        counts = (cells, setup.hours, len(section.probes), len(section.membranes))
        table.add_row(escape(setup.case.name), *(f"{count:,}" for count in counts), escape(setup.case.note))
    out.print(table)
    out.print("No problems found in the input.")


@app.command()
def draw(
    case: CaseArgument = None,
    variant: VariantOption = None,
    out_dir: Annotated[Path, typer.Option("--out", "-o", help="Folder for the drawings.")] = Path(),
    mesh: Annotated[bool, typer.Option("--mesh", help="Show the mesh.")] = False,
    inches: Annotated[bool, typer.Option("--inches", help="Dimensions in feet and inches.")] = False,
    suffix: Annotated[str, typer.Option("--format", "-f", help="svg, pdf or png.")] = "svg",
) -> None:
    """Draw the section of a case to scale, with its probes numbered."""
    if suffix not in ("svg", "pdf", "png"):
        _refuse([f'--format: found "{suffix}"; expected svg, pdf or png'])
    from stemwall.cases.build import draw_section
    from stemwall.cases.drawing import draw_case
    from stemwall.cases.problems import CaseError
    from stemwall.cases.runs import slug

    for chosen in _chosen(case, variant):
        try:
            section, materials = draw_section(chosen)
        except CaseError as error:
            _refuse(map(str, error.problems))
        figure = draw_case(chosen, section, materials, mesh=mesh, inches=inches)
        out_dir.mkdir(parents=True, exist_ok=True)
        path = out_dir / f"{slug(chosen)}.{suffix}"
        figure.savefig(path, dpi=200)
        out.print(f"[bold]{escape(chosen.title)}[/bold] → {escape(str(path))}")


@app.command()
def new(
    detail: Annotated[str, typer.Argument(help="crawlspace, vented, basement, icf or slab.")],
    out_file: Annotated[
        Path | None, typer.Option("--out", "-o", help="File to write; without it, print.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace an existing file.")] = False,
) -> None:
    """Write a commented starter case with every default, its meaning and its source."""
    from stemwall.cases.problems import nearest
    from stemwall.cases.starter import SHORT_NAMES, starter

    kind = SHORT_NAMES.get(detail, detail)
    if kind not in SHORT_NAMES.values():
        hint = nearest(detail, SHORT_NAMES)
        _refuse([f'found "{detail}"; expected {" or ".join(SHORT_NAMES)}; {hint}'])
    text = starter(kind)
    if out_file is None:
        sys.stdout.write(text)
        return
    if out_file.exists() and not force:
        _refuse([f"{out_file}: found an existing file; expected a new name, or --force"])
    out_file.write_text(text, encoding="utf-8")
    out.print(f"→ {escape(str(out_file))}")


@app.command()
def report(
    results: Annotated[list[Path], typer.Argument(help="Result files (netCDF); several are compared.")],
    out_file: Annotated[Path, typer.Option("--out", "-o", help="Report to write.")] = Path("report.html"),
    units: UnitsOption = Units.SI,
) -> None:
    """Write one self-contained HTML report on one result, or comparing several."""
    missing = [
        f"{path}: found no such file; expected a result file" for path in results if not path.is_file()
    ]
    if missing:
        _refuse(missing)
    from stemwall.cases.report import write_report

    path = write_report(results, out_file, units=units.value)
    out.print(f"→ {escape(str(path))}")


@materials_app.command("list")
def list_materials(
    word: Annotated[str, typer.Argument(help="Show only entries that contain this word.")] = "",
) -> None:
    """List materials and membranes."""
    from stemwall.cases.stock_tables import material_list

    out.print(material_list(word))


@materials_app.command("show")
def show_material(
    identifier: Annotated[str, typer.Argument(metavar="ID", help="Id of a material or membrane.")],
) -> None:
    """Show one material or membrane with the source of every property."""
    from stemwall.cases.problems import nearest
    from stemwall.cases.stock_tables import material_sheet
    from stemwall.materials.catalogue import catalogue

    known = catalogue()
    if identifier not in known:
        hint = nearest(identifier, known)
        _refuse([f"found no material {identifier!r}; expected an id of the catalogue; {hint}"])
    out.print(material_sheet(known[identifier]))


def _load(path: Path | None) -> CaseFile:
    """Read a case file, or end with every problem listed."""
    from stemwall.cases.case_file import default_path, load_case
    from stemwall.cases.problems import CaseError

    try:
        return load_case(default_path() if path is None else path)
    except CaseError as error:
        _refuse(map(str, error.problems))


def _chosen(path: Path | None, names: list[str] | None) -> list[Case]:
    """Return the variants asked for, all of them if none is named."""
    from stemwall.cases.problems import CaseError

    file = _load(path)
    try:
        return [file.variant(name) for name in names] if names else file.variants()
    except CaseError as error:
        _refuse(map(str, error.problems))


def _build_all(cases: list[Case], years: float | None) -> list[Setup]:
    """Build every case, or end with the problems of all of them."""
    from stemwall.cases.build import build
    from stemwall.cases.problems import CaseError

    setups, problems = [], {}
    for case in cases:
        try:
            setups.append(build(case, years))
        except CaseError as error:
            problems.update(
                {(p.line, p.found): str(p) for p in error.problems if (p.line, p.found) not in problems}
            )
    if problems:
        _refuse(problems.values())
    return setups


def _refuse(problems: Iterable[str]) -> NoReturn:
    """Print all problems and end with the exit code of bad input."""
    listed = list(problems)
    for problem in listed:
        err.print(escape(problem), soft_wrap=True, highlight=False)
    err.print(f"[bold]{len(listed)} problem{'s' if len(listed) > 1 else ''}; nothing was run.[/bold]")
    raise typer.Exit(BAD_INPUT)


def main() -> None:
    """Run the command line."""
    app()
