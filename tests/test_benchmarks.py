"""The benchmarks: every script imports, its smallest configuration runs, and the peers solve the same equations."""

import importlib
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import build

FOLDER = Path(__file__).resolve().parents[1] / "benchmarks"
SCRIPTS = sorted(path.stem for path in FOLDER.glob("*.py"))


def script(name: str) -> ModuleType:
    """A benchmark as a module; scripts of one folder import each other by plain names."""
    if str(FOLDER) not in sys.path:
        sys.path.insert(0, str(FOLDER))
    return importlib.import_module(name)


case = script("peers_case")


@pytest.fixture(scope="module")
def start() -> Any:
    """Common start state on the tiny mesh."""
    return case.start_state(case.TINY)


@pytest.fixture(scope="module")
def converged(start: Any) -> Any:
    """The march's converged answer on the tiny mesh."""
    return case.march(case.ready(case.TINY, 0.05, start), case.WARM_UP, case.TINY.hours)


@pytest.mark.parametrize("name", [name for name in SCRIPTS if not name.startswith("peers_fipy")])
def test_every_script_imports(name: str) -> None:
    script(name)


def test_the_case_never_freezes() -> None:
    assert case.climates(case.WARM_UP + case.FULL.hours)["outdoors"].temperature.min() > 0.5


