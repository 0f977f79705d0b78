"""What shortens the way from the command to the first step."""

from __future__ import annotations

import gc
import sys

BLAS = "scipy.linalg.cython_blas"


def collect_seldom() -> None:
    """Let the garbage collector look seldom: imports make half a million objects that stay."""
    gc.set_threshold(100_000, 20, 20)


def load_compiler() -> None:
    """Let numba load what it needs to call a compiled kernel, but not the linear algebra of scipy.

    numba imports that only to see that it is there, which takes an eighth of a second; no kernel of ours calls
    it.  Should anything else in this process do so, numba imports it then.
    """
    if BLAS in sys.modules:
        return
    sys.modules[BLAS] = None  # type: ignore[assignment]
    try:
        from numba.core.registry import cpu_target
        from numba.np import arraymath

        cpu_target.target_context.refresh()
        arraymath._HAVE_BLAS = True
    except (ImportError, AttributeError):  # another version of numba: it takes the longer way
        pass
    finally:
        del sys.modules[BLAS]
