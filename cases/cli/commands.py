"""The command line: `stemwall run`, `report`, `check`, `new`, `material`, `explain`, `weather` and others.

Exit codes: 0 done, 1 a verification case does not hold, 2 the input (or a place to write to) cannot be used, 3 the
computation failed or its result could not be written, 130 interrupted; see `entry`.
Everything heavy is imported inside the commands, so that `--help` answers at once.
"""

from __future__ import annotations

import io
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.markup import escape
from rich.table import Column, Table

from stemwall.cases.cli.entry import main as main
from stemwall.cases.cli.exit_codes import BAD_INPUT, FAILED, INTERRUPTED, NOT_HELD
from stemwall.cases.cli.input import (
    Terminal,
    build_all,
    chosen,
    each_built,
    err,
    listed,
    refuse,
    refuse_places,
)
from stemwall.cases.cli.options import CaseArgument, Units, UnitsOption, VariantOption
from stemwall.cases.cli.questions import questions

if TYPE_CHECKING:
    from stemwall.cases.case_file.case import Case
    from stemwall.materials.material import Material

app = typer.Typer(
    name="stemwall",
    help="Heat and moisture in foundation sections: draw a case, run it through hourly weather, report.",
    epilog="Exit codes: 0 done, 1 a verification case that does not hold, 2 input that cannot be used, "
    "3 failed computation or output, 130 interrupted.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
)
materials_app = typer.Typer(help="Look into the material catalogue.", no_args_is_help=True)
app.add_typer(materials_app, name="materials")
app.add_typer(questions)

out = Terminal()


def _tell_version(asked: bool) -> None:
    if asked:
        from stemwall.cases.setup.run_hash import program_version

        out.print(f"stemwall {program_version()}", highlight=False)
        raise typer.Exit


@app.callback()
def options(
    debug: Annotated[bool, typer.Option("--debug", help="Show the trace of an error that nobody expected.")] = False,
    version: Annotated[bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="Version.")] = False,
) -> None:
    """Options before the command; `entry` looks at this one."""


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
    workers: Annotated[
        int | None,
        typer.Option("--workers", "-w", min=1, max=1024, help="Variants run at once; as many as cores by default."),
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", help="Address of a running dask scheduler, tcp:// or tls://HOST:PORT.")
    ] = None,
    resume: Annotated[
        bool, typer.Option("--resume", help="Leave out what is complete and was made from the same input.")
    ] = False,
) -> None:
    """Simulate a case: one result file (netCDF) per variant.

    Without --variant every variant of the case file is run, the base first, those that a sweep or a
    sample makes included; several run at once, and a table of all places is written beside their
    results. One that fails does not stop the others. NAME.nc is always a complete result, and replaced
    only by another; what an interrupted or failed run had computed goes into NAME.interrupted.nc or
    NAME.failed.nc beside it, and the report shows and names it.
    """
    from stemwall.cases.cli.run import run_many, run_one

    if workers is not None and scheduler is not None:
        refuse([f"--workers: found {workers} beside --scheduler; expected one of the two"])
    cases = chosen(case, variant)
    refuse_places([report_file])
    lost: dict[str, str] = {}
    if len(cases) == 1 and scheduler is None:
        results, whole = [run_one(build_all(cases, years)[0], out_dir, out, resume=resume)], True
    else:
        several = partial(run_many, workers=workers, scheduler=scheduler, resume=resume, some=bool(variant))
        results, lost, whole = several(cases, years, out_dir, out)
    if report_file is not None and results:
        from stemwall.cases.report.page import write_report

        out.print(f"→ {escape(str(write_report(results, report_file, units=units.value, lost=lost)))}")
    if not whole:
        raise typer.Exit(FAILED)


