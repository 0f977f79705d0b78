"""The march beside its peers: `python benchmarks/peers.py [--refine FACTOR] [--all]`.

One section, one start state, the same loads and the same material tables for everybody (`peers_case`):
the march; BDF, Radau and LSODA of scipy on the same nodes (`peers_stiff`); two
explicit methods on the same nodes (`peers_explicit`); FiPy on the same mesh (`peers_fipy`).  Each, the march too, is
tried with several settings; what counts is the cheapest that keeps every probe at every hour within 0.05 K
and 0.5 % relative humidity of a converged answer, or within the march's own error where that is larger.
The converged answer is the march's at a twentieth of its tolerances and, for FiPy, FiPy's extrapolated to
short steps: what its cells differ from nodes is no matter of time stepping and is stated by itself.

Costs are processor seconds.  Slow peers are measured over fewer hours; every ratio is to the march over the
same hours.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import astuple, dataclass, replace
from functools import partial

for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # one core for everybody

import numpy as np  # noqa: E402
from peers_case import FULL, WARM_UP, Answer, Size, distance, march, probe_cells, ready, start_state  # noqa: E402
from peers_explicit import chebyshev, euler  # noqa: E402
from peers_stiff import TRIALS, Setting, integrate  # noqa: E402

from stemwall.solver.integration.system import State  # noqa: E402

#: what every scheme must keep: largest error of temperature [K] and of relative humidity [%]
TARGET = (0.05, 0.5)
#: tolerances of the march that are tried, times the default
FACTORS = (1.0, 1.5, 2.0, 2.5)


@dataclass(frozen=True)
class Spans:
    """Hours over which peers are measured; ``banded`` goes for LSODA and Radau."""

    stiff: int = FULL.hours
    banded: int = 72
    explicit: int = 96
    fipy: int = 48


@dataclass(frozen=True)
class Row:
    """One scheme with one setting: what it cost and how far it was off.

    ``cost`` [us per node and hour], ``ratio`` to the march over the same hours, ``error`` [K, %].
    """

    scheme: str
    setting: str
    hours: int
    error: tuple[float, float]
    cost: float
    ratio: float

    def share(self) -> float:
        """Error as a share of the target, the worse of the two."""
        return max(e / t for e, t in zip(self.error, TARGET, strict=True))


class Comparison:
    """Everything measured on one mesh: the reference, the march, and the rows of the peers."""

    def __init__(self, size: Size) -> None:
        self.size = size
        self.start: State = start_state(size)
        self.reference = march(ready(size, 0.05, self.start), WARM_UP, size.hours)
        self.nodes = self.start.temperature.size
        self._marched: dict[tuple[int, float], Answer] = {}
        #: tolerances at which the march is what others are held against, times the default
        self.factor = FACTORS[0]

    def marched(self, hours: int, factor: float) -> Answer:
        """The march at some tolerances over the first hours, the fastest of three."""
        if (hours, factor) not in self._marched:
            answers = [march(ready(self.size, factor, self.start), WARM_UP, hours) for _ in range(3)]
            self._marched[hours, factor] = min(answers, key=lambda answer: answer.seconds)
        return self._marched[hours, factor]

    def in_cells(self, hours: int) -> Answer:
        """The converged answer as means over the corners of the cells next to the probes."""
        run = ready(self.size, 0.05, self.start)
        nodes = run.system.network.corner_node[probe_cells(run)]
        return march(run, WARM_UP, hours, nodes)

    def row(self, scheme: str, setting: str, answer: Answer, reference: Answer | None = None) -> Row:
        """What an answer cost and how far it is off."""
        hours = answer.hours
        cost = answer.seconds / hours / self.nodes * 1e6
        ratio = answer.seconds / self.marched(hours, self.factor).seconds
        return Row(scheme, setting, hours, distance(answer, reference or self.reference), cost, ratio)

    def try_all(self, scheme: str, trials: Iterator[tuple[str, Callable[[], Answer]]]) -> list[Row]:
        """Rows of all settings of a scheme; one that breaks down is said and left out."""
        rows = []
        for text, trial in trials:
            try:
                with np.errstate(all="ignore"):  # a step that is tried in vain may overflow
                    rows.append(self.row(scheme, text, trial()))
            except RuntimeError as error:
                print(f"{scheme}, {text}: broke down, {error}")
        return rows


def best(rows: Sequence[Row], bar: float) -> Row:
    """The cheapest row within the bar (a share of the target), or the most accurate where none is."""
    good = [row for row in rows if row.share() <= bar]
    return min(good, key=lambda row: row.cost) if good else min(rows, key=Row.share)


def stiff(c: Comparison, method: str, hours: int) -> Iterator[tuple[str, Callable[[], Answer]]]:
    """Settings of a stiff integrator that are worth trying."""
    for setting in TRIALS[method]:
        yield str(setting), partial(integrate, c.size, c.start, setting, hours)


def less_tuned(c: Comparison, setting: Setting, hours: int) -> Iterator[tuple[str, Callable[[], Answer]]]:
    """The same tolerance without the care taken: the library's ordering, then its own Jacobian as well."""
    for grouped in (False, True):
        plain = replace(setting, ordering="COLAMD", grouped=grouped)
        yield str(plain), partial(integrate, c.size, c.start, plain, hours)


