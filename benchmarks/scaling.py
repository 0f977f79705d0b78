"""How cost and memory grow with the mesh and with the length of the run.

`python benchmarks/scaling.py [--hours H] [--start DATE] [--cells N ...]` marches the crawlspace of `given_air.toml`
through some hours, in winter unless said otherwise, on meshes of about 1,000 to 100,000 cells, each in a
process of its own: processor time per cell and hour, what the march did, and memory per cell.  Each hour counts with
the shortest of three times it took.

`python benchmarks/scaling.py --years 10` simulates ten years on a coarse mesh, results going to disk,
reads the memory of the process every simulated month, and says how well the balances close.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from multiprocessing import get_context
from pathlib import Path

import h5py
import numpy as np

from stemwall.cases.batch.single_run import simulate_setup
from stemwall.cases.case_file.read import load_case
from stemwall.cases.setup.build import Setup, build
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.model.settings import MeshRule
from stemwall.solver.run import Run, prepare
from stemwall.solver.simulate import Progress

CASE = Path(__file__).with_name("given_air.toml")
CELLS = (1_000, 3_000, 10_000, 30_000, 100_000)
#: start of the winter hours, hours marched before the clock runs, and how often
WINTER, WARM_UP, REPEATS = datetime(2002, 1, 10), 24, 3
#: hours of a year and of a month of it
YEAR, MONTH = 8760, 730


@dataclass(frozen=True)
class Size:
    """One mesh: what it cost.

    ``prepared`` [s] wall time; ``cost`` [us per cell and hour] processor time; steps, updates, matrices and
    linear iterations per hour; memory [kB per cell] held after the march and at its highest.
    """

    cells: int
    nodes: int
    prepared: float
    cost: float
    steps: float
    updates: float
    matrices: float
    linear: float
    held: float
    highest: float


def memory() -> float:
    """Memory of this process now [bytes]; its highest so far where the system does not tell."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except OSError:
        return highest_memory()
    return float(pages * resource.getpagesize())


def highest_memory() -> float:
    """Highest memory of this process so far [bytes]."""
    return float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024))


def beginning(start: datetime, hours: int) -> Setup:
    """The case from a day on, for some hours."""
    case = load_case(CASE).variants()[0]
    run = case.run.model_copy(update={"start": start, "years": hours / YEAR})
    return build(case.model_copy(update={"run": run}))


def rule_for(setup: Setup, cells: int) -> MeshRule:
    """The case's mesh rule, refined or coarsened everywhere until it gives about so many cells."""
    low, high = 0.2, 10.0
    for _ in range(30):
        middle = (low * high) ** 0.5
        if build_mesh(setup.section, setup.mesh.refined(middle)).cells < cells:
            low = middle
        else:
            high = middle
    rules = [setup.mesh.refined(factor) for factor in (low, high)]
    return min(rules, key=lambda rule: abs(build_mesh(setup.section, rule).cells - cells))


def ready(setup: Setup, mesh: MeshRule) -> Run:
    """A set-up made ready to march on a mesh."""
    return prepare(
        setup.section, setup.materials, setup.climates, start=setup.start, hours=setup.hours, ground=setup.ground,
        start_settings=setup.start_state, accuracy=setup.accuracy, mesh=mesh, environment=setup.environment,
    )  # fmt: skip


def march(run: Run, first: int, hours: int) -> np.ndarray:
    """Integrate some hours; processor seconds that each took."""
    seconds = []
    for hour in range(first, first + hours):
        begun = time.process_time()
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * HOUR)
        run.recorder.series(run.integrator.state)
        seconds.append(time.process_time() - begun)
    return np.array(seconds)