@app.command()
def refine(
    case: CaseArgument = None,
    variant: VariantOption = None,
    out_dir: Annotated[Path, typer.Option("--out", "-o", help="Folder for the tables (JSON and CSV).")] = Path(),
    years: Annotated[
        float | None,
        typer.Option("--years", "-y", min=0.0001, max=100, help="Length of each run; by default one year at most."),
    ] = None,
    study: Annotated[
        list[str] | None, typer.Option("--study", "-s", help="Only this: mesh, steps or ground; may be repeated.")
    ] = None,
) -> None:
    """Compute a case again, finer, and say what that changes at every place.

    Three times beside the case as given: with cells of half the size, with wanted errors and
    longest step halved, with twice the ground. Without --variant only the base. The JSON file
    can be shown in a report, see `report --refined`.
    """
    from stemwall.cases.batch.refine_case import refine_case, refined_paths
    from stemwall.solver.model.errors import OutputError, SectionError, SolverError, told

    setups = build_all(chosen(case, variant or ["base"]), years, most=None if years else 1.0)
    refuse_places(path for setup in setups for path in refined_paths(setup, out_dir))
    for setup in setups:
        try:
            tables, files = refine_case(setup, _studies(study), out_dir, out)
        except (SolverError, SectionError, OutputError) as error:
            err.print(f"{escape(setup.case.title)}: {escape(told(error))}", soft_wrap=True, highlight=False)
            raise typer.Exit(FAILED) from error
        except KeyboardInterrupt as error:
            err.print("interrupted; nothing was written")
            raise typer.Exit(INTERRUPTED) from error
        out.print(*tables, sep="\n\n")
        out.print(*(f"→ {escape(str(file))}" for file in files), sep="\n")


def _studies(names: list[str] | None) -> list[str]:
    """Return the studies asked for, all of them if none is named."""
    from stemwall.cases.batch.refinement import STUDIES

    unknown = [f'--study: found "{name}"; expected {", ".join(STUDIES)}' for name in names or () if name not in STUDIES]
    if unknown:
        refuse(unknown)
    return names or list(STUDIES)


@app.command()
def verify(
    out_file: Annotated[Path, typer.Option("--out", "-o", help="Page to write; JSON goes beside it.")] = Path(
        "verification.html"
    ),
    quick: Annotated[bool, typer.Option("--quick", help="Leave out the slow cases.")] = False,
) -> None:
    """Run the checks against published solutions and common practice, and write a page and JSON that show them.

    Ends with exit code 1 if a case does not hold, unless it is known not to and says why; the page is written all the
    same.
    """
    from stemwall.cases.verification.page.page import write_page
    from stemwall.cases.verification.page.progress import run_shown, table

    refuse_places([out_file, out_file.with_suffix(".json")])
    try:
        outcomes = run_shown(out, quick=quick)
    except KeyboardInterrupt as error:
        err.print("interrupted; nothing was written")
        raise typer.Exit(INTERRUPTED) from error
    out.print(table(outcomes))
    out.print(f"→ {escape(str(write_page(out_file, outcomes)))}")
    if any(outcome.failed for outcome in outcomes):
        raise typer.Exit(NOT_HELD)


@app.command()
def check(case: CaseArgument = None) -> None:
    """Check a case file with all its variants, and say what would be run."""
    from stemwall.cases.setup.material_tables import findings_table
    from stemwall.solver.discretisation.mesh import build_mesh

    cases, used = chosen(case, None), dict[str, "Material"]()
    table = Table("variant", "cells", "hours", "probes", "membranes", "note", title=escape(cases[0].about.title))
    for setup in each_built(cases, None):
        cells = build_mesh(setup.section, setup.mesh).cells
        section = setup.section
        counts = (cells, setup.hours, len(section.probes), len(section.membranes))
        table.add_row(escape(setup.case.name), *(f"{count:,}" for count in counts), escape(setup.case.note))
        used |= setup.materials
    out.print(table)
    _tell_defaults(cases[0])
    asked_about = findings_table(used)
    if asked_about:
        out.print(asked_about)
    out.print("No problems found in the input.")


def _tell_defaults(case: Case) -> None:
    """Print the defaults of tables that a case leaves out."""
    from stemwall.cases.case_file.stated import taken

    shown, others = taken(case)
    if shown:
        key = Column("default taken", no_wrap=True)  # a key is only of use whole
        table = Table(key, "value (SI)", "meaning", "reason", title="Tables that the case leaves out")
        for one in shown:
            table.add_row(*map(escape, (one.path, one.value, one.meaning, one.origin.removeprefix("default: "))))
        out.print(table)
    out.print(f"{others:,} more values are defaults; a report lists every one with its reason.")


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
        refuse([f'--format: found "{suffix}"; expected svg, pdf or png'])
    from stemwall.cases.batch.single_run import slug
    from stemwall.cases.inputs.input_errors import CaseError
    from stemwall.cases.report.section_drawing import draw_case
    from stemwall.cases.setup.build import draw_section
    from stemwall.solver.results.output_places import write_whole

    cases = chosen(case, variant)
    refuse_places(out_dir / f"{slug(one)}.{suffix}" for one in cases)
    for one in cases:
        try:
            section, materials = draw_section(one)
        except CaseError as error:
            refuse(map(str, error.problems))
        figure = draw_case(one, section, materials, mesh=mesh, inches=inches)
        drawn = io.BytesIO()
        figure.savefig(drawn, format=suffix, dpi=200)
        path = write_whole(out_dir / f"{slug(one)}.{suffix}", drawn.getvalue())
        out.print(f"[bold]{escape(one.title)}[/bold] → {escape(str(path))}")


