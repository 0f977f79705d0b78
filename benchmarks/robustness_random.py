"""March random sections, each in a process that can be ended, and say what became of every one.

Printed: sections that ended the process, that did not come back, that gave up (place, hour and reason), that the time
allowed did not suffice for, and that ended with balances open; and what they cost beside the median.
"""

from __future__ import annotations

import multiprocessing
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
from robustness_sections import HOURS, section, write_weather

#: seconds for compiling and reading, and after the time allowed, until a run counts as one that does not come back
GRACE = 240.0
#: largest share of the turnover by which a balance may be open, and cost over the median that is worth a line
OPEN, DEAR = 1e-6, 20.0


@dataclass(frozen=True)
class Outcome:
    """What became of a section: how it ended, why, hours marched, nodes, seconds and the worst open balance."""

    number: int
    ended: str
    why: str = ""
    hours: int = 0
    nodes: int = 0
    seconds: float = 0.0
    balance: float = 0.0

    @property
    def cost(self) -> float:
        """Seconds for a node and an hour."""
        return self.seconds / max(self.nodes * self.hours, 1)


def march_text(text: str, folder: Path, number: int, seconds: float) -> Outcome:
    """Build and march a case for at most so many seconds."""
    from stemwall.cases.case_file.read import parse_case
    from stemwall.cases.setup.build import build
    from stemwall.solver.model.errors import SectionError, SolverError
    from stemwall.solver.run import prepare

    setup = build(parse_case(text, folder / "case.toml").variants()[0])
    try:
        run = prepare(
            setup.section, setup.materials, setup.climates, start=setup.start, hours=HOURS, ground=setup.ground,
            start_settings=setup.start_state, accuracy=setup.accuracy, mesh=setup.mesh, environment=setup.environment,
        )  # fmt: skip
    except SectionError as error:
        return Outcome(number, "refused", str(error))
    march, outer, ended, why, hour = run.integrator, ~run.zoned.inner, "done", "", 0
    before, seen, turnover, worst = march.conserved.sum(axis=0), march.through.copy(), np.zeros(2), np.zeros(2)
    begun = time.perf_counter()
    try:
        for hour in range(1, HOURS + 1):
            run.actions.before(hour - 1, march.state)
            march.advance_to(hour * 3600.0)
            moved, seen = np.abs(march.through - seen)[outer], march.through.copy()
            turnover += moved[:, 0].sum(), moved[:, 1:3].sum()
            entered = np.array([seen[outer, 0].sum(), seen[outer, 1:3].sum()]) + march.injected
            worst = np.maximum(worst, np.abs(run.system.storage.sum(axis=0) - before - entered))
            if time.perf_counter() - begun > seconds and hour < HOURS:
                ended, why = "stopped", f"after {seconds:.0f} s, in hour {hour}"
                break
    except SolverError as error:
        ended, why = "gave up", str(error)
    spent, share = time.perf_counter() - begun, worst / np.maximum(turnover, 1e-300)
    return Outcome(number, ended, why, hour, run.system.network.nodes, spent, float(share.max()))


def _serve(pipe: Connection, folder: str, seconds: float) -> None:
    """March texts that come through a pipe, one by one."""
    while True:
        number, text = pipe.recv()
        try:
            pipe.send(march_text(text, Path(folder), number, seconds))
        except Exception as error:  # whatever it is, it is told of its section
            pipe.send(Outcome(number, "error", f"{type(error).__name__}: {error}"))


def outcomes(seed: int, first: int, count: int, seconds: float) -> Iterator[Outcome]:
    """March sections of a seed, from the first number on, and tell what becomes of each."""
    context = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder:
        weathers = write_weather(Path(folder))
        worker = None
        for number in range(first, first + count):
            if worker is None:
                pipe, other = context.Pipe()
                worker = context.Process(target=_serve, args=(other, folder, seconds), daemon=True)
                worker.start()
                other.close()
            pipe.send((number, section(seed, number, weathers)))
            try:
                found = pipe.recv() if pipe.poll(seconds + GRACE) else Outcome(number, "no answer")
            except EOFError:
                worker.join()
                found = Outcome(number, "crash", f"the process ended with {worker.exitcode}")
            if found.ended in ("no answer", "crash"):
                worker.kill()
                worker = None
            yield found
        if worker is not None:
            worker.kill()


def report(seed: int, first: int, count: int, seconds: float) -> list[Outcome]:
    """March sections and print what is worth a line of each, and the sum of all."""
    found = []
    for outcome in outcomes(seed, first, count, seconds):
        found.append(outcome)
        if outcome.ended != "done" or outcome.balance > OPEN:
            print(
                f"{outcome.number}: {outcome.ended}, balance open by {outcome.balance:.1e}; {outcome.why}", flush=True
            )
    ends = {end: sum(o.ended == end for o in found) for end in dict.fromkeys(o.ended for o in found)}
    print(f"seed {seed}, {count} sections from {first}:", ", ".join(f"{n} {end}" for end, n in ends.items()))
    marched = [o for o in found if o.hours]
    if not marched:
        return found
    median = float(np.median([o.cost for o in marched]))
    print(f"worst balance open by {max(o.balance for o in marched):.1e} of the turnover")
    print(f"median cost {1e6 * median:.1f} microseconds for a node and an hour")
    dear = sorted((o for o in marched if o.cost > DEAR * median), key=lambda o: -o.cost)
    print(f"{len(dear)} cost more than {DEAR:.0f} times as much:", end=" ")
    print(", ".join(f"{o.number} ({o.cost / median:.0f} times, {o.nodes} nodes)" for o in dear) or "none")
    return found
