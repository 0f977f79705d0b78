"""Gain of several worker processes on a set of runs: `python benchmarks/sets.py [--runs N] [--years A] [--workers N]`.

The same runs of a coarse crawlspace, which differ in the temperature indoors, are carried out by this process
alone, by one worker process and by several.  The set is timed as the command would wait for it, worker processes
started and closed included, and without these; the longer the set, the nearer the two are.  Kernels are compiled
and the weather is read before.  The clock is what counts, so the machine should be idle: the last column is the
load that it had before.
"""

import argparse
import os
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from stemwall.cases.batch.batch import carried_out_here, cores, order_of
from stemwall.cases.batch.pool import Pool
from stemwall.cases.batch.single_run import result_path
from stemwall.cases.batch.worker import Order, Outcome, Word
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import build

CASE = """
[case]
title = "A coarse crawlspace"
[run]
years = {years}
[indoor.house]
temperature = 20
humidity = 0.4
[indoor.crawlspace]
temperature = 18
humidity = 0.5
[detail]
kind = "conditioned crawlspace"
[mesh]
finest = "25 mm"
[sweep]
change."indoor.house.temperature" = {temperatures}
"""
GAIN = 1.9


@dataclass(frozen=True)
class Timed:
    """Seconds of a set: all of it, its runs alone, and their sum."""

    whole: float
    runs: float
    sum: float


def orders(runs: int, years: float, folder: Path) -> list[Order]:
    """The runs of the set."""
    temperatures = [round(15.0 + 10.0 * number / max(runs - 1, 1), 3) for number in range(runs)]
    cases = parse_case(CASE.format(years=years, temperatures=temperatures), folder / "coarse.toml").cases[1:]
    return [order_of(setup, result_path(setup, folder), None) for setup in map(build, cases)]


def timed(todo: list[Order], workers: int | None) -> Timed:
    """Carry out a set by so many worker processes, None for this process."""
    opened = time.perf_counter()
    if workers is None:
        told = list(carried_out_here(todo, lambda word: None))
        begun, ended = opened, time.perf_counter()
    else:
        with Pool(workers) as pool:
            begun = time.perf_counter()
            told = list(pool.outcomes(todo, hear))
            ended = time.perf_counter()
    failures = [outcome.failure for outcome in told if outcome.failure]
    if failures:
        raise SystemExit("\n".join(failures))
    return Timed(time.perf_counter() - opened, ended - begun, sum(map(seconds, told)))


def hear(word: Word) -> None:
    """Take words in as the display would."""


def seconds(outcome: Outcome) -> float:
    """Seconds of one run."""
    return outcome.seconds


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=12)
    parser.add_argument("--years", type=float, default=0.1)
    parser.add_argument("--workers", type=int, default=cores())
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        todo = orders(options.runs, options.years, Path(name))
        list(carried_out_here(todo[:1], hear))  # compile
        print(f"{options.runs} runs of {todo[0].hours} h on {cores()} cores")
        print("workers        whole s   runs s  sum of runs s  gain, whole  gain, runs  load before")
        base: Timed | None = None
        for workers in (None, 1, options.workers):
            load = os.getloadavg()[0]
            found = timed(todo, workers)
            base = base or found
            label = "this process" if workers is None else f"{workers} process{'es' if workers > 1 else ''}"
            print(
                f"{label:12s} {found.whole:9.1f} {found.runs:8.1f} {found.sum:14.1f} "
                f"{base.whole / found.whole:12.2f} {base.runs / found.runs:11.2f} {load:12.2f}"
            )
        print(f"limit: {GAIN} on two cores that are free, for a set long enough that starting workers does not count")


if __name__ == "__main__":
    main()
