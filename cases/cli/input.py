"""What the commands begin with: cases read and built, or every problem listed and exit code 2."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import typer
from rich.console import Console
from rich.markup import escape

from stemwall.cases.cli.exit_codes import BAD_INPUT

if TYPE_CHECKING:
    from stemwall.cases.case_file.case import Case
    from stemwall.cases.case_file.read import CaseFile
    from stemwall.cases.setup.build import Setup


class Terminal(Console):
    """A console that goes on in silence when nobody reads it any more: a run does not end for that."""

    def on_broken_pipe(self) -> None:
        """Let what is printed from here on go nowhere."""
        self.quiet = True
        os.dup2(os.open(os.devnull, os.O_WRONLY), self.file.fileno())


err = Terminal(stderr=True)


def load(path: Path | None) -> CaseFile:
    """Read a case file, or end with every problem listed."""
    from stemwall.cases.case_file.read import default_path, load_case
    from stemwall.cases.inputs.input_errors import CaseError

    try:
        return load_case(default_path() if path is None else path)
    except CaseError as error:
        refuse(map(str, error.problems))


def chosen(path: Path | None, names: list[str] | None) -> list[Case]:
    """Return the variants asked for, all of them if none is named."""
    from stemwall.cases.inputs.input_errors import CaseError

    file = load(path)
    try:
        return [file.variant(name) for name in names] if names else file.variants()
    except CaseError as error:
        refuse(map(str, error.problems))


def build_all(cases: list[Case], years: float | None, *, most: float | None = None) -> list[Setup]:
    """Build every case, or end with the problems of all of them.

    Parameters
    ----------
    cases : list of Case
        Variants.
    years : float or None
        Length of the runs in years of 8760 h, instead of the cases' own.
    most : float or None
        No run is longer than so many years.
    """
    return list(each_built(cases, years, most))


def each_built(cases: list[Case], years: float | None, most: float | None = None) -> Iterator[Setup]:
    """Yield every set-up; after the last, end with the problems of all of them."""
    from stemwall.cases.inputs.input_errors import CaseError
    from stemwall.cases.setup.build import build

    problems: dict[tuple[int | None, str], str] = {}
    unusual: dict[tuple[int | None, str, str], str] = {}
    for case in cases:
        try:
            length = case.run.years if years is None else years
            setup = build(case, length if most is None else min(length, most))
            for doubt in setup.doubts:
                unusual.setdefault((doubt.line, doubt.found, doubt.expected), str(doubt))
            yield setup
        except CaseError as error:
            problems.update({(p.line, p.found): str(p) for p in error.problems if (p.line, p.found) not in problems})
    ask(unusual.values())
    if problems:
        refuse(problems.values())


def ask(doubts: Iterable[str]) -> None:
    """Print what is unusual about the input, loudly: it is used as it stands, but may be a slip."""
    for doubt in doubts:
        err.print(f"[bold yellow]unusual:[/bold yellow] {escape(doubt)}", soft_wrap=True, highlight=False)


def refuse_places(files: Iterable[Path | None], results: Iterable[Path] = ()) -> None:
    """Make the folders of files that will be written, or end with what stands in the way of each.

    Parameters
    ----------
    files : iterable of Path or None
        Files; None is left out.
    results : iterable of Path
        Results of runs, which no other run may be writing now.
    """
    from stemwall.solver.model.errors import PlaceError
    from stemwall.solver.results.output_places import check_place
    from stemwall.solver.results.result_names import being_written

    wanted = list(results)
    problems: dict[str, None] = {}
    for path in (*filter(None, files), *wanted):
        try:
            check_place(path)
        except PlaceError as error:
            problems[str(error)] = None
    busy = (path for path in wanted if being_written(path))
    problems |= dict.fromkeys(f"{path}: found another run that is writing it; expected one at a time" for path in busy)
    if problems:
        refuse(problems)


def refuse(problems: Iterable[str], outcome: str = "nothing was run") -> NoReturn:
    """Print all problems and end with the exit code of bad input."""
    listed(list(problems), outcome)
    raise typer.Exit(BAD_INPUT)


def listed(problems: Sequence[str], outcome: str) -> None:
    """Print all problems and what they led to."""
    for problem in problems:
        err.print(escape(problem), soft_wrap=True, highlight=False)
    err.print(f"[bold]{len(problems)} problem{'s' if len(problems) > 1 else ''}; {outcome}.[/bold]")
