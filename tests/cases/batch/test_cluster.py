"""Sets on a scheduler that runs already: its workers carry them out, a lost worker's run is repeated."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from distributed import LocalCluster
from rich.console import Console

from stemwall.cases.batch import batch
from stemwall.cases.batch.batch import NoSchedulerError, finished, outcomes, remote_client
from stemwall.cases.batch.worker import Word
from stemwall.cases.cli.run_batch import run_set
from tests.cases.batch.test_batch import SHORT, SWEEP, orders
from tests.cases.samples import changed

pytestmark = [
    pytest.mark.slow,
    # sockets and loops of the scheduler that are closed by the end of the process
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]
LONGER = changed("years = 0.0005", "years = 0.25", SHORT)


@contextmanager
def scheduler(workers: int) -> Iterator[str]:
    """Address of a scheduler with so many workers."""
    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None, memory_limit=0) as cluster:
        yield str(cluster.scheduler_address)


def test_the_run_of_a_lost_worker_is_repeated(tmp_path: Path) -> None:
    todo = orders(tmp_path, LONGER + SWEEP)
    begun: dict[str, set[str]] = {}
    pids: dict[str, int] = {}
    killed: list[str] = []

    def hear(word: Word) -> None:
        begun.setdefault(word.name, set()).add(word.worker)
        if word.hour > 0 and not killed:
            killed.append(word.name)
            os.kill(pids[word.worker], signal.SIGKILL)

    with scheduler(2) as address, remote_client(address) as client:
        pids.update(client.run(os.getpid))
        told = list(outcomes(client, todo, hear))
    assert sorted(outcome.name for outcome in told) == sorted(order.name for order in todo)
    assert [outcome.failure for outcome in told] == [""] * 4
    assert len(begun[killed[0]]) >= 2
    assert all(finished(order) for order in todo)
    assert not list((tmp_path / "out").glob("*.partial"))


def test_a_set_goes_on_on_a_scheduler(tmp_path: Path) -> None:
    todo = orders(tmp_path, SHORT + SWEEP)
    table = tmp_path / "out" / "table.csv"
    report = run_set(todo, table, Console(quiet=True), workers=1)
    assert report.done == {order.name for order in todo}
    lines = table.read_text(encoding="utf-8").splitlines()
    for order in todo[:2]:
        Path(order.target).unlink()
    with scheduler(1) as address:
        report = run_set(todo, table, Console(quiet=True), scheduler=address, resume=True)
    assert (report.before, len(report.done)) == (2, 4)
    assert table.read_text(encoding="utf-8").splitlines() == lines


def test_no_scheduler_at_an_address(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "PATIENCE", 0.5)
    # the last without the certificates that dask's configuration would name
    for address in ("tcp://127.0.0.1:1", "nonsense://there", "127.0.0.1", "tls://127.0.0.1:1"):
        with pytest.raises(NoSchedulerError, match=r"no scheduler answers"), remote_client(address):
            pass