@app.command()
def new(
    detail: Annotated[
        str,
        typer.Argument(
            help="crawlspace, vented, basement, icf or slab; or sheet, soil-sheet or membrane-sheet for the results "
            "of a laboratory."
        ),
    ],
    out_file: Annotated[Path | None, typer.Option("--out", "-o", help="File to write; without it, print.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace an existing file.")] = False,
) -> None:
    """Write a commented starter case with every default, its meaning and its source, or a laboratory sheet."""
    from stemwall.cases.case_file.starter import SHORT_NAMES, starter
    from stemwall.cases.inputs.input_errors import nearest
    from stemwall.cases.laboratory.starter_sheet import SHEETS, starter_sheet

    kind = SHORT_NAMES.get(detail, detail)
    if kind not in SHORT_NAMES.values() and detail not in SHEETS:
        names = [*SHORT_NAMES, *SHEETS]
        hint = nearest(detail, names)
        refuse([f'found "{detail}"; expected {" or ".join(names)}; {hint}'])
    text = starter_sheet(detail) if detail in SHEETS else starter(kind)
    if out_file is None:
        sys.stdout.write(text)
        return
    from stemwall.solver.results.output_places import write_whole

    refuse_places([out_file])
    if out_file.exists() and not force:
        refuse([f"{out_file}: found an existing file; expected a new name, or --force"])
    write_whole(out_file, text)
    out.print(f"→ {escape(str(out_file))}")


@app.command()
def report(
    results: Annotated[list[Path], typer.Argument(help="Result files (netCDF); several are compared.")],
    out_file: Annotated[Path, typer.Option("--out", "-o", help="Report to write.")] = Path("report.html"),
    units: UnitsOption = Units.SI,
    refined: Annotated[
        list[Path] | None, typer.Option("--refined", help="Show these findings of `refine` (JSON); may be repeated.")
    ] = None,
) -> None:
    """Write one self-contained HTML report on one result, or comparing several.

    A file that cannot be read is named, the report is written on the others, and the exit code is 2.
    """
    from stemwall.cases.batch.refinement import Convergence, read
    from stemwall.cases.report.page import write_page
    from stemwall.cases.results.variant import load_each

    refuse_places([out_file])
    variants, wrong = load_each(results)
    problems = [str(error) for error in wrong]
    findings: list[Convergence] = []
    for path in refined or ():
        try:
            findings.append(read(path))
        except ValueError as error:
            problems.append(str(error))
    if not variants:
        refuse(problems, "nothing was written")
    out.print(f"→ {escape(str(write_page(variants, out_file, units=units.value, findings=findings)))}")
    if problems:
        listed(problems, f"the report is on {len(variants)} of {len(results)} results")
        raise typer.Exit(BAD_INPUT)


@app.command()
def explain(
    key: Annotated[
        str | None,
        typer.Argument(metavar="[KEY]", help="A table or key, e.g. detail.insulation; without one, all tables."),
    ] = None,
    page: Annotated[Path | None, typer.Option("--page", help="Write all of it as one page (HTML).")] = None,
) -> None:
    """Say what a case file may say: tables, keys, spelling, limits, defaults and their sources.

    Also the columns of weather, of measured air and of tables, and the variables of a result.
    """
    from stemwall.cases.cli import explain as cli_explain

    if page is not None:
        if key is not None:
            refuse([f"--page: found the key {key!r} beside it; expected one of the two"])
        cli_explain.write_page(page)
        out.print(f"→ {escape(str(page))}")
    else:
        cli_explain.explain(key, out)


