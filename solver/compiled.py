"""How kernels are compiled: kept on disk, and given arrays that they neither make nor keep.

Counting who holds each array (``_nrt``) would be a good part of what there is to compile, for nothing; and Python does
not call what begins with an underscore.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from numba import njit


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function when it is first called; it rounds as written."""
    inner = function.__name__.startswith("_")
    how = njit(cache=True, no_cfunc_wrapper=True, no_cpython_wrapper=inner, error_model="numpy", _nrt=False, **options)
    return how(function)


#: a kernel in which a product and a sum may be one operation
fused_kernel = partial(kernel, fastmath={"contract"})
#: one that becomes part of the kernel that calls it, for long ones with one caller
part_of_kernel = partial(kernel, inline="always")
