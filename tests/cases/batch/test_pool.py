"""Sets on worker processes of this machine: nothing listens, a lost worker's run is repeated, Ctrl-C ends all."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from rich.console import Console

from stemwall.cases.batch import pool as sets_pool
from stemwall.cases.batch import worker
from stemwall.cases.batch.batch import finished
from stemwall.cases.batch.pool import LOST_WORKERS, Pool
from stemwall.cases.batch.worker import RETRIES, Order, Outcome, Word
from stemwall.cases.cli.run_batch import run_set
from tests.cases.batch.test_batch import SHORT, SWEEP, orders
from tests.cases.samples import changed

LONGER = changed("years = 0.0005", "years = 0.25", SHORT)
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")


def children(pid: int) -> list[int]:
    """Processes that a process began, and those that these began."""
    begun: list[int] = []
    with suppress(FileNotFoundError, ProcessLookupError):  # it may have just ended
        for task in Path(f"/proc/{pid}/task").iterdir():
            begun += [int(one) for one in (task / "children").read_text().split()]
    return begun + [other for one in begun for other in children(one)]


def listening(pids: list[int]) -> set[str]:
    """Inodes of the TCP sockets on which processes wait for others."""
    tables = [Path("/proc/net", name) for name in ("tcp", "tcp6")]
    rows = [line.split() for table in tables if table.exists() for line in table.read_text().splitlines()[1:]]
    waiting = {row[9] for row in rows if row[3] == "0A"}
    held = {name for pid in pids for name in _held(pid)}
    return waiting & {name.removeprefix("socket:[").removesuffix("]") for name in held}


def _held(pid: int) -> list[str]:
    """What the open files of a process are; none if it has just ended."""
    found = []
    with suppress(FileNotFoundError, ProcessLookupError):
        for file in Path(f"/proc/{pid}/fd").iterdir():
            with suppress(FileNotFoundError):
                found.append(os.readlink(file))
    return found


@LINUX
def test_a_set_on_worker_processes_opens_no_port(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    todo = orders(tmp_path, SHORT + SWEEP)
    with socket.create_server(("127.0.0.1", 0)):  # the test can see one
        before = listening([os.getpid()])
        assert before
        found: list[set[str]] = []
        begun: set[int] = set()
        inner = Pool.outcomes

        def watched(pool: Pool, todo: list[Order], hear: Callable[[Word], None] | None) -> object:
            def look(word: Word) -> None:
                begun.update(children(os.getpid()))
                found.append(listening([os.getpid(), *children(os.getpid())]))

            return inner(pool, todo, look)

        monkeypatch.setattr(Pool, "outcomes", watched)
        report = run_set(todo, tmp_path / "out" / "table.csv", Console(quiet=True), workers=2)
    assert report.done == {order.name for order in todo}
    assert len((tmp_path / "out" / "table.csv").read_text(encoding="utf-8").splitlines()) == 5
    assert len(begun) >= 2
    assert found
    assert all(one == before for one in found)
    assert not begun & set(children(os.getpid())) - _trackers()


def _trackers() -> set[int]:
    """The process that the standard library leaves to clear up after others."""
    from multiprocessing import resource_tracker

    pid = resource_tracker._resource_tracker._pid  # type: ignore[attr-defined]
    return {pid} if pid else set()


def test_what_disk_or_network_failed_at_is_tried_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    order = orders(tmp_path)[0]
    errors: list[OSError] = []

    def fail(order: Order, hear: Callable[[Word], None]) -> Outcome:
        if errors:
            raise errors.pop()
        return Outcome(order.name)

    monkeypatch.setattr(worker, "carry_out", fail)
    errors[:] = [OSError("disk")] * RETRIES
    assert worker._outcome(order, print) == Outcome("base")
    errors[:] = [OSError("disk")] * (RETRIES + 1)
    assert worker._outcome(order, print) == Outcome("base", failure="OSError: disk")


def test_a_pool_without_orders_ends_by_itself() -> None:
    with Pool(1) as pool:
        (pid,) = pool.pids
        assert list(pool.outcomes([])) == []
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


@pytest.mark.slow
def test_the_run_of_a_lost_worker_is_repeated(tmp_path: Path) -> None:
    todo = orders(tmp_path, LONGER + SWEEP)
    begun: dict[str, list[str]] = {}
    killed: list[str] = []

    def hear(word: Word) -> None:
        workers = begun.setdefault(word.name, [])
        if not workers or workers[-1] != word.worker:
            workers.append(word.worker)
        if word.hour > 0 and not killed:
            killed.append(word.name)
            os.kill(int(word.worker), signal.SIGKILL)

    with Pool(2) as pool:
        told = list(pool.outcomes(todo, hear))
        assert len(pool.pids) == 2
    assert {outcome.name for outcome in told} == {order.name for order in todo}
    assert [outcome.failure for outcome in told] == [""] * 4
    assert [len(workers) for name, workers in begun.items() if name != killed[0]] == [1] * 3
    assert len(begun[killed[0]]) == 2
    assert all(finished(order) for order in todo)
    assert not list((tmp_path / "out").glob("*.partial"))


@pytest.mark.slow
def test_a_run_that_costs_every_worker_fails_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sets_pool, "LOST_WORKERS", 1)
    todo = orders(tmp_path, SHORT + SWEEP)

    def hear(word: Word) -> None:
        if word.name == "base":
            os.kill(int(word.worker), signal.SIGKILL)

    with Pool(2) as pool:
        told = {outcome.name: outcome.failure for outcome in pool.outcomes(todo, hear)}
    assert told.pop("base") == "2 workers were lost while they computed it"
    assert set(told.values()) == {""}
    assert LOST_WORKERS > 1


def _begun(tmp_path: Path) -> tuple[subprocess.Popen[str], list[int]]:
    """A set on two workers, in a group of processes of its own, and its workers when both write their results."""
    path = tmp_path / "wall.toml"
    path.write_text(LONGER.replace("years = 0.25", "years = 5") + SWEEP)
    command = [sys.executable, "-c", "from stemwall.cases.cli.commands import main; main()", "run", str(path)]
    command += ["--out", str(tmp_path / "out"), "--workers", "2"]
    running = subprocess.Popen(command, stdout=-1, stderr=-1, text=True, start_new_session=True)
    while len(list((tmp_path / "out").glob("*.nc*"))) < 2:
        assert running.poll() is None, running.communicate()
        time.sleep(0.1)
    return running, children(running.pid)


def left_of(pids: list[int]) -> list[int]:
    """Those of some processes that are still there after a while."""
    for _ in range(300):
        left = [pid for pid in pids if _runs(pid)]
        if not left:
            break
        time.sleep(0.1)
    return left


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@LINUX
@pytest.mark.slow
def test_ctrl_c_ends_a_set_in_words_and_leaves_nothing_unfinished(tmp_path: Path) -> None:
    running, pids = _begun(tmp_path)
    os.killpg(running.pid, signal.SIGINT)
    printed, said = running.communicate()
    assert running.returncode == 130
    assert "--resume goes on" in said
    assert "Traceback" not in printed + said
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["wall-runs.csv"]
    assert len(pids) >= 2
    assert not left_of(pids)


@LINUX
@pytest.mark.slow
def test_workers_end_with_the_process_that_asked(tmp_path: Path) -> None:
    running, pids = _begun(tmp_path)
    running.kill()
    running.wait()
    assert len(pids) >= 2
    assert not left_of(pids)
    running.communicate()
