"""What a worker process does: one run of a set, from its text to its result file and its rows of the table."""

from __future__ import annotations

import logging
import signal
import socket
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from stemwall.cases.setup.build import Setup
    from stemwall.solver.simulate import Progress as Step

#: times that a run is tried again where disk or network failed
RETRIES = 2
#: seconds between two words on how far a run is
TELL_EVERY = 0.5


@dataclass(frozen=True)
class Order:
    """One run of a set, as it is sent to a worker: text, not arrays.

    Parameters
    ----------
    text, folder, file : str
        Case file: its text, its absolute folder, its name.
    name, note : str
        Name of the variant and what it is about.
    change : mapping
        Dotted paths of the base and the values that the variant puts there.
    years : float or None
        Length of the run [a], None for the case's own.
    target : str
        Absolute path of the result on the machine that runs it.
    title : str
        Title of case and variant.
    hours : int
        Hours of the record.
    input : str
        Hash of all input, see `stemwall.cases.setup.run_hash`.
    simulate : bool
        False if the result is there and only its rows are wanted.
    """

    text: str
    folder: str
    file: str
    name: str
    note: str
    change: Mapping[str, Any]
    years: float | None
    target: str
    title: str
    hours: int
    input: str
    simulate: bool = True


@dataclass(frozen=True)
class Outcome:
    """What became of an order: the rows of its places, or why it failed."""

    name: str
    rows: list[dict[str, Any]] = field(default_factory=list)
    failure: str = ""
    seconds: float = 0.0
    machine: str = ""


@dataclass(frozen=True)
class Word:
    """How far a run is, as a worker tells it."""

    name: str
    worker: str = ""
    hour: int = 0
    hours: int = 0
    settling: int = 0
    date: str = ""
    elapsed: float = 0.0


def set_up(order: Order) -> Setup:
    """Return the set-up of an order.

    Raises
    ------
    CaseError
        If a file that the case refers to is not on this machine.
    """
    from stemwall.cases.case_file.read import parse_variant
    from stemwall.cases.setup.build import build

    case = parse_variant(order.text, Path(order.folder, order.file), order.name, order.note, order.change)
    return build(case, order.years)


def carry_out(order: Order, topic: str = "", hear: Callable[[Word], None] | None = None) -> Outcome:
    """Simulate an order and return its outcome; progress goes to a topic of the scheduler, or to ``hear``.

    A run that cannot be computed, or for which there is no room, is an outcome; another error of disk or network is
    raised, so that the run is repeated.
    """
    from stemwall.cases.batch.single_run import on_compiling, simulate_setup
    from stemwall.cases.inputs.input_errors import CaseError
    from stemwall.cases.setup.run_hash import identified
    from stemwall.solver.model.errors import DiskFullError, PlaceError, SectionError, SolverError, told
    from stemwall.solver.results.stored_result import ResultError

    begun = time.perf_counter()
    say = _voice(topic) if topic else hear or _nothing
    say(Word(order.name))
    rows: list[dict[str, Any]] = []
    failure = ""
    try:
        if order.simulate:
            with on_compiling(lambda: say(Word(order.name, date="compiling"))):
                simulate_setup(identified(set_up(order)), Path(order.target), _teller(order, say))
        rows = _rows(order)
    except (SolverError, SectionError, PlaceError, DiskFullError, ResultError) as error:
        failure = told(error)
    except CaseError as error:
        failure = "; ".join(map(str, error.problems))
    return Outcome(order.name, rows, failure, time.perf_counter() - begun, socket.gethostname())


def _rows(order: Order) -> list[dict[str, Any]]:
    """Rows of the table; a run of a single hour has none."""
    from stemwall.cases.batch.table import rows_of

    return rows_of(Path(order.target)) if order.hours > 1 else []


def _voice(topic: str) -> Callable[[Word], None]:
    """Return what tells the scheduler a word, from a worker."""
    from distributed import get_worker

    worker = get_worker()
    return lambda word: worker.log_event(topic, {**vars(word), "worker": str(worker.address)})


def _teller(order: Order, say: Callable[[Word], None]) -> Callable[[Step], None]:
    """Return what tells how far a run is, now and then."""
    told = 0.0

    def tell(step: Step) -> None:
        nonlocal told
        now = time.monotonic()
        if now - told > TELL_EVERY or step.hour == step.hours:
            told = now
            date = f"{step.date:%Y-%m-%d}"
            say(Word(order.name, "", step.hour, step.hours, step.settling, date, step.elapsed))

    return tell


def _nothing(word: Word) -> None:
    """Tell nobody."""


def failed(name: str, error: BaseException) -> Outcome:
    """Outcome of a run that ended with an error that nobody expected."""
    from stemwall.solver.model.errors import OutputError, told

    known = isinstance(error, OutputError)
    return Outcome(name, failure=told(error) if known else f"{type(error).__name__}: {told(error)}")


def serve(pipe: Connection) -> None:
    """Carry out the orders that come through a pipe until its other end is closed: what a worker process does.

    Ctrl-C is left to the process that asked for the runs, and so is what that has said already.  The wish to end
    (SIGTERM) keeps what was computed.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _end)
    logging.getLogger("stemwall").setLevel(logging.ERROR)

    def say(said: Word | Outcome) -> None:
        try:
            pipe.send(said)
        except OSError:
            raise SystemExit from None  # nobody waits for the run any more

    with suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            order: Order = pipe.recv()
            say(_outcome(order, say))


def _end(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _outcome(order: Order, hear: Callable[[Word], None]) -> Outcome:
    """Carry out an order, again if something unexpected happens."""
    tried = 0
    while True:
        try:
            return carry_out(order, hear=hear)
        except Exception as error:
            tried += 1
            if tried > RETRIES:
                return failed(order.name, error)
