"""A set on the screen: how far all of it is, and the run of every worker."""

from __future__ import annotations

import threading
from types import TracebackType

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from stemwall.cases.batch.worker import Word


class Board:
    """Context manager that shows a set while it runs.

    Parameters
    ----------
    console : Console
        Where it is shown.
    runs : int
        Number of runs of the set.
    done : int
        How many of them were done before.
    """

    def __init__(self, console: Console, runs: int, done: int) -> None:
        self.console, self.runs, self.done = console, runs, done
        self.failed = 0
        self._bar = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.percentage:>3.0f} %"),
            TextColumn("{task.fields[told]}"),
            TimeElapsedColumn(),
            TimeRemainingColumn(),
            console=console,
            refresh_per_second=2,
        )
        self._total = self._bar.add_task(f"[bold]{runs} runs[/bold]", total=runs, completed=done, told=self._told())
        #: by name of the run: its worker, its line and the share that is done
        self._running: dict[str, tuple[str, TaskID, float]] = {}
        self._closed: set[str] = set()
        self._lock = threading.Lock()

    def __enter__(self) -> Board:
        self._bar.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for _, line, _ in self._running.values():
            self._bar.remove_task(line)
        self._bar.stop()

    def hear(self, word: Word) -> None:
        """Show how far a run is; called from the thread of the connection."""
        with self._lock:
            if word.name in self._closed:
                return
            worker, line, _ = self._running.get(word.name, ("", None, 0.0))
            if line is None:
                line = self._bar.add_task(f"  {escape(word.name)}", total=1.0, told="preparing")
            elif worker != word.worker:
                self.console.print(f"{escape(word.name)}: its worker was lost; the run is repeated", highlight=False)
                self._bar.reset(line, told="preparing")
            elif word.date and not word.hours:
                self._bar.update(line, told=word.date)
            share = 0.0 if word.settling or not word.hours else word.hour / word.hours
            self._running[word.name] = (word.worker, line, share)
            if word.hours:
                date = f"settling, year {word.settling}" if word.settling else word.date
                speed = word.hour / word.elapsed if word.elapsed > 0 else 0.0
                shown = word.hour / word.hours
                self._bar.update(line, completed=shown, told=f"{date}  {speed:,.0f} h/s")
            self._advance()

    def close(self, name: str, failure: str = "") -> None:
        """Take the line of a finished run away and count it; say at once if it failed."""
        with self._lock:
            self._closed.add(name)
            _, line, _ = self._running.pop(name, ("", None, 0.0))
            if line is not None:
                self._bar.remove_task(line)
            self.done, self.failed = self.done + (not failure), self.failed + bool(failure)
            self._advance()
        if failure:
            self.console.print(f"{escape(name)}: {escape(failure)}", soft_wrap=True, highlight=False)

    def _advance(self) -> None:
        completed = self.done + self.failed + sum(share for _, _, share in self._running.values())
        self._bar.update(self._total, completed=completed, told=self._told())

    def _told(self) -> str:
        return f"{self.done} done" + (f", {self.failed} failed" if self.failed else "")
