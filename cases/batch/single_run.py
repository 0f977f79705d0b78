"""One run on the command line: the solver's call with a live progress bar."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.sweep import file_stem
from stemwall.cases.setup.build import Setup
from stemwall.cases.setup.run_hash import identified

if TYPE_CHECKING:
    from stemwall.solver.simulate import Progress as Step

SUFFIX = ".nc"


def slug(case: Case) -> str:
    """Return the file stem of a variant: case file and variant in plain letters."""
    return f"{file_stem(Path(case.file).stem or 'case')}-{file_stem(case.name)}".strip("-")


def result_path(setup: Setup, folder: Path) -> Path:
    """Return where the result of a set-up goes."""
    return folder / f"{slug(setup.case)}{SUFFIX}"


def run_case(setup: Setup, folder: Path, console: Console) -> Path:
    """Simulate one set-up and return its result file.

    Parameters
    ----------
    setup : Setup
        What is run.
    folder : Path
        Where the result goes.
    console : Console
        Where progress is shown.
    """
    path = result_path(setup, folder)
    notice = "compiling, which happens once and takes about half a minute ..."
    with progress_bar(console) as bar, on_compiling(lambda: console.print(notice)):
        task = bar.add_task(setup.case.name, total=setup.hours, date="preparing", speed="")
        return simulate_setup(identified(setup), path, lambda step: advance(bar, task, step))


def simulate_setup(setup: Setup, path: Path, progress: Callable[[Step], None] | None = None) -> Path:
    """Simulate one set-up into a result file, without a word.

    Parameters
    ----------
    setup : Setup
        What is run.
    path : Path
        Result file.
    progress : callable, optional
        See `stemwall.solver.simulate.simulate`.
    """
    from stemwall.solver.simulate import simulate

    return simulate(
        setup.section,
        setup.materials,
        setup.climates,
        start=setup.start,
        hours=setup.hours,
        ground=setup.ground,
        start_state=setup.start_state,
        accuracy=setup.accuracy,
        mesh=setup.mesh,
        output=setup.output,
        path=path,
        case_text=setup.case.text,
        title=setup.case.title,
        provenance={**setup.provenance, "environment_ground_temperature": setup.ground.describe()},
        environment=setup.environment,
        progress=progress,
        spin_up=setup.spin_up,
    )


@contextmanager
def on_compiling(say: Callable[[], None]) -> Iterator[None]:
    """Call ``say`` once if something is compiled, at the moment that it begins; nothing is if the cache has it all."""
    from numba.core import event

    class Listener(event.Listener):  # type: ignore[misc]
        said = False

        def on_start(self, _: object) -> None:
            if not self.said:
                self.said = True
                say()

        def on_end(self, _: object) -> None:
            """Nothing to say."""

    with event.install_listener("numba:compile", Listener()):
        yield


def progress_bar(console: Console) -> Progress:
    """Return a bar with what it tells: date, speed, time that is left."""
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        TextColumn("{task.fields[date]}"),
        TextColumn("{task.fields[speed]}"),
        TimeRemainingColumn(),
        console=console,
    )


def advance(bar: Progress, task: TaskID, step: Step) -> None:
    """Show how far a run is."""
    speed = step.hour / step.elapsed if step.elapsed > 0 else 0.0
    date = f"settling, year {step.settling}" if step.settling else f"{step.date:%Y-%m-%d}"
    bar.update(task, completed=step.hour, total=step.hours, date=date, speed=f"{speed:,.0f} h/s")
