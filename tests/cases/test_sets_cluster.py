"""Sets on worker processes: runs at once, a lost worker's run is repeated, a scheduler that runs already."""

from __future__ import annotations

import os
import signal
import threading
from pathlib import Path

import pytest
from rich.console import Console

from stemwall.cases import sets
from stemwall.cases.sets import NoSchedulerError, finished, local_client, outcomes, remote_client
from stemwall.cases.sets_run import run_set
from stemwall.cases.sets_worker import Outcome, Word
from tests.cases.samples import changed
from tests.cases.test_sets import SHORT, SWEEP, orders

pytestmark = [
    pytest.mark.slow,
    # sockets and loops of the scheduler that are closed by the end of the process
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]
LONGER = changed("years = 0.0005", "years = 0.25", SHORT)


def test_the_run_of_a_lost_worker_is_repeated(tmp_path: Path) -> None:
    todo = orders(tmp_path, LONGER + SWEEP)
    begun: dict[str, list[str]] = {}
    pids: dict[str, int] = {}
    killed: list[str] = []
    lock = threading.Lock()

    def hear(word: Word) -> None:
        with lock:
            workers = begun.setdefault(word.name, [])
            if not workers or workers[-1] != word.worker:
                workers.append(word.worker)
            if word.hour > 0 and not killed:
                killed.append(word.name)
                os.kill(pids[word.worker], signal.SIGKILL)

    with local_client(2) as client:
        pids.update(client.run(os.getpid))
        assert len(pids) == 2
        told: list[Outcome] = list(outcomes(client, todo, hear, at_once=2))
    assert {outcome.name for outcome in told} == {order.name for order in todo}
    assert [outcome.failure for outcome in told] == [""] * 4
    assert len(begun[killed[0]]) >= 2
    assert all(finished(order) for order in todo)
    assert not list((tmp_path / "out").glob("*.partial"))


def test_a_run_that_costs_every_worker_fails_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sets.CONFIG, "distributed.scheduler.allowed-failures", 0)
    monkeypatch.setattr(sets, "LOST_WORKERS", 0)
    todo = orders(tmp_path, LONGER + SWEEP)
    pids: dict[str, int] = {}

    def hear(word: Word) -> None:
        if word.name == "base" and word.hour > 0 and word.worker in pids:
            os.kill(pids.pop(word.worker), signal.SIGKILL)

    with local_client(2) as client:
        pids.update(client.run(os.getpid))
        told = {outcome.name: outcome.failure for outcome in outcomes(client, todo, hear, at_once=2)}
    assert "workers were lost" in told.pop("base")
    assert set(told.values()) == {""}


def test_a_set_on_two_workers_and_on_a_scheduler_that_runs_already(tmp_path: Path) -> None:
    todo = orders(tmp_path, SHORT + SWEEP)
    table = tmp_path / "out" / "table.csv"
    report = run_set(todo, table, Console(quiet=True), workers=2)
    assert report.done == {order.name for order in todo}
    lines = table.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 5
    for order in todo[:2]:
        Path(order.target).unlink()
    with local_client(1) as client:
        address = str(client.scheduler.address)
        report = run_set(todo, table, Console(quiet=True), scheduler=address, resume=True)
    assert (report.before, len(report.done)) == (2, 4)
    assert table.read_text(encoding="utf-8").splitlines() == lines


def test_no_scheduler_at_an_address(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sets, "PATIENCE", 0.5)
    for address in ("tcp://127.0.0.1:1", "nonsense://there", "127.0.0.1"):
        with pytest.raises(NoSchedulerError, match=r"no scheduler answers"), remote_client(address):
            pass
