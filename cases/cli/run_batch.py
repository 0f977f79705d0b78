"""A set on the command line: checked, carried out, shown, and told in a table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from rich.console import Console

from stemwall.cases.batch.batch import carried_out_here, cores, finished, outcomes, remote_client, to_do
from stemwall.cases.batch.pool import Pool
from stemwall.cases.batch.table import DONE, FAILED, SetTable
from stemwall.cases.batch.worker import Order, Outcome, Word
from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.sweep import file_stem
from stemwall.cases.cli.progress import Board
from stemwall.cases.setup.run_hash import INPUT
from stemwall.solver.model.errors import OutputError
from stemwall.solver.results.result_names import failed_path, salvage
from stemwall.solver.results.stored_result import attribute

#: a report takes two recorded hours at least
LEAST_HOURS = 2


@dataclass
class SetReport:
    """What became of a set.

    Parameters
    ----------
    orders : sequence of Order
        The whole set.
    table : Path
        Table of the set.
    failures : dict
        Reason by name of each run that failed.
    done : set of str
        Names of the runs whose results are complete.
    before : int
        How many of them were complete before.
    interrupted : bool
        Whether it was ended by Ctrl-C.
    table_failure : str
        Why the table could not be written, if so; the runs went on.
    """

    orders: Sequence[Order]
    table: Path
    failures: dict[str, str] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)
    before: int = 0
    interrupted: bool = False
    table_failure: str = ""

    @property
    def shown(self) -> list[Path]:
        """Results, and of failed runs what they had computed, in the order of the set."""
        kept = self._kept
        found = (kept.get(order.name, Path(order.target)) for order in self.orders)
        return [path for path in found if path in {*self.results, *kept.values()}]

    @property
    def lost(self) -> dict[str, str]:
        """Reasons by name of the failed runs that left nothing to show."""
        return {name: why for name, why in self.failures.items() if name not in self._kept}

    @property
    def _kept(self) -> dict[str, Path]:
        """What failed runs had computed of this very input, by name, on a disk of this machine."""
        paths = {order.name: failed_path(Path(order.target)) for order in self.orders if order.name in self.failures}
        inputs = {order.name: order.input for order in self.orders}
        return {
            name: path
            for name, path in paths.items()
            if attribute(path, INPUT) == inputs[name] and float(attribute(path, "hour") or 0) >= LEAST_HOURS
        }

    @property
    def results(self) -> list[Path]:
        """Complete results that lie on a disk of this machine, in the order of the set."""
        paths = [Path(order.target) for order in self.orders if order.name in self.done]
        return [path for path in paths if path.is_file()]


def table_path(case: Case, folder: Path, *, some: bool = False) -> Path:
    """Return where the table of a set goes that a case belongs to; some runs of a set have one of their own."""
    return folder / f"{file_stem(Path(case.file).stem or 'case')}-{'some-' if some else ''}runs.csv"


def run_set(
    orders: Sequence[Order],
    table: Path,
    console: Console,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    resume: bool = False,
) -> SetReport:
    """Carry out a set; results, and rows of the table, are on disk as soon as their run is done.

    Parameters
    ----------
    orders : sequence of Order
        The set, all found valid.
    table : Path
        CSV file, see `SetTable`.
    console : Console
        Where progress is shown.
    workers : int or None
        Worker processes on this machine; None for as many as there are cores, 1 for this process alone.
    scheduler : str or None
        Address of a scheduler that runs already, instead.
    resume : bool
        Leave out runs whose results are complete and of the same input.

    Raises
    ------
    NoSchedulerError
        If no scheduler answers.
    OutputError
        If the table cannot be begun.
    """
    report = SetReport(orders, table)
    written = SetTable(table, list(dict.fromkeys(path for order in orders for path in order.change)))
    left = list(orders)
    if resume:
        left = to_do(orders, written.kept({order.name: order.input for order in orders}), console.print)
        report.done = {order.name for order in orders} - {order.name for order in left if order.simulate}
        report.before = len(report.done)
    written.begin()
    board = Board(console, len(orders), report.before - sum(not order.simulate for order in left))
    by_name = {order.name: order for order in orders}
    try:
        with board:
            for outcome in _outcomes(left, board.hear, workers, scheduler):
                order = by_name[outcome.name]
                _note(report, outcome)
                status = FAILED if outcome.failure else DONE
                told = {"input": order.input, "status": status, "file": Path(order.target).name}
                try:
                    written.add(order.name, told, order.change, outcome.rows)
                except OutputError as error:
                    report.table_failure = str(error)
                board.close(outcome.name, outcome.failure)
    except KeyboardInterrupt:
        report.interrupted = True
        # what was completed in the moment between
        report.done |= {order.name for order in left if order.simulate and finished(order)}
    try:
        written.end([order.name for order in orders])
        report.table_failure = ""
    except OutputError as error:
        report.table_failure = str(error)
    for order in left:
        salvage(Path(order.target))
    return report


def _note(report: SetReport, outcome: Outcome) -> None:
    if outcome.failure:
        report.failures[outcome.name] = outcome.failure
        report.done.discard(outcome.name)
    else:
        report.done.add(outcome.name)


def _outcomes(
    orders: Sequence[Order], hear: Callable[[Word], None], workers: int | None, scheduler: str | None
) -> Iterator[Outcome]:
    """Outcomes as they come, from this process or from workers."""
    count = min(workers or cores(), len(orders))
    if not orders:
        return
    if scheduler is not None:
        with remote_client(scheduler) as client:
            yield from outcomes(client, orders, hear)
    elif count > 1:
        with Pool(count) as pool:
            yield from pool.outcomes(orders, hear)
    else:
        yield from carried_out_here(orders, hear)
