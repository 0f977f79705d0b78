"""The hardest mix, and how often a step had to be taken again: `python benchmarks/robustness.py [HOURS] [DATE] [SOIL]`.

Freeze and thaw with rain on saturated soil beside a heated, vented crawlspace: the embedded year from November
(or another date), some kelvin colder, the water table 2 ft under the surface of the ground, no drain, no cover
on the earth inside, roof water put beside the wall.  Prints the share of rejected steps, where they came from,
and the balances.  Nothing is tuned.

Random sections under hostile weather: `python benchmarks/robustness.py random [SEED] [COUNT] [SECONDS] [FIRST]`, so
many from a first number on, each for so many seconds at most; see `robustness_sections`.
"""

import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import xarray as xr
from robustness_random import report

from stemwall.cases.case_file.read import parse_case
from stemwall.cases.setup.build import Setup, build
from stemwall.solver.integration.integrator import HOUR
from stemwall.solver.model.settings import Output
from stemwall.solver.results.result_file import ResultWriter
from stemwall.solver.run import Run, prepare
from stemwall.solver.simulate import march_through
from stemwall.weather.netcdf import write_netcdf
from stemwall.weather.read import read_weather

HOURS, COLDER, ZERO = 1000, 8.0, 273.15
#: seed, count, seconds allowed and first number of random sections
RANDOM = (1, 150, 60, 0)
#: the loam that the figures of benchmarks/README.md were measured in, so that they can be compared over time
SOIL = "soil_loam_class"
CASE = """
[case]
title = "The hardest mix"

[weather]
file = "cold.nc"

[run]
start = {start}
years = 1

[site]
soil = "{soil}"
water_table = "2 ft"
roof = {{ depth = "15 ft", gutter = false }}

[indoor.house]
temperature = "70 degF"
humidity = "45 %"

[zone.crawlspace]
vents = {{ ratio = 0.00667 }}
heater = {{ set_point = "55 degF", capacity = "100 W/m" }}

[detail]
kind = "vented crawlspace"
"""


def hardest(folder: Path, start: str, soil: str) -> Setup:
    """The case from a date on in a soil, its weather written into a folder."""
    year = read_weather("default")
    kelvin = year.temperature + ZERO
    sky = year.sky_longwave * ((kelvin - COLDER) / kelvin) ** 4
    write_netcdf(replace(year, temperature=year.temperature - COLDER, sky_longwave=sky), folder / "cold.nc")
    return build(parse_case(CASE.format(start=start, soil=soil), folder / "hardest.toml").variants()[0])


def ready(setup: Setup, hours: int) -> Run:
    """The case made ready to march."""
    return prepare(
        setup.section, setup.materials, setup.climates, start=setup.start, hours=hours, ground=setup.ground,
        start_settings=setup.start_state, accuracy=setup.accuracy, mesh=setup.mesh, environment=setup.environment,
    )  # fmt: skip


def places(run: Run) -> Counter[str]:
    """Rejected steps by the region of the node that was to blame."""
    network, found = run.system.network, Counter[str]()
    for node, count in run.integrator.statistics.rejections_at.items():
        part = int(np.flatnonzero(network.scv_node == node)[0])
        region = int(network.scv_region[part])
        found[network.mesh.section.regions[region].name if region >= 0 else "air of a zone"] += count
    return found


def march(hours: int, start: str = "2001-11-20", soil: str = SOIL) -> tuple[Run, dict[str, float]]:
    """Integrate the hardest mix from a date in a soil and record it; the run and the attributes of its result."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run = ready(hardest(folder, start, soil), hours)
        with ResultWriter(folder / "hardest.nc") as writer:
            spaces = [*run.climates, *(zone.key for zone in run.zoned.zones)]
            writer.define(run.system, run.materials, run.recorder.probes, spaces, (), {}, run.start)
            march_through(run, writer, Output(), None)
        with xr.open_dataset(folder / "hardest.nc") as data:
            return run, dict(data.attrs)


def main() -> None:
    if sys.argv[1:2] == ["random"]:
        seed, count, seconds, first = (int(word) for word in (*sys.argv[2:], *RANDOM[len(sys.argv) - 2 :]))
        report(seed, first, count, float(seconds))
        return
    hours = int(sys.argv[1]) if len(sys.argv) > 1 else HOURS
    run, attributes = march(hours, *sys.argv[2:4])
    effort = run.integrator.statistics
    tried = effort.steps + effort.rejected_error + effort.rejected_newton
    print(f"{hours} h, {run.system.network.nodes} nodes, {attributes['march_seconds']:.0f} s")
    print(f"{effort.steps / hours:.2f} steps and {effort.updates / hours:.2f} updates an hour")
    print(f"{effort.steps_at_floor} steps unresolved, {effort.unbalanced_steps} with open sums")
    print(f"rejected for error {effort.rejected_error / tried:.2%}, for Newton {effort.rejected_newton / tried:.2%}")
    print("by region:", ", ".join(f"{region} {count}" for region, count in places(run).most_common(8)) or "none")
    print(f"balance: water {attributes['balance_water_relative']:.1e}, heat {attributes['balance_heat_relative']:.1e}")
    frozen = (run.integrator.state.temperature < 0).sum()
    print(f"below 0 degC at the end: {frozen} nodes; steps of {HOUR * hours / effort.steps:.0f} s on average")


if __name__ == "__main__":
    main()