def explicit(c: Comparison, hours: int) -> Iterator[tuple[str, Callable[[], Answer]]]:
    """Tolerances of the Chebyshev method."""
    for value in (30.0, 10.0, 3.0, 1.0, 0.3):
        yield f"wanted tolerance {value:g}", partial(chebyshev, c.size, c.start, hours, value)


def fipy_rows(comparison: Comparison, hours: int) -> tuple[list[Row], tuple[float, float]]:
    """FiPy's rows, and how far its converged answer is from that of the nodes [K, %]; nothing without FiPy."""
    try:
        import peers_fipy
    except ImportError:
        print("FiPy is not installed: left out")
        return [], (0.0, 0.0)

    def run(setting: peers_fipy.Setting) -> Answer:
        return peers_fipy.run_fipy(comparison.size, comparison.start, setting, hours)

    trials = [(1, False), (2, False), (3, False), (4, False), (3, True)]
    answers = {trial: run(peers_fipy.Setting(trial[0], coupled=trial[1])) for trial in trials}
    finest = run(peers_fipy.Setting(8, tolerance=0.01, coupled=False))
    reference = _extrapolated(finest, answers[4, False])
    rows = []
    for (steps, coupled), answer in answers.items():
        text = f"{steps} steps/h, unknowns {'together' if coupled else 'in turn'}, LU"
        rows.append(comparison.row("FiPy", text, answer, reference))
    return rows, distance(reference, comparison.in_cells(hours))


def _extrapolated(fine: Answer, coarse: Answer) -> Answer:
    """The limit of a scheme of first order from two answers with steps of one and two lengths."""
    temperature = 2.0 * fine.temperature - coarse.temperature
    return Answer(temperature, 2.0 * fine.humidity - coarse.humidity, fine.seconds + coarse.seconds)


def compare(size: Size, spans: Spans) -> tuple[Comparison, list[Row], list[Row], list[str]]:
    """The comparison, the rows that count, all rows, and what is to be said about the references."""
    c = Comparison(size)
    bar = max(1.0, c.row("", "", c.marched(size.hours, 1.0)).share())
    own = {factor: c.row("", "", c.marched(size.hours, factor)) for factor in FACTORS}
    c.factor = min((factor for factor in FACTORS if own[factor].share() <= bar), key=lambda factor: own[factor].cost)
    tried = [c.row("Stemwall", f"{f:g} of the default tolerances", c.marched(size.hours, f)) for f in FACTORS]
    chosen = [tried[FACTORS.index(c.factor)]]

    def note_best(rows: list[Row]) -> None:
        tried.extend(rows)
        chosen.extend([best(rows, bar)] if rows else [])

    for method, hours in (("BDF", spans.stiff), ("LSODA", spans.banded), ("Radau", spans.banded)):
        note_best(c.try_all(method, stiff(c, method, hours)))
    setting = next((setting for setting in TRIALS["BDF"] if str(setting) == chosen[1].setting), TRIALS["BDF"][-1])
    tried += c.try_all("BDF, less tuned", less_tuned(c, setting, spans.banded))
    note_best(c.try_all("Chebyshev, explicit", explicit(c, spans.explicit)))
    chosen.append(c.row("Euler, explicit", "steps at 0.8 of the limit", euler(size, c.start, spans.explicit)))
    tight = integrate(size, c.start, Setting("BDF", 1e-5, "uniform"), spans.fipy)
    notes = [
        f"BDF at tolerance 1e-5 is {_far(distance(tight, c.reference))} from the march's converged answer: "
        "two integrators, one set of equations"
    ]
    rows, apart = fipy_rows(c, spans.fipy)
    note_best(rows)
    if rows:
        notes.append(f"FiPy's converged answer is {_far(apart)} from that of the nodes round the same cells")
    return c, chosen, tried, notes


def _far(error: tuple[float, float]) -> str:
    return f"{error[0]:.4f} K, {error[1]:.4f} %"


def write(rows: Sequence[Row]) -> None:
    """Print a table."""
    width = max(len(row.setting) for row in rows)
    print(f"{'scheme':20} {'setting':{width}} {'hours':>5} {'max |dT| K':>10} {'max |dRH| %':>11} us/(node h)  ratio")
    for row in rows:
        print(
            f"{row.scheme:20} {row.setting:{width}} {row.hours:5d} {row.error[0]:10.4f} {row.error[1]:11.4f} "
            f"{row.cost:11.2f} {row.ratio:6.1f}" + ("" if row.share() <= 1.0 else "  misses the target")
        )


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="the march beside its peers")
    parser.add_argument("--refine", type=float, default=1.0, help="mesh so many times finer (default 1)")
    parser.add_argument("--hours", type=int, default=FULL.hours, help="longest span compared [h]")
    parser.add_argument("--all", action="store_true", help="print every setting that was tried")
    given = parser.parse_args(arguments)
    size = replace(FULL, mesh=FULL.mesh.refined(given.refine), hours=given.hours)
    spans = Spans(*(min(span, given.hours) for span in astuple(Spans(stiff=given.hours))))
    comparison, chosen, tried, notes = compare(size, spans)
    print(f"{comparison.nodes} nodes; every scheme at its cheapest setting within {TARGET[0]} K and {TARGET[1]} %")
    write(chosen)
    print("\n".join(notes))
    if given.all:
        print("\nall that was tried")
        write(tried)


if __name__ == "__main__":
    main()
