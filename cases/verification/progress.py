"""The verification on a terminal: a progress bar while it runs, and a table of what came out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

from stemwall.cases.verification import suite
from stemwall.cases.verification.comparison import Comparison


def run_shown(console: Console) -> list[suite.Outcome]:
    """Run all cases of the suite with a progress bar on a console."""
    outcomes = []
    columns = (BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=console) as bar:
        task = bar.add_task("", total=len(suite.CASES))
        for case in suite.CASES:
            bar.update(task, description=escape(case.title))
            outcomes.append(suite.run_case(case))
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
        worst = max(outcome.comparisons, key=_share)
        word = "holds" if outcome.holds else "[bold red]does not hold[/bold red]"
        numbers = (f"{worst.error:.3g}", f"{worst.limit:.3g}", f"{outcome.seconds:.1f} s")
        found.add_row(escape(outcome.case.title), escape(worst.quantity), *numbers, word)
    held = sum(outcome.holds for outcome in outcomes)
    found.caption = f"{held} of {len(outcomes)} cases hold"
    return found


def _share(comparison: Comparison) -> float:
    """Error as a share of the limit; not a number counts as the worst."""
    share = comparison.error / comparison.limit
    return share if math.isfinite(share) else math.inf
