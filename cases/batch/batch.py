"""Many runs: what is to be run, who carries it out, and the outcomes as they come.

On this machine these are worker processes, see `stemwall.cases.batch.pool`.  On other machines each run is one task
of a dask.distributed scheduler that somebody started there.  Only text goes out and only rows of numbers come
back; results are written by the worker, on its own disk.  A worker that is lost takes no more than its run with it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from stemwall.cases.batch.pool import LOST, LOST_WORKERS
from stemwall.cases.batch.worker import RETRIES, Order, Outcome, Word, carry_out, failed
from stemwall.cases.setup.build import Setup
from stemwall.cases.setup.run_hash import input_hash, recorded_input
from stemwall.solver.results.stored_result import ResultError

if TYPE_CHECKING:
    from distributed import Client

#: seconds to wait for a scheduler
PATIENCE = 20.0


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


def finished(order: Order, tell: Callable[[str], None] | None = None) -> bool:
    """Return whether the result of an order is there, complete, and made from the same input.

    What is wrong with a file in its place is told.
    """
    try:
        return recorded_input(Path(order.target)) == order.input
    except ResultError as error:
        if tell:
            tell(f"{error}; it is computed again")
        return False


def to_do(orders: Sequence[Order], with_rows: set[str], tell: Callable[[str], None] | None = None) -> list[Order]:
    """Return the orders that a set that goes on has left, without those that are finished.

    Parameters
    ----------
    orders : sequence of Order
        The whole set.
    with_rows : set of str
        Names of the runs whose rows are in the table; of other finished ones only the rows are made.
    tell : callable, optional
        Told what is wrong with files in the place of results.
    """
    left = []
    for order in orders:
        if not finished(order, tell):
            left.append(order)
        elif order.name not in with_rows:
            left.append(replace(order, simulate=False))
    return left


@contextmanager
def remote_client(address: str) -> Iterator[Client]:
    """Connect to a scheduler that runs already.

    Whoever can speak to a scheduler or to its workers can have them run anything: the network between them is for the
    user to close, or to secure by an address that begins with ``tls://`` and the certificates that dask's own
    configuration (``distributed.comm.tls``) names.

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


def outcomes(client: Client, orders: Sequence[Order], hear: Callable[[Word], None] | None = None) -> Iterator[Outcome]:
    """Have orders carried out by the workers of a scheduler; yield each outcome as it comes.

    Parameters
    ----------
    client : Client
        See `remote_client`.
    orders : sequence of Order
        What is run.
    hear : callable, optional
        Told twice a second how far each run is, from another thread.
    """
    from distributed import as_completed

    topic = f"stemwall-{uuid4().hex}" if hear else ""
    if hear:
        client.subscribe_topic(topic, lambda event: hear(Word(**event[1])))
    names: dict[Any, str] = {}
    try:
        for order in orders:
            # keys of one family are queued at the scheduler, not at the workers
            key = f"run-{uuid4().hex}"
            future = client.submit(carry_out, order, topic, key=key, pure=False, retries=RETRIES)
            names[future] = order.name
        for future in as_completed(list(names), loop=client.loop):
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
        return Outcome(name, failure=LOST.format(LOST_WORKERS + 1))
    return failed(name, error)


def carried_out_here(orders: Sequence[Order], hear: Callable[[Word], None]) -> Iterator[Outcome]:
    """Carry out orders one after the other in this process."""
    for order in orders:
        try:
            yield carry_out(order, hear=hear)
        except Exception as error:
            yield failed(order.name, error)
