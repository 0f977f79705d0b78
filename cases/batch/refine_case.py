"""A set-up computed as given and finer on the command line, with a live progress bar."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.progress import TaskID
from rich.table import Table

from stemwall.cases.batch.refinement import STUDIES, converge, write
from stemwall.cases.batch.refinement_tables import tables
from stemwall.cases.batch.single_run import advance, progress_bar, slug
from stemwall.cases.setup.build import Setup

if TYPE_CHECKING:
    from stemwall.solver.simulate import Progress as Step


def refine_case(
    setup: Setup, studies: Sequence[str], folder: Path, console: Console
) -> tuple[list[Table], tuple[Path, Path]]:
    """Compute a set-up as given and finer; return the tables to print and the files written.

    Parameters
    ----------
    setup : Setup
        What is run.
    studies : sequence of str
        Keys of `stemwall.cases.batch.refinement.STUDIES`.
    folder : Path
        Where JSON and CSV go.
    console : Console
        Where progress is shown.
    """
    console.print(f"{setup.case.name}: {setup.hours:,} h as given, then {', '.join(studies)}")
    tasks: dict[str, TaskID] = {}
    with progress_bar(console) as bar:

        def told(study: str, step: Step) -> None:
            if study not in tasks:
                tasks[study] = bar.add_task(study, total=setup.hours, date="", speed="")
            advance(bar, tasks[study], step)

        found = converge(setup, {name: STUDIES[name] for name in studies}, told)
    return tables(found), write(found, *refined_paths(setup, folder))


def refined_paths(setup: Setup, folder: Path) -> tuple[Path, Path]:
    """Return where findings of `refine_case` go: JSON and CSV."""
    stem = f"{slug(setup.case)}-refined"
    return folder / f"{stem}.json", folder / f"{stem}.csv"
