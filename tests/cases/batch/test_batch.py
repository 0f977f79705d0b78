"""Sets of runs in one process: what is left to do, what fails, the table, and the command line."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import xarray as xr
from rich.console import Console
from typer.testing import CliRunner

from stemwall.cases.batch import single_run, worker
from stemwall.cases.batch.batch import NoSchedulerError, finished, order_of
from stemwall.cases.batch.table import INDICATORS, MOULD, SetTable, rows_of
from stemwall.cases.batch.worker import Order, Word, carry_out
from stemwall.cases.case_file.read import parse_case
from stemwall.cases.cli import commands
from stemwall.cases.cli.run_batch import SetReport, run_set
from stemwall.cases.results.variant import load
from stemwall.cases.setup.build import Setup, build
from stemwall.cases.setup.run_hash import input_hash, recorded_input
from stemwall.solver.assessment.indicators import indicators
from stemwall.solver.assessment.probe_series import series_of
from stemwall.solver.model.errors import SectionError, SolverError
from stemwall.solver.results.result_names import failed_path, interrupted_path
from tests.cases.samples import changed, setup

SWEEP = '[sweep]\nchange."indoor.room.temperature" = [15, 20.5, 25]\n'
SHORT = changed("years = 0.01", "years = 0.0005") + '[mesh]\nfinest = "50 mm"\n'
#: hour, of four, from which a run that fails does so
LATE = 3
NAMES = ["base", "temperature=15", "temperature=20.5", "temperature=25"]
runner = CliRunner()


def orders(folder: Path, text: str = SHORT + SWEEP) -> list[Order]:
    """What a case text asks for, results in ``folder``."""
    made = [build(case) for case in parse_case(text, folder / "wall.toml").cases]
    return [order_of(one, single_run.result_path(one, folder / "out"), None) for one in made]


def carried_out(folder: Path, text: str = SHORT + SWEEP, *, resume: bool = False) -> SetReport:
    return run_set(orders(folder, text), folder / "out" / "table.csv", Console(quiet=True), workers=1, resume=resume)


def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "out" / "table.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def simulated(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the variants that are simulated, as they are."""
    names: list[str] = []
    inner = single_run.simulate_setup

    def simulate(one: Setup, path: Path, progress: Callable[..., None] | None = None) -> Path:
        names.append(one.case.name)
        return inner(one, path, progress)

    monkeypatch.setattr(single_run, "simulate_setup", simulate)
    return names


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> dict[str, BaseException]:
    """What to raise by name of the variant that fails after some hours."""
    errors: dict[str, BaseException] = {}
    inner = single_run.simulate_setup

    def simulate(one: Setup, path: Path, progress: Callable[..., None] | None = None) -> Path:
        def stop(step: Any) -> None:
            if step.hour >= LATE:
                raise errors[one.case.name]

        return inner(one, path, stop if one.case.name in errors else progress)

    monkeypatch.setattr(single_run, "simulate_setup", simulate)
    return errors


def test_every_run_has_its_result_and_its_rows(tmp_path: Path) -> None:
    report = carried_out(tmp_path)
    assert [path.name for path in report.results] == [
        "wall-base.nc", "wall-temperature-15.nc", "wall-temperature-20-5.nc", "wall-temperature-25.nc",
    ]  # fmt: skip
    assert sorted(os.listdir(tmp_path / "out")) == sorted([*(path.name for path in report.results), "table.csv"])
    rows = table(tmp_path)
    assert [row["run"] for row in rows] == NAMES
    assert [row["indoor.room.temperature"] for row in rows] == ["", "15", "20.5", "25"]
    assert {(row["status"], row["place"], row["kind"]) for row in rows} == {("done", "inner face", "interface")}
    warmth = [float(row["highest temperature [degC]"]) for row in rows]
    assert warmth[1] < warmth[0] < warmth[2] < warmth[3]


def test_rows_are_those_of_indicators_and_assessment(tmp_path: Path) -> None:
    text = SHORT + '[[probe]]\nname = "damp"\nx = 0\ny = -0.5\nregion = "soil"\nkind = "wood"\nmould_class = "VS"\n'
    path = single_run.simulate_setup(setup(text), tmp_path / "a.nc")
    with xr.open_dataset(path) as data:
        found = indicators(series_of(data.load(), "damp"))
    assert set(INDICATORS) <= set(found)
    row = rows_of(path)[1]
    assert (row["place"], row["kind"], row["mould class"]) == ("damp", "wood", "VS")
    assert {name: row[name] for name in INDICATORS} == {name: found[name] for name in INDICATORS}
    assert row[MOULD[0]] >= 0.0
    assert row[MOULD[1]] is None


