"""How kernels are compiled: kept on disk, and given arrays that they neither make nor keep.

Counting who holds each array (``_nrt``) would be a good part of what there is to compile, for nothing; and Python does
not call what begins with an underscore.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from numba import njit
from numba.core.caching import FunctionCache


class _Kept(FunctionCache):  # type: ignore[misc]
    """Compiled code on disk, loaded without all that numba needs to compile: that takes a seventh of a second.

    numba refreshes its context once before it loads and once before it compiles; only the second does anything for us.
    """

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the code for a signature, None if it is not kept."""
        target_context.refresh = _nothing
        try:
            return super().load_overload(sig, target_context)
        finally:
            del target_context.refresh


def _nothing() -> None:
    """Refresh nothing."""


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function when it is first called; it rounds as written."""
    inner = function.__name__.startswith("_")
    how = njit(no_cfunc_wrapper=True, no_cpython_wrapper=inner, error_model="numpy", _nrt=False, **options)
    dispatcher = how(function)
    dispatcher._cache = _Kept(function)
    return dispatcher


#: a kernel in which a product and a sum may be one operation
fused_kernel = partial(kernel, fastmath={"contract"})
#: one that becomes part of the kernel that calls it, for long ones with one caller
part_of_kernel = partial(kernel, inline="always")