@app.command()
def weather(
    file: Annotated[str, typer.Argument(metavar="FILE", help="Weather file, or a climate by name, e.g. hot-humid.")],
    out_file: Annotated[Path, typer.Option("--out", "-o", help="Page to write.")] = Path("weather.html"),
    units: UnitsOption = Units.SI,
    fill_gaps: Annotated[
        int, typer.Option("--fill-gaps", min=0, max=8784, help="Longest gap that may be filled, in hours.")
    ] = 0,
    accept: Annotated[
        list[str] | None, typer.Option("--accept", help="A kind of slip to accept, as in a case; may be repeated.")
    ] = None,
    rain_gaps: Annotated[
        str, typer.Option("--rain-gaps", help="Hours without a report of rain: dry, codes or month.")
    ] = "dry",
) -> None:
    """Write one self-contained page on a weather file: air, rain, sun, ground, gaps, checks, its wettest years.

    A file that a run would refuse is listed with its problems and the exit code is 2; where its values can be shown all
    the same, the page is written and says so.
    """
    from stemwall.cases.report.weather_page import look, write_weather_page
    from stemwall.weather.doubts import SLIPS
    from stemwall.weather.gauge import GAP_RULES

    unknown = [f'--accept: found "{one}"; expected {", ".join(SLIPS)}' for one in accept or () if one not in SLIPS]
    if rain_gaps not in GAP_RULES:
        unknown.append(f'--rain-gaps: found "{rain_gaps}"; expected {", ".join(GAP_RULES)}')
    if unknown:
        refuse(unknown)
    refuse_places([out_file])
    looked = look(file, fill_gaps=fill_gaps, accept=accept or (), rain_gaps=rain_gaps)
    if looked.year is None:
        refuse(map(str, looked.refused), "nothing was written")
    page = write_weather_page(looked, out_file, units=units.value)
    for text in looked.year.warnings:
        err.print(escape(text), soft_wrap=True, highlight=False)
    out.print(f"→ {escape(str(page))}")
    if looked.refused:
        listed([str(problem) for problem in looked.refused], "the page shows the file although a run would refuse it")
        raise typer.Exit(BAD_INPUT)


@app.command()
def material(
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="Laboratory sheet (TOML); see `new sheet`.")],
    out_file: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Material file to write; by default ID.toml."),
    ] = None,
    page: Annotated[Path | None, typer.Option("--page", help="Page to write; by default ID.html.")] = None,
) -> None:
    """Make a material or a membrane of laboratory results: fit them, show data and curves, write a material file.

    The file works in any case: [material.ID] file = "ID.toml". The page shows every test beside its fit, the
    spread, what was assumed, and the tests done again by simulation.
    """
    from stemwall.cases.cli.material import evaluate_file

    evaluate_file(sheet, out_file, page, out)


@materials_app.command("list")
def list_materials(
    word: Annotated[str, typer.Argument(help="Show only entries that contain this word.")] = "",
) -> None:
    """List materials and membranes."""
    from stemwall.cases.setup.material_tables import material_list

    out.print(material_list(word))


@materials_app.command("show")
def show_material(
    identifiers: Annotated[
        list[str], typer.Argument(metavar="ID [OTHER]", help="Id of a material or membrane, or two to compare.")
    ],
    units: UnitsOption = Units.SI,
    figure: Annotated[
        Path | None, typer.Option("--figure", "-f", help="Write the functions to this file, e.g. brick.png or .svg.")
    ] = None,
) -> None:
    """Show every number of a material with its band, source and trust, and its functions; or compare two."""
    from stemwall.cases.inputs.input_errors import nearest
    from stemwall.cases.setup import material_tables as tables
    from stemwall.materials.catalogue import catalogue
    from stemwall.materials.material import Material

    known = catalogue()
    missing = [key for key in identifiers if key not in known]
    if missing or len(identifiers) > 2:
        asked = [
            f"found no material {key!r}; expected an id of the catalogue; {nearest(key, known)}" for key in missing
        ]
        refuse(asked or [f"found {len(identifiers)} ids; expected one, or two to compare"])
    entries = [known[key] for key in identifiers]
    materials = [entry for entry in entries if isinstance(entry, Material)]
    if len(entries) == 2:
        out.print(tables.number_comparison(entries[0], entries[1], units.value))
    else:
        out.print(tables.number_sheet(entries[0], units.value))
    if materials:
        out.print(tables.function_sheet(materials, units.value))
    asked_about = tables.findings_table({material.id: material for material in materials})
    if asked_about:
        out.print(asked_about)
    if figure is not None:
        _draw_functions(materials, figure)


def _draw_functions(materials: list[Material], path: Path) -> None:
    """Write the functions of materials to a file, or say why not."""
    from stemwall.cases.setup.material_figure import save_figure

    if not materials:
        refuse([f"--figure {path}: found a membrane; expected a material, which has functions"])
    try:
        save_figure(materials, path)
    except (OSError, ValueError) as error:
        refuse([f"--figure {path}: {error}"])
    out.print(f"→ {escape(str(path))}")