def test_a_result_keeps_what_made_it(tmp_path: Path) -> None:
    carried_out(tmp_path)
    (variant,) = load([tmp_path / "out" / "wall-temperature-20-5.nc"])
    assert variant.case is not None
    assert variant.case.change == {"indoor.room.temperature": 20.5}
    assert variant.case.indoor["room"].temperature == 20.5
    assert variant.section is not None


def test_resuming_leaves_out_what_is_complete(tmp_path: Path, simulated: list[str]) -> None:
    carried_out(tmp_path)
    assert simulated == NAMES
    before = table(tmp_path)
    simulated.clear()
    report = carried_out(tmp_path, resume=True)
    assert simulated == []
    assert (report.before, len(report.done)) == (4, 4)
    assert table(tmp_path) == before
    carried_out(tmp_path)
    assert simulated == NAMES


def test_resuming_repeats_what_is_missing_unfinished_or_of_other_input(tmp_path: Path, simulated: list[str]) -> None:
    carried_out(tmp_path)
    simulated.clear()
    (tmp_path / "out" / "wall-base.nc").unlink()
    (tmp_path / "out" / "wall-temperature-15.nc").write_bytes(b"cut short")
    report = carried_out(tmp_path, resume=True)
    assert simulated == NAMES[:2]
    assert report.before == 2
    simulated.clear()
    more = SHORT + SWEEP.replace("[15,", "[10, 15,")
    carried_out(tmp_path, more, resume=True)
    assert simulated == ["temperature=10"]
    assert [row["run"] for row in table(tmp_path)] == ["base", "temperature=10", *NAMES[1:]]
    simulated.clear()
    carried_out(tmp_path, more.replace('"50 %"', '"45 %"'), resume=True)
    assert len(simulated) == 5


def test_resuming_makes_rows_that_are_missing_without_running(tmp_path: Path, simulated: list[str]) -> None:
    carried_out(tmp_path)
    before = table(tmp_path)
    simulated.clear()
    (tmp_path / "out" / "table.csv").write_text("no,table\nof,ours\n")
    report = carried_out(tmp_path, resume=True)
    assert simulated == []
    assert report.before == 4
    assert table(tmp_path) == before


@pytest.mark.parametrize("error", [SolverError("hour 3: no convergence"), ValueError("unforeseen")])
def test_a_failing_run_does_not_stop_the_others(
    tmp_path: Path, failing: dict[str, BaseException], error: Exception
) -> None:
    failing["temperature=15"] = error
    report = carried_out(tmp_path)
    assert report.done == set(NAMES) - {"temperature=15"}
    assert str(error) in report.failures["temperature=15"]
    rows = {row["run"]: row for row in table(tmp_path)}
    assert list(rows) == NAMES
    assert (rows["temperature=15"]["status"], rows["temperature=15"]["place"]) == ("failed", "")
    left = [path.name for path in (tmp_path / "out").iterdir() if "temperature-15" in path.name]
    assert left == ["wall-temperature-15.failed.nc"]
    failing.clear()
    assert carried_out(tmp_path, resume=True).done == set(NAMES)
    assert {row["status"] for row in table(tmp_path)} == {"done"}


def test_a_failed_repetition_keeps_the_earlier_result(tmp_path: Path, failing: dict[str, BaseException]) -> None:
    carried_out(tmp_path)
    kept = (tmp_path / "out" / "wall-base.nc").read_bytes()
    failing["base"] = SolverError("no")
    carried_out(tmp_path)
    assert (tmp_path / "out" / "wall-base.nc").read_bytes() == kept


def test_an_interrupted_set_keeps_what_is_complete(tmp_path: Path, failing: dict[str, BaseException]) -> None:
    failing["temperature=20.5"] = KeyboardInterrupt()
    report = carried_out(tmp_path)
    assert report.interrupted
    assert report.done == {"base", "temperature=15"}
    assert sorted(os.listdir(tmp_path / "out")) == [
        "table.csv", "wall-base.nc", "wall-temperature-15.nc", "wall-temperature-20-5.interrupted.nc",
    ]  # fmt: skip
    assert [row["run"] for row in table(tmp_path)] == NAMES[:2]
    failing.clear()
    assert carried_out(tmp_path, resume=True).before == 2


