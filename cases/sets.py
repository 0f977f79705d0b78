"""Many runs: what is to be run, worker processes of this or other machines, and their outcomes as they come.

Each run is one task of a dask.distributed scheduler.  Only text goes out and only rows of numbers come back;
results are written by the worker, on its own disk.  A worker that is lost takes no more than its run with it:
the scheduler gives that to another one.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from stemwall.cases.build import Setup
from stemwall.cases.identity import input_hash, recorded_input
from stemwall.cases.sets_worker import Order, Outcome, Word, carry_out

if TYPE_CHECKING:
    from distributed import Client

#: times that a run is tried again where disk or network failed
RETRIES = 2
#: workers that may be lost under one run before it counts as failed
LOST_WORKERS = 3
#: seconds to wait for a scheduler
PATIENCE = 20.0
CONFIG = {
    "distributed.scheduler.allowed-failures": LOST_WORKERS,
    # a worker holds the run that it computes and none that another could begin
    "distributed.scheduler.worker-saturation": 1.0,
    # every core computes: what watches over the processes shall take little of it
    "distributed.worker.profile.enabled": False,
    "distributed.admin.tick.interval": "500ms",
    "distributed.admin.tick.limit": "30s",
    "distributed.admin.system-monitor.interval": "5s",
    # one thread each: the runs are what is parallel
    "distributed.nanny.pre-spawn-environ": {
        name: 1 for name in ("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS")
    },
}


class NoSchedulerError(ConnectionError):
    """No scheduler answers at an address."""


def cores() -> int:
    """Return the number of cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def order_of(setup: Setup, target: Path, years: float | None) -> Order:
    """Return the order for a run that was built and so found valid."""
    case = setup.case
    return Order(
        text=case.text,
        folder=str(case.folder.resolve()),
        file=case.file,
        name=case.name,
        note=case.note,
        change=case.change,
        years=years,
        target=str(target.resolve()),
        title=case.title,
        hours=setup.hours,
        input=input_hash(setup),
    )


def finished(order: Order) -> bool:
    """Return whether the result of an order is there, complete, and made from the same input."""
    return recorded_input(Path(order.target)) == order.input


def to_do(orders: Sequence[Order], with_rows: set[str]) -> list[Order]:
    """Return the orders that a set that goes on has left, without those that are finished.

    Parameters
    ----------
    orders : sequence of Order
        The whole set.
    with_rows : set of str
        Names of the runs whose rows are in the table; of other finished ones only the rows are made.
    """
    left = []
    for order in orders:
        if not finished(order):
            left.append(order)
        elif order.name not in with_rows:
            left.append(replace(order, simulate=False))
    return left


@contextmanager
def local_client(workers: int) -> Iterator[Client]:
    """Open so many worker processes on this machine, of one thread each; Ctrl-C does not reach them."""
    import logging

    import dask
    from distributed import Client, LocalCluster

    with (
        dask.config.set(CONFIG),
        LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            memory_limit=0,
            silence_logs=logging.CRITICAL,
            preload=["stemwall.cases.sets_worker"],
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


@contextmanager
def remote_client(address: str) -> Iterator[Client]:
    """Connect to a scheduler that runs already.

    Raises
    ------
    NoSchedulerError
        If none answers.
    """
    from distributed import Client

    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise NoSchedulerError(f"no scheduler answers at {address}") from error
    with client:
        yield client


def outcomes(
    client: Client,
    orders: Sequence[Order],
    hear: Callable[[Word], None] | None = None,
    *,
    at_once: int | None = None,
) -> Iterator[Outcome]:
    """Have orders carried out; yield each outcome as it comes.

    Parameters
    ----------
    client : Client
        See `local_client` and `remote_client`.
    orders : sequence of Order
        What is run.
    hear : callable, optional
        Told twice a second how far each run is, from another thread.
    at_once : int or None
        Runs that the scheduler knows of at a time, so that none waits at a worker that is lost; None for all, which
        lets a scheduler of many machines see what there is to do.
    """
    from distributed import as_completed

    topic = f"stemwall-{uuid4().hex}" if hear else ""
    if hear:
        client.subscribe_topic(topic, lambda event: hear(Word(**event[1])))
    names: dict[Any, str] = {}
    waiting = iter(orders)
    completed = as_completed()

    def submit(count: int | None) -> None:
        for order in islice(waiting, count):
            # keys of one family are queued at the scheduler, not at the workers
            key = f"run-{uuid4().hex}"
            future = client.submit(carry_out, order, topic, key=key, pure=False, retries=RETRIES)
            names[future] = order.name
            completed.add(future)

    try:
        submit(at_once)
        for future in completed:
            submit(1)
            yield _outcome(future, names.pop(future))
    finally:
        client.cancel(list(names))
        if hear:
            client.unsubscribe_topic(topic)


def _outcome(future: Any, name: str) -> Outcome:
    """Outcome of a finished task; whatever went wrong with it is told of this run only."""
    from distributed.scheduler import KilledWorker

    error = future.exception()
    if error is None:
        result: Outcome = future.result()
        return result
    if isinstance(error, KilledWorker):
        return Outcome(name, failure=f"{LOST_WORKERS + 1} workers were lost while they computed it")
    return failed(name, error)


def failed(name: str, error: BaseException) -> Outcome:
    """Outcome of a run that ended with an error that nobody expected."""
    return Outcome(name, failure=f"{type(error).__name__}: {error}")


def carried_out_here(orders: Sequence[Order], hear: Callable[[Word], None]) -> Iterator[Outcome]:
    """Carry out orders one after the other in this process."""
    for order in orders:
        try:
            yield carry_out(order, hear=hear)
        except Exception as error:
            yield failed(order.name, error)
