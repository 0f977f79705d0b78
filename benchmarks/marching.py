"""Cost and accuracy of the marching on a crawlspace of given air: `python benchmarks/marching.py [HOURS] [--months N]`.

Marches the first hours of `given_air.toml` at several accuracies on one core and
compares every probe at every hour with a run at a tenth of the strictest.  Costs
are given per node and simulated hour and in evaluations of the full residual (all
material functions and all fluxes once), which does not depend on the machine.  Each hour counts with the
shortest of several times it took: the work is the same every time, others on the machine are not.

With --months, only what each of the first N months costs at the default accuracy, and all of them in the mean.
"""

import argparse
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from stemwall.cases.case_file.read import load_case
from stemwall.cases.setup.build import build
from stemwall.solver.model.settings import Accuracy
from stemwall.solver.run import Run, prepare

CASE = Path(__file__).with_name("given_air.toml")
FACTORS = (0.25, 0.5, 1.0, 1.5, 2.0)
REPEATS = 3
#: hours of a month
MONTH = 730


def scaled(factor: float) -> Accuracy:
    """The default accuracy times a factor."""
    base = Accuracy()
    return Accuracy(base.temperature * factor, base.humidity * factor, base.saturation * factor)


def ready(accuracy: Accuracy) -> Run:
    """The case made ready to march."""
    setup = build(load_case(CASE).variants()[0])
    return prepare(
        setup.section, setup.materials, setup.climates, start=setup.start, hours=setup.hours, ground=setup.ground,
        start_settings=setup.start_state, accuracy=accuracy, mesh=setup.mesh, environment=setup.environment,
    )  # fmt: skip


def march(run: Run, hours: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Temperatures and humidities of all probes by hour, and processor seconds that each hour took."""
    temperature, humidity, seconds = [], [], []
    for hour in range(hours):
        begun = time.process_time()
        run.actions.before(hour, run.integrator.state)
        run.integrator.advance_to((hour + 1) * 3600.0)
        reading = run.recorder.series(run.integrator.state)
        seconds.append(time.process_time() - begun)
        temperature.append(reading.temperature)
        humidity.append(reading.relative_humidity)
    return np.array(temperature), np.array(humidity), np.array(seconds)


def fastest(action: Callable[[], object], repeats: int = 50) -> float:
    """Shortest of several times an action takes [s]."""
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        action()
        times.append(time.perf_counter() - begun)
    return min(times)


def residual_cost(run: Run) -> float:
    """Seconds for one evaluation of all material functions and all fluxes."""
    system, state = run.system, run.integrator.state
    loads = run.loads.at(run.integrator.time, run.integrator.time - 1.0).copy()
    history = np.zeros_like(system.storage)

    def evaluate() -> None:
        system.evaluate(state)
        system.assemble(state, 1e-3, history, loads, jacobian=False)

    return fastest(evaluate)


def cheapest(factor: float, hours: int) -> tuple[Run, np.ndarray, np.ndarray, np.ndarray, float]:
    """A run at some accuracy, what its probes read, the shortest time of each hour and of an evaluation [s]."""
    shortest, cost = np.full(hours, np.inf), np.inf
    for _ in range(REPEATS):
        run = ready(scaled(factor))
        temperature, humidity, taken = march(run, hours)
        shortest, cost = np.minimum(shortest, taken), min(cost, residual_cost(run))
    return run, temperature, humidity, shortest, cost


def compare(hours: int) -> None:
    """Print cost and accuracy at several tolerances."""
    reference = march(ready(scaled(0.02)), hours)
    nodes = 0
    print("accuracy  steps/h  updates/h  us/(node h)  residuals/h  max |dT| K  max |dRH| %  99.9 % |dT|  99.9 % |dRH|")
    for factor in FACTORS:
        run, t, rh, shortest, cost = cheapest(factor, hours)
        nodes, seconds = run.system.network.nodes, shortest.sum()
        dt, drh = np.abs(t - reference[0]), 100 * np.abs(rh - reference[1])
        effort = run.integrator.statistics
        print(
            f"{factor:8.2f} {effort.steps / hours:8.2f} {effort.updates / hours:10.2f} "
            f"{seconds / hours / nodes * 1e6:12.2f} {seconds / hours / cost:12.1f} {dt.max():11.4f} {drh.max():12.3f} "
            f"{np.quantile(dt, 0.999):13.4f} {np.quantile(drh, 0.999):14.3f}"
        )
    print(f"{nodes} nodes, {hours} h; accuracy 1 is the default")


def by_months(months: int) -> None:
    """Print what each of the first months costs at the default accuracy."""
    run, _, _, shortest, cost = cheapest(1.0, MONTH * months)
    nodes = run.system.network.nodes
    print("month  us/(node h)  residuals/h")
    for number in range(months):
        mean = shortest[number * MONTH : (number + 1) * MONTH].mean()
        print(f"{number + 1:5d} {mean / nodes * 1e6:12.3f} {mean / cost:12.2f}")
    mean = shortest.mean()
    print(f"  all {mean / nodes * 1e6:12.3f} {mean / cost:12.2f}   {shortest.sum():.1f} s, {nodes} nodes")


def main() -> None:
    """Print the table that is asked for."""
    parser = argparse.ArgumentParser(description="cost and accuracy of the marching on given_air.toml")
    parser.add_argument("hours", type=int, nargs="?", default=500, help="hours compared (default 500)")
    parser.add_argument("--months", type=int, help="only the cost of so many months, one by one")
    given = parser.parse_args()
    march(ready(scaled(1.0)), 2)  # compile
    if given.months is None:
        compare(given.hours)
    else:
        by_months(given.months)


if __name__ == "__main__":
    main()
