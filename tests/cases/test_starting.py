"""The short way to the first step, and that it leaves numba as it is."""

from __future__ import annotations

import subprocess
import sys

MARCHED = """
import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from stemwall.cases.cli.input import build_all, chosen
from stemwall.cases.batch.single_run import simulate_setup
setup = build_all(chosen(None, ["base"]), None)[0]
with TemporaryDirectory() as folder:
    simulate_setup(replace(setup, hours=2), Path(folder) / "result.nc")
print([name for name in ("numba.np.arraymath", "numba.np.linalg", "scipy.linalg") if name in sys.modules])
import numba, numpy
product = numba.njit(lambda a, b: a @ b)
print(product(numpy.array([[1.0, 2.0], [3.0, 4.0]]), numpy.array([5.0, 6.0])).tolist())
"""


def test_a_second_run_loads_nothing_that_only_compiling_needs() -> None:
    for _ in range(2):  # the first may compile
        done = subprocess.run([sys.executable, "-c", MARCHED], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["[]", "[17.0, 39.0]"]


def test_nothing_heavy_is_imported_on_the_way_to_a_set_up() -> None:
    heavy = "('pandas', 'pvlib', 'xarray', 'matplotlib', 'pint', 'scipy.interpolate', 'scipy.optimize', 'distributed')"
    code = f"""
import sys
from stemwall.cases.cli.input import build_all, chosen
import stemwall.cases.batch.single_run, stemwall.cases.cli.run, stemwall.solver.simulate
build_all(chosen(None, ["base"]), None)
print([name for name in {heavy} if name in sys.modules])
"""
    for _ in range(2):  # the first may read the weather, whose reader needs them
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
