"""The short way to the first step leaves numba as it is."""

from __future__ import annotations

import subprocess
import sys

AFTERWARDS = """
import sys
from stemwall.cases.early import load_compiler
load_compiler()
print("scipy.linalg" in sys.modules)
import numba, numpy
product = numba.njit(lambda a, b: a @ b)
print(product(numpy.array([[1.0, 2.0], [3.0, 4.0]]), numpy.array([5.0, 6.0])).tolist())
print("scipy.linalg.cython_blas" in sys.modules)
"""


def test_linear_algebra_comes_when_it_is_called() -> None:
    done = subprocess.run([sys.executable, "-c", AFTERWARDS], capture_output=True, text=True, check=True)
    assert done.stdout.split("\n")[:3] == ["False", "[17.0, 39.0]", "True"]


def test_nothing_heavy_is_imported_on_the_way_to_a_set_up() -> None:
    heavy = "('pandas', 'pvlib', 'xarray', 'matplotlib', 'pint', 'scipy.interpolate', 'scipy.optimize', 'distributed')"
    code = f"""
import sys
from stemwall.cases.cli_input import build_all, chosen
import stemwall.cases.runs, stemwall.cases.sets_cli, stemwall.solver.simulate
build_all(chosen(None, ["base"]), None)
print([name for name in {heavy} if name in sys.modules])
"""
    for _ in range(2):  # the first may read the weather, whose reader needs them
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