def test_the_hash_of_the_input_follows_every_input(tmp_path: Path) -> None:
    text = SHORT.replace("temperature = 20\n", 'file = "air.csv"\n').replace('humidity = "50 %"\n', "")
    air = tmp_path / "air.csv"

    def hashed(text: str) -> str:
        return input_hash(build(parse_case(text, tmp_path / "wall.toml").base))

    air.write_text("temperature,relative_humidity\n" + "20,50\n" * 8760)
    first = hashed(text)
    assert hashed(text + "# a remark\n") == first
    assert hashed(changed("soil_loam", "soil_sand", text)) != first
    assert hashed(changed("years = 0.0005", "years = 0.001", text)) != first
    air.write_text("temperature,relative_humidity\n" + "20,51\n" * 8760)
    assert hashed(text) != first


def test_only_a_complete_result_counts(tmp_path: Path, failing: dict[str, BaseException]) -> None:
    order = orders(tmp_path)[0]
    assert not finished(order)
    failing["base"] = KeyboardInterrupt()
    made = build(parse_case(SHORT, tmp_path / "wall.toml").base)
    with pytest.raises(KeyboardInterrupt):
        single_run.run_case(made, tmp_path / "out", Console(quiet=True))
    assert not Path(order.target).exists()
    os.replace(interrupted_path(Path(order.target)), order.target)
    assert recorded_input(Path(order.target)) == ""
    assert not finished(order)
    failing.clear()
    single_run.run_case(made, tmp_path / "out", Console(quiet=True))
    assert finished(order)


def test_words_tell_how_far_a_run_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker, "TELL_EVERY", 0.0)
    order, words = orders(tmp_path)[0], list[Word]()
    outcome = carry_out(order, hear=words.append)
    assert outcome.failure == ""
    assert words[0] == Word("base")
    assert (words[-1].hour, words[-1].hours, words[-1].date) == (order.hours, order.hours, "2001-10-01")


def test_a_table_of_other_columns_is_written_anew(tmp_path: Path) -> None:
    first = SetTable(tmp_path / "t.csv", ["a"])
    first.begin()
    first.add("x", {"input": "0" * 64, "status": "done", "file": "x.nc"}, {"a": {"b": 1}}, [{"place": "p"}])
    assert SetTable(tmp_path / "t.csv", ["a"]).kept({"x": "0" * 64}) == {"x"}
    assert SetTable(tmp_path / "t.csv", ["a"]).kept({"x": "1" * 64}) == set()
    assert SetTable(tmp_path / "t.csv", ["b"]).kept({"x": "0" * 64}) == set()
    assert SetTable(tmp_path / "none.csv", ["a"]).kept({"x": "0" * 64}) == set()


def test_a_name_that_looks_like_a_formula_is_text_in_the_table_and_found_again(tmp_path: Path) -> None:
    path, names = tmp_path / "t.csv", ["=1+1", "-5 degC", "'=x", "-5"]
    first = SetTable(path, ["a"])
    first.begin()
    for name in names:
        told = {"input": "0" * 64, "status": "done", "file": "x.nc"}
        first.add(name, told, {"a": "@cmd"}, [{"place": "+p", "kind": "wood", MOULD[0]: -1.5}])
    inputs = {name: "0" * 64 for name in names}
    again = SetTable(path, ["a"])
    assert again.kept(inputs) == set(names)
    before = path.read_bytes()
    again.end(names)
    assert path.read_bytes() == before
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["run"] for row in rows] == ["'=1+1", "'-5 degC", "''=x", "-5"]
    assert {(row["a"], row["place"], row[MOULD[0]]) for row in rows} == {("'@cmd", "'+p", "-1.5")}


@pytest.fixture
def swept(tmp_path: Path) -> list[str]:
    """Arguments that run a sweep in one process."""
    path = tmp_path / "wall.toml"
    path.write_text(SHORT + SWEEP)
    return ["run", str(path), "--out", str(tmp_path / "out"), "--workers", "1"]


def test_command_runs_a_set_and_goes_on(swept: list[str], tmp_path: Path, failing: dict[str, BaseException]) -> None:
    failing["temperature=25"] = SolverError("hour 3: no convergence")
    result = runner.invoke(commands.app, swept)
    assert result.exit_code == 3
    assert "3 of 4 runs are complete" in result.output
    assert "temperature=25: hour 3: no convergence" in result.output
    assert len(list((tmp_path / "out").glob("*.nc"))) == 4
    assert (tmp_path / "out" / "wall-temperature-25.failed.nc").is_file()
    failing.clear()
    result = runner.invoke(commands.app, [*swept, "--resume"])
    assert result.exit_code == 0, result.output
    assert "4 of 4 runs are complete" in result.output
    assert "3 of them were complete before" in result.output
    assert (tmp_path / "out" / "wall-runs.csv").is_file()


