"""The verification on a terminal: a progress bar while it runs, and a table of what came out."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

from stemwall.cases.verification import suite


def run_shown(console: Console, *, quick: bool = False) -> list[suite.Outcome]:
    """Run the cases of the suite with a progress bar on a console; ``quick`` leaves out the slow ones."""
    outcomes = []
    columns = (BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=console) as bar:
        task = bar.add_task("", total=len(suite.CASES))
        for case in suite.CASES:
            bar.update(task, description=escape(case.title))
            outcomes.append(suite.left_out(case) if quick and case.slow else suite.run_case(case))
            bar.advance(task)
        bar.update(task, description="")
    return outcomes


def table(outcomes: Sequence[suite.Outcome]) -> Table:
    """Return one row per case: the comparison nearest to its limit, time, and whether all of them hold."""
    found = Table("case", "nearest to its limit", title="Verification", title_justify="left")
    for name in ("error", "limit", "time"):
        found.add_column(name, justify="right")
    found.add_column("")
    for outcome in outcomes:
        word = outcome.verdict if outcome.holds else f"[bold red]{outcome.verdict}[/bold red]"
        worst = outcome.nearest
        if worst is None:
            found.add_row(escape(outcome.case.title), escape(outcome.missing), "", "", "", word)
            continue
        numbers = (f"{worst.error:.3g}", f"{worst.limit:.3g}", f"{outcome.seconds:.1f} s")
        found.add_row(escape(outcome.case.title), escape(worst.quantity), *numbers, word)
    run = [outcome for outcome in outcomes if not outcome.missing]
    missing = len(outcomes) - len(run)
    found.caption = f"{sum(outcome.holds for outcome in run)} of {len(run)} cases hold"
    known = sum(outcome.verdict == "known not to hold" for outcome in run)
    if known:
        found.caption += f", {known} known not to"
    if missing:
        found.caption += f", {missing} not run"
    return found
