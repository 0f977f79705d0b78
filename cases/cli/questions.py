"""Commands that answer a question with several runs or a steady solution: `why`, `steady`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stemwall.cases.cli.input import Terminal, chosen
from stemwall.cases.cli.options import CaseArgument, Units, UnitsOption, WorkersOption

questions = typer.Typer()
out = Terminal()

OneVariant = Annotated[str, typer.Option("--variant", "-v", help="Variant that is asked about; by default the base.")]


@questions.command()
def why(
    place: Annotated[str, typer.Option("--place", "-p", help="Name of the place, as `draw` and reports have it.")],
    case: CaseArgument = None,
    variant: OneVariant = "base",
    source: Annotated[
        list[str] | None,
        typer.Option("--source", "-s", help="Only this source, a key of [without]; may be repeated."),
    ] = None,
    part: Annotated[
        str | None, typer.Option("--part", help="Region whose faces are looked at; by default that of the place.")
    ] = None,
    ledger: Annotated[bool, typer.Option(help="Whether to compute what crosses the faces of the part.")] = True,
    years: Annotated[
        float | None,
        typer.Option("--years", "-y", min=0.0001, max=100, help="Length of the runs, overrides the case."),
    ] = None,
    out_dir: Annotated[Path, typer.Option("--out", "-o", help="Folder in which runs and page get a folder.")] = Path(),
    units: UnitsOption = Units.SI,
    workers: WorkersOption = None,
) -> None:
    """Say whose water it is at a place: sources are switched off one by one and together.

    Rain, water rising out of the footing, moisture from the ground below the floor, summer outdoor
    air, indoor air, construction water, leaks and floods, air through joints, as far as the case has
    them: `stemwall explain without` says what each switch takes away. With up to six sources every
    combination is run, beyond that chosen ones. Results are kept; the same command goes on where it
    stopped.
    """
    from stemwall.cases.cli import why as cli_why

    keys = cli_why.keys_of(source)
    asked_of = chosen(case, [variant])[0]
    folder = cli_why.folder_of(asked_of, out_dir)
    asked = cli_why.Asked(place, keys, years, folder, folder / "why.html", part, ledger, units.value)
    cli_why.why(asked_of, asked, out, workers=workers)


@questions.command()
def steady(
    case: CaseArgument = None,
    variant: OneVariant = "base",
    ground: Annotated[
        float | None,
        typer.Option("--ground", min=0.1, max=10, help="Conductivity of all soil in W/(m K), in place of its own."),
    ] = None,
    winter: Annotated[
        int, typer.Option("--winter", min=2, max=1000, help="Frost of the coldest winter in so many years.")
    ] = 100,
    freezing_index: Annotated[
        float | None,
        typer.Option("--freezing-index", min=0, max=10000, help="Freezing index of that winter in K d, if known."),
    ] = None,
    out_file: Annotated[Path | None, typer.Option("--out", "-o", help="Keep the numbers in this file (JSON).")] = None,
) -> None:
    """Say what standards and energy codes ask of a section, from a solution at rest and one of the yearly wave.

    Linear transmittance (ISO 10211) with inner and outer dimensions, perimeter heat loss factor,
    conductance of the wall below grade, surface temperature factors, heat by month beside ISO 13370,
    and the frost of a design winter. Nothing is marched.
    """
    from stemwall.cases.cli.steady import steady_command

    asked = chosen(case, [variant])[0]
    steady_command(asked, out, ground=ground, years=winter, freezing_index=freezing_index, file=out_file)