def test_the_jacobian_of_the_lines_is_that_of_their_right_side(start: Any, rng: np.random.Generator) -> None:
    lines = script("peers_lines").Lines(case.ready(case.TINY, 1.0, start), "bandwidth")
    u, t = lines.pack(start), case.WARM_UP * 3600.0 + 2.5 * 3600.0
    nudge = rng.standard_normal(u.size) * np.tile([1e-4, 1e-5], u.size // 2)
    expected = 0.5 * (lines.rate(t, u + nudge) - lines.rate(t, u - nudge))
    found = lines.jacobian(t, u) @ nudge
    assert np.abs(found - expected).max() < 1e-4 * np.abs(expected).max()


@pytest.mark.parametrize("method", ["BDF", "Radau", "LSODA"])
def test_stiff_integrators_agree_with_the_march(method: str, start: Any, converged: Any) -> None:
    stiff = script("peers_stiff")
    answer = stiff.integrate(case.TINY, start, stiff.Setting(method, 1e-5, "uniform"), 2)
    dt, drh = case.distance(answer, converged)
    assert dt < 0.02
    assert drh < 0.02


def test_stiff_integrators_may_start_anew_every_hour(start: Any, converged: Any) -> None:
    stiff = script("peers_stiff")
    setting = stiff.Setting("BDF", 1e-5, "uniform", ordering="COLAMD", hourly=True, grouped=True)
    dt, drh = case.distance(stiff.integrate(case.TINY, start, setting, 2), converged)
    assert dt < 0.02
    assert drh < 0.02


def test_explicit_methods_agree_with_the_march(start: Any, converged: Any) -> None:
    explicit = script("peers_explicit")
    for answer in (explicit.euler(case.TINY, start, 2), explicit.chebyshev(case.TINY, start, 2, 0.1)):
        dt, drh = case.distance(answer, converged)
        assert dt < 0.02
        assert drh < 0.02


@pytest.mark.parametrize("stages", [2, 5, 12])
def test_the_chebyshev_method_is_of_second_order(stages: int) -> None:
    explicit = script("peers_explicit")
    lines = SimpleNamespace(rate=lambda t, u: -u * u + np.cos(t))

    def end(steps: int) -> float:
        u, h = np.array([0.5]), 1.0 / steps
        for k in range(steps):
            u = explicit._stabilised(lines, k * h, u, lines.rate(k * h, u), h, stages)
        return float(u[0])

    exact = end(800)
    assert np.log2(abs(end(10) - exact) / abs(end(20) - exact)) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("stages", [2, 5, 12])
def test_the_chebyshev_method_is_stable_as_far_as_its_stages_promise(stages: int) -> None:
    explicit = script("peers_explicit")
    reach = (stages**2 - 1) / 1.54
    for stiffness in np.linspace(0.05, 1.0, 20) * reach:
        assert explicit._stages(stiffness) <= stages
        lines = SimpleNamespace(rate=lambda t, u, k=stiffness: -k * u)
        grown = explicit._stabilised(lines, 0.0, np.ones(1), lines.rate(0.0, np.ones(1)), 1.0, stages)
        assert abs(grown[0]) < 1.0


@pytest.mark.filterwarnings("ignore")
def test_fipy_takes_up_the_water_that_the_march_does(start: Any) -> None:
    pytest.importorskip("fipy")
    fipy = script("peers_fipy")
    run = case.ready(case.TINY, 0.1, start)
    before = run.system.storage[:, 1].sum()
    case.march(run, case.WARM_UP, 4)
    model = fipy.Model(case.ready(case.TINY, 1.0, start), start, fipy.Setting(2, coupled=False))
    volume = np.asarray(model.grid.cellVolumes)
    held = volume @ model.cells.storage[:, 1]
    for half in range(8):
        model.step((case.WARM_UP + 0.5 * half) * 3600.0, 1800.0)
    taken = run.system.storage[:, 1].sum() - before
    assert taken > 5.0  # two hours of rain
    assert volume @ model.cells.storage[:, 1] - held == pytest.approx(taken, rel=0.02)


@pytest.mark.filterwarnings("ignore")
def test_the_comparison_prints_a_row_for_every_scheme(capsys: pytest.CaptureFixture[str]) -> None:
    peers = script("peers")
    _, chosen, tried, notes = peers.compare(case.TINY, peers.Spans(2, 1, 1, 1))
    peers.write(chosen)
    printed = capsys.readouterr().out
    for scheme in ("Stemwall", "BDF", "LSODA", "Radau", "Chebyshev, explicit", "Euler, explicit"):
        assert f"\n{scheme}" in printed
    assert chosen[0].ratio == 1.0
    assert len(tried) > 15
    assert "two integrators" in notes[0]


def test_the_best_is_the_cheapest_within_the_bar() -> None:
    peers = script("peers")
    rows = [peers.Row("a", str(k), 1, error, cost, cost) for k, (error, cost) in enumerate(
        [((0.06, 0.1), 1.0), ((0.04, 0.4), 3.0), ((0.01, 0.1), 4.0), ((0.04, 0.6), 2.0)]
    )]  # fmt: skip
    assert peers.best(rows, 1.0) is rows[1]
    assert peers.best(rows, 0.1) is rows[2]


def test_scaling_measures_a_mesh() -> None:
    scaling = script("scaling")
    size = scaling.measure(500, 1, scaling.WINTER)
    assert size.cells == pytest.approx(500, rel=0.2)
    assert size.cost > 0.0
    assert size.steps >= 1.0


def test_memory_is_read_every_month(capsys: pytest.CaptureFixture[str]) -> None:
    seen = script("scaling").flat(0.2, 250)
    assert len(seen) == 2
    assert min(seen) > 1e7


def test_accuracy_benchmark_marches() -> None:
    marching = script("marching")
    temperature, humidity, seconds = marching.march(marching.ready(marching.scaled(1.0)), 1)
    assert temperature.shape == humidity.shape
    assert np.all(np.isfinite(temperature))
    assert seconds > 0.0


def test_passes_of_an_hour_are_those_of_a_march() -> None:
    """Each can be taken again and leaves numbers; what is renewed after an hour is neither nothing nor all."""
    marching, least = script("marching"), script("least")
    run = marching.ready(marching.scaled(1.0))
    marching.march(run, 2)
    names = []
    for name, times, action in list(least.passes(run)):
        action()
        action()
        names.append(name)
        assert times in (1, 2)
    system = run.system
    for values in (
        system.residual,
        system.inflow,
        system.storage,
        system.problem.newton.update,
        system.problem.newton.weights,
    ):
        assert np.all(np.isfinite(values))
    renewed = next(name for name in names if name.startswith("rows of the Jacobian"))
    assert 0.0 < float(renewed.split()[-1].rstrip("%")) < 100.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("start", "hours", "soil", "failures"),
    [
        ("2001-11-20", 1000, "soil_loam_class", 20),
        ("2001-01-01", 100, "soil_loam_class", 10),
        ("2001-01-01", 100, "soil_loam", 20),
    ],
)
def test_the_hardest_mix_runs_through(start: str, hours: int, soil: str, failures: int) -> None:
    """Regression: it stopped at the first thaw; full ground below 0 degC at the start stopped it at once.

    Newton may fail as often as before, not as often per step: there are eight times fewer.
    """
    run, attributes = script("robustness").march(hours, start, soil)
    effort = run.integrator.statistics
    assert attributes["balance_water_relative"] < 1e-6
    assert attributes["balance_heat_relative"] < 1e-6
    assert effort.unbalanced_steps == 0
    assert effort.rejected_newton <= failures


def test_random_sections_are_cases_and_the_same_for_a_seed(tmp_path: Path) -> None:
    """Every one of some can be read and built, free ones and details, in all kinds of weather."""
    made = script("robustness_sections")
    weathers = made.write_weather(tmp_path)
    texts = [made.section(3, number, weathers) for number in range(6)]
    assert texts == [made.section(3, number, weathers) for number in range(6)]
    assert len(set(texts)) == len(texts)
    assert sum("[detail]" in text for text in texts) == 2
    for text in texts:
        assert build(parse_case(text, tmp_path / "case.toml").base).hours == made.HOURS


def test_a_random_section_is_marched_and_told(tmp_path: Path) -> None:
    made, march = script("robustness_sections"), script("robustness_random").march_text
    text = made.section(1, 0, made.write_weather(tmp_path))
    found = march(text, tmp_path, 0, 0.0)
    assert (found.ended, found.hours) == ("stopped", 1)
    assert found.nodes > 50
    assert found.balance < 1e-6
