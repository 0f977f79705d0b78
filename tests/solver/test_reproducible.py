"""What must not change a result: how often fields are kept, and how many threads a process may use."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stemwall.materials.catalogue import catalogue
from stemwall.solver.model.settings import MeshRule, Output
from stemwall.solver.simulate import simulate
from stemwall.weather.ground import GroundWave
from tests.solver.test_simulate import HOURS, START, climates, wall_section

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("field_hours", [1, 7, 1000])
def test_output_interval_changes_nothing(field_hours: int, tmp_path: Path, daily_fields: xr.Dataset) -> None:
    with xr.open_dataset(_wall(tmp_path / "other.nc", field_hours)) as other:
        assert other.sizes["field_time"] != daily_fields.sizes["field_time"]
        for name, series in daily_fields.variables.items():
            if "time" in series.dims:
                np.testing.assert_array_equal(other[name].values, series.values, err_msg=str(name))


@pytest.fixture(scope="module")
def daily_fields(tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    with xr.open_dataset(_wall(tmp_path_factory.mktemp("run") / "daily.nc", 24)) as dataset:
        return dataset.load()


def _wall(path: Path, field_hours: int) -> Path:
    materials = {key: catalogue().material(key) for key in ("soil_loam", "concrete_wc050", "xps_25")}
    return simulate(
        wall_section(), materials, climates(), start=START, hours=HOURS, ground=GroundWave(10.0, 8.0, 20.0), path=path,
        mesh=MeshRule(finest=0.05, growth=2.0, coarsest=0.5, layer_cells=2), output=Output(field_hours),
    )  # fmt: skip


def test_number_of_threads_changes_nothing() -> None:
    """The same run in processes that are allowed one thread and two, to the last bit."""
    code = (
        "from tests.solver.samples import corner_bench; bench = corner_bench(); bench.run_to(36000.0); "
        "print(bench.integrator.statistics.steps, (bench.temperature.tobytes() + bench.suction.tobytes()).hex())"
    )
    names = ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
    one, two = (
        subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, env={**os.environ, **dict.fromkeys(names, count)},
            capture_output=True, text=True, check=True,
        ).stdout
        for count in ("1", "2")
    )  # fmt: skip
    assert int(one.split()[0]) > 9
    assert one == two
