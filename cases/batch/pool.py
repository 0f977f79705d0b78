"""Worker processes of this machine that carry out the runs of a set, each at the other end of a pipe of its own.

Nothing listens: a pipe has no name, only the two processes have its ends.  A pool whose processes share a queue, as
the standard library has it, ends all of them with the first that is lost; here it takes no more than its run with
it, and another process takes its place.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import TracebackType

from stemwall.cases.batch.worker import Order, Outcome, Word, serve

#: workers that may be lost under one run before it counts as failed
LOST_WORKERS = 3
#: how a run failed then
LOST = "{} workers were lost while they computed it"
#: seconds that a worker has to end by itself
PATIENCE = 5.0
#: one thread each: the runs are what is parallel
ALONE = {name: "1" for name in ("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")}


@dataclass
class _Worker:
    process: BaseProcess
    pipe: Connection
    order: Order | None = None


@dataclass
class _Left:
    """What is left of a set: orders that wait, and how many workers were lost under each."""

    waiting: deque[Order]
    lost: Counter[str] = field(default_factory=Counter)


class Pool:
    """Context manager that holds so many worker processes; Ctrl-C does not reach them.

    Parameters
    ----------
    workers : int
        Number of processes, of one thread each.
    """

    def __init__(self, workers: int) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._count = workers
        self._workers: list[_Worker] = []

    def __enter__(self) -> Pool:
        self._fill()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for worker in self._workers:
            worker.pipe.close()  # one that waits for an order ends then
            if worker.order is not None:
                worker.process.terminate()
        for worker in self._workers:
            _end(worker.process)
        self._workers.clear()

    @property
    def pids(self) -> list[int]:
        """Numbers of the processes."""
        return [worker.process.pid for worker in self._workers if worker.process.pid is not None]

    def outcomes(self, orders: Sequence[Order], hear: Callable[[Word], None] | None = None) -> Iterator[Outcome]:
        """Have orders carried out; yield each outcome as it comes.

        Parameters
        ----------
        orders : sequence of Order
            What is run.
        hear : callable, optional
            Told twice a second how far each run is; the worker of a word is the number of its process.
        """
        left = _Left(deque(orders))
        for worker in self._workers:
            _give(worker, left)
        while busy := [worker for worker in self._workers if worker.order is not None]:
            ready = set(wait([worker.pipe for worker in busy]))
            for worker in busy:
                if worker.pipe in ready:
                    outcome = self._heard(worker, left, hear)
                    if outcome is not None:
                        yield outcome

    def _heard(self, worker: _Worker, left: _Left, hear: Callable[[Word], None] | None) -> Outcome | None:
        """Take what a worker says; return an outcome if a run ended with it."""
        order = worker.order
        assert order is not None
        try:
            said = worker.pipe.recv()
        except (EOFError, OSError):
            return self._replaced(worker, order, left)
        if isinstance(said, Word):
            if hear is not None:
                hear(replace(said, worker=str(worker.process.pid)))
            return None
        outcome: Outcome = said
        _give(worker, left)
        return outcome

    def _replaced(self, worker: _Worker, order: Order, left: _Left) -> Outcome | None:
        """Put another process in the place of one that is lost; its run is repeated, or has failed."""
        self._workers.remove(worker)
        worker.pipe.close()
        _end(worker.process)
        outcome = None
        left.lost[order.name] += 1
        if left.lost[order.name] > LOST_WORKERS:
            outcome = Outcome(order.name, failure=LOST.format(left.lost[order.name]))
        else:
            left.waiting.appendleft(order)
        self._fill()
        _give(self._workers[-1], left)
        return outcome

    def _fill(self) -> None:
        """Begin processes until there are as many as wanted."""
        with _environment(ALONE), _no_interrupts():
            while len(self._workers) < self._count:
                ours, theirs = self._context.Pipe()
                process = self._context.Process(target=serve, args=(theirs,), daemon=True)
                process.start()
                theirs.close()  # only the process holds it, so that its end is seen here
                self._workers.append(_Worker(process, ours))


def _give(worker: _Worker, left: _Left) -> None:
    """Give a worker the next order; one that is lost is found out when it is listened to."""
    worker.order = left.waiting.popleft() if left.waiting else None
    if worker.order is not None:
        with suppress(OSError):
            worker.pipe.send(worker.order)


def _end(process: BaseProcess) -> None:
    process.join(PATIENCE)
    if process.is_alive():
        process.kill()
        process.join()
    process.close()


@contextmanager
def _environment(variables: dict[str, str]) -> Iterator[None]:
    """Set environment variables for the processes that are begun meanwhile."""
    before = {name: os.environ.get(name) for name in variables}
    os.environ.update(variables)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def _no_interrupts() -> Iterator[None]:
    """Let Ctrl-C wait, and never reach the processes that are begun meanwhile: what is blocked is handed down."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