def measure(cells: int, hours: int, start: datetime) -> Size:
    """Prepare and march one mesh; call it in a fresh process."""
    setup = beginning(start, WARM_UP + hours)
    mesh = rule_for(setup, cells)
    march(ready(setup, setup.mesh.refined(0.2)), 0, 1)  # compile
    before = memory()
    begun = time.perf_counter()
    run = ready(setup, mesh)
    prepared = time.perf_counter() - begun
    march(run, 0, WARM_UP)
    effort = replace(run.integrator.statistics)
    seconds = march(run, WARM_UP, hours)
    now, n = run.integrator.statistics, run.system.network.mesh.cells
    held, highest = memory(), highest_memory()
    for _ in range(REPEATS - 1):
        again = ready(setup, mesh)
        march(again, 0, WARM_UP)
        seconds = np.minimum(seconds, march(again, WARM_UP, hours))
        del again
    return Size(
        cells=n,
        nodes=run.system.network.nodes,
        prepared=prepared,
        cost=float(seconds.sum()) / hours / n * 1e6,
        steps=(now.steps - effort.steps) / hours,
        updates=(now.updates - effort.updates) / hours,
        matrices=(now.jacobians - effort.jacobians) / hours,
        linear=(now.linear_iterations - effort.linear_iterations) / hours,
        held=(held - before) / n / 1e3,
        highest=(max(held, highest) - before) / n / 1e3,
    )


def alone(cells: int, hours: int, start: datetime) -> Size:
    """`measure` in a process of its own."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(measure, cells, hours, start).result()


def meshes(cells: Sequence[int], hours: int, start: datetime) -> None:
    """Print the table over meshes."""
    print(f"{CASE.stem}, {hours} h from {start + timedelta(hours=WARM_UP):%Y-%m-%d %H:%M}, processor time")
    print(
        "  cells    nodes  prepare s  us/(cell h)  growth  steps/h  updates/h  matrices/h  linear/h  "
        "kB/cell held  highest"
    )
    first: Size | None = None
    for count in cells:
        size = alone(count, hours, start)
        first = first or size
        print(
            f"{size.cells:7d} {size.nodes:8d} {size.prepared:10.2f} {size.cost:12.2f} {size.cost / first.cost:7.2f} "
            f"{size.steps:8.2f} {size.updates:10.2f} {size.matrices:11.2f} {size.linear:9.1f} "
            f"{size.held:13.2f} {size.highest:8.2f}",
            flush=True,
        )


def flat(years: float, cells: int) -> list[float]:
    """Simulate some years into a file; memory of the process at the end of each month [bytes]."""
    case = load_case(CASE).variants()[0]
    setup = build(case, years=years)
    setup = replace(setup, mesh=rule_for(setup, cells))
    seen: list[float] = []

    def progress(step: Progress) -> None:
        while len(seen) < step.hour // MONTH:
            seen.append(memory())

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "years.nc")
        begun = time.process_time()
        simulate_setup(setup, path, progress)
        seconds, written = time.process_time() - begun, path.stat().st_size
        with h5py.File(path) as data:
            water, heat = (float(np.ravel(data.attrs[f"balance_{kind}_relative"])[0]) for kind in ("water", "heat"))
    months = len(seen)
    print(f"{years:g} years, about {cells} cells, {seconds:.0f} s of processor, result {written / 1e6:.1f} MB")
    print(f"largest closure error over all that flowed: water {water:.1e}, heat {heat:.1e}")
    print("memory at the end of each year [MB]: " + ", ".join(f"{seen[k] / 1e6:.1f}" for k in range(11, months, 12)))
    if months > 12:
        grown = (seen[-1] - seen[11]) / 1e3
        print(f"grown after the first year: {grown:.0f} kB, {grown / (months - 12):.1f} kB a month")
    return seen


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table, or with ``--years`` the memory month by month."""
    parser = argparse.ArgumentParser(description="growth of cost and memory")
    parser.add_argument("--hours", type=int, default=24, help="hours marched (default 24)")
    parser.add_argument("--start", type=datetime.fromisoformat, default=WINTER, help="first day (default 2002-01-10)")
    parser.add_argument("--cells", type=int, nargs="+", default=CELLS, help="about so many cells")
    parser.add_argument("--years", type=float, help="simulate years on a coarse mesh and watch the memory")
    given = parser.parse_args(arguments)
    if given.years:
        flat(given.years, given.cells[0])
    else:
        meshes(given.cells, given.hours, given.start)


if __name__ == "__main__":
    main()
