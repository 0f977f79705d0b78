"""The command `run`: one run in this process, or several at once, and what is said when they end."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer
from rich.console import Console
from rich.markup import escape

from stemwall.cases.cli.exit_codes import FAILED, INTERRUPTED
from stemwall.cases.cli.input import each_built, err, refuse, refuse_places

if TYPE_CHECKING:
    from stemwall.cases.batch.worker import Order
    from stemwall.cases.case_file.case import Case
    from stemwall.cases.setup.build import Setup


def run_one(setup: Setup, out_dir: Path, out: Console, *, resume: bool = False) -> Path:
    """Simulate one set-up in this process and return its result."""
    from stemwall.cases.batch.single_run import result_path, run_case
    from stemwall.solver.model.errors import OutputError, SectionError, SolverError, told

    path = result_path(setup, out_dir)
    if resume and _complete(setup, path):
        out.print(f"[bold]{escape(setup.case.title)}[/bold] is complete: {escape(str(path))}")
        return path
    refuse_places([], [path])
    try:
        run_case(setup, out_dir, out)
    except (SolverError, SectionError, OutputError) as error:
        err.print(f"{escape(setup.case.title)}: {escape(told(error))}", soft_wrap=True, highlight=False)
        raise typer.Exit(FAILED) from error
    except KeyboardInterrupt as error:
        kept = getattr(error, "__notes__", ["nothing had been computed"])
        err.print(f"interrupted; {escape('; '.join(kept))}", soft_wrap=True, highlight=False)
        raise typer.Exit(INTERRUPTED) from error
    out.print(f"[bold]{escape(setup.case.title)}[/bold] → {escape(str(path))}")
    return path


def _complete(setup: Setup, path: Path) -> bool:
    """Whether the result of a set-up is there; what is wrong with a file in its place is told."""
    from stemwall.cases.setup.run_hash import input_hash, recorded_input
    from stemwall.solver.results.stored_result import ResultError

    try:
        return recorded_input(path) == input_hash(setup)
    except ResultError as error:
        err.print(f"{escape(str(error))}; it is computed again", soft_wrap=True, highlight=False)
        return False


def run_many(
    cases: list[Case],
    years: float | None,
    out_dir: Path,
    out: Console,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
    some: bool = False,
    again: str = "the same command with --resume goes on",
) -> tuple[list[Path], dict[str, str], bool]:
    """Carry out several runs and say what became of them; ``again`` says how to go on where that was interrupted.

    Returns
    -------
    tuple
        What a report can show, results and what failed runs had computed; why the other runs failed, by name; and
        whether all are complete.
    """
    from stemwall.cases.batch.batch import NoSchedulerError
    from stemwall.cases.cli.run_batch import run_set, table_path

    orders = _orders(cases, years, out_dir, out)
    table = table_path(cases[0], out_dir, some=some)
    refuse_places([table], (Path(order.target) for order in orders))
    try:
        told = run_set(orders, table, out, workers=workers, scheduler=scheduler, resume=resume)
    except NoSchedulerError as error:
        refuse([f"--scheduler: found {error}; expected the address of a running dask scheduler"])
    out.print(f"{len(told.done)} of {len(orders)} runs are complete → {escape(str(table))}", highlight=False)
    if told.before:
        out.print(f"{told.before} of them were complete before", highlight=False)
    if told.interrupted:
        if told.table_failure:
            err.print(escape(told.table_failure), soft_wrap=True, highlight=False)
        err.print(f"interrupted; {again}")
        raise typer.Exit(INTERRUPTED)
    if told.failures:
        err.print(f"{len(told.failures)} failed:")
        for name, why in told.failures.items():
            err.print(f"{escape(name)}: {escape(why)}", soft_wrap=True, highlight=False)
    if told.table_failure:
        err.print(escape(told.table_failure), soft_wrap=True, highlight=False)
    return told.shown, told.lost, not told.failures and not told.table_failure


def _orders(cases: list[Case], years: float | None, out_dir: Path, console: Console) -> list[Order]:
    """Build every case of a set once, or end with the problems of all of them; return what is to be run.

    What was built is not kept: it is large, and a worker builds it again from the text.
    """
    from stemwall.cases.batch.batch import order_of
    from stemwall.cases.batch.single_run import result_path

    orders = []
    with console.status("checking") as status:
        for number, setup in enumerate(each_built(cases, years), start=1):
            orders.append(order_of(setup, result_path(setup, out_dir), years))
            status.update(f"checked {number} of {len(cases)}")
    return orders