def test_the_report_on_a_set_names_what_failed_and_shows_it_unjudged(
    swept: list[str], tmp_path: Path, failing: dict[str, BaseException], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With place, hour and reason before anything else, also where a run left nothing to show."""
    inner = single_run.simulate_setup

    def simulate(one: Setup, path: Path, progress: Callable[..., None] | None = None) -> Path:
        if one.case.name == "temperature=15":
            raise SectionError(["no mesh in region 'wall'"])
        return inner(one, path, progress)

    monkeypatch.setattr(single_run, "simulate_setup", simulate)
    failing["temperature=25"] = SolverError("the run stopped at hour 3.20: worst place x = 0.1 m in region 'wall'")
    result = runner.invoke(commands.app, [*swept, "--report", str(tmp_path / "report.html")])
    assert result.exit_code == 3
    page = (tmp_path / "report.html").read_text()
    first, rest = page.split('<dl class="facts">')
    assert "<b>temperature=25 (failed)</b>: the run stopped at hour 3.20: worst place x = 0.1 m in region" in first
    assert "hours were recorded, the last ends at 2001-10-01 0" in first
    assert "<b>temperature=15 (failed)</b>: no mesh in region" in first
    assert str(tmp_path) not in page
    assert '<th scope="row">temperature=25 (failed)' in rest
    assert "the run stopped before its end" in rest
    (kept,) = (variant for variant in load([*(tmp_path / "out").glob("*.failed.nc")]))
    assert {verdict.holds for verdict in kept.verdicts} == {None}
    assert any(verdict.value > 0.0 for verdict in kept.verdicts)
    assert "recorded hours" not in page


def test_what_another_input_left_behind_is_not_shown(tmp_path: Path, failing: dict[str, BaseException]) -> None:
    failing["base"] = SolverError("no")
    report = carried_out(tmp_path)
    kept = failed_path(Path(report.orders[0].target))
    assert report.shown == [kept, *report.results]
    assert report.lost == {}
    report.orders = [replace(report.orders[0], input="another"), *report.orders[1:]]
    assert report.shown == report.results
    assert list(report.lost) == ["base"]


def test_command_ends_with_130_on_ctrl_c(swept: list[str], failing: dict[str, BaseException]) -> None:
    failing["temperature=15"] = KeyboardInterrupt()
    result = runner.invoke(commands.app, swept)
    assert result.exit_code == 130
    assert "1 of 4 runs are complete" in result.output
    assert "--resume goes on" in result.output


def test_one_run_can_be_left_out_too(swept: list[str], simulated: list[str]) -> None:
    one = [*swept, "--variant", "temperature=15", "--resume"]
    assert runner.invoke(commands.app, one).exit_code == 0
    result = runner.invoke(commands.app, one)
    assert result.exit_code == 0
    assert "is complete" in result.output
    assert simulated == ["temperature=15"]


def test_some_runs_leave_the_table_of_all_alone(swept: list[str], tmp_path: Path) -> None:
    assert runner.invoke(commands.app, swept).exit_code == 0
    whole = (tmp_path / "out" / "wall-runs.csv").read_text(encoding="utf-8")
    two = [*swept, "--variant", "temperature=15", "--variant", "base"]
    assert runner.invoke(commands.app, two).exit_code == 0
    assert (tmp_path / "out" / "wall-runs.csv").read_text(encoding="utf-8") == whole
    assert len((tmp_path / "out" / "wall-some-runs.csv").read_text(encoding="utf-8").splitlines()) == 3


def test_nothing_is_run_if_any_variant_is_wrong(tmp_path: Path, simulated: list[str]) -> None:
    path = tmp_path / "wall.toml"
    path.write_text(SHORT + '[sweep]\nchange."region.wall.material" = ["concrete_wc050", "concrete_wc05", "brick_"]\n')
    result = runner.invoke(commands.app, ["run", str(path), "--out", str(tmp_path / "out"), "--workers", "1"])
    assert result.exit_code == 2
    assert "concrete_wc05" in result.output
    assert "brick_" in result.output
    assert "nothing was run" in result.output
    assert simulated == []


def test_workers_or_a_scheduler(swept: list[str]) -> None:
    result = runner.invoke(commands.app, [*swept, "--scheduler", "tcp://127.0.0.1:1"])
    assert result.exit_code == 2
    assert "expected one of the two" in result.output


def test_a_scheduler_that_does_not_answer(swept: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    from stemwall.cases.cli import run_batch

    def refuse(address: str) -> None:
        raise NoSchedulerError(f"no scheduler answers at {address}")

    monkeypatch.setattr(run_batch, "remote_client", refuse)
    result = runner.invoke(commands.app, [*swept[:-2], "--scheduler", "tcp://127.0.0.1:1"])
    assert result.exit_code == 2
    assert "no scheduler answers at tcp://127.0.0.1:1" in result.output
