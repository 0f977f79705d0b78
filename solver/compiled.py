"""How kernels are compiled: kept on disk, and given arrays that they neither make nor keep.

Counting who holds each array (``_nrt``) would be a good part of what there is to compile, for nothing; and Python does
not call what begins with an underscore.  A kernel holds a copy of all kernels that it calls: these are only
optimised there, as a part of it, and not kept on disk for themselves unless Python calls them too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

from numba import njit
from numba.core.caching import FunctionCache
from numba.core.codegen import JITCodeLibrary

#: kernels that are being compiled or loaded now, each for the one before it
_asked: list[Any] = []


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

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep the code for a signature, unless it is a part of another kernel's."""
        if len(_asked) < 2:
            super().save_overload(sig, data)


class _Part(JITCodeLibrary):  # type: ignore[misc]
    """Code that is optimised as a part of what it is asked for."""

    def _optimize_final_module(self) -> None:
        """Leave it."""


@contextmanager
def _asked_for(dispatcher: Any) -> Iterator[None]:
    """Compile or load a kernel, on its own or for another."""
    maker = dispatcher.targetctx.codegen()
    before = maker._library_class
    _asked.append(dispatcher)
    if len(_asked) > 1:
        maker._library_class = _Part
    try:
        yield
    finally:
        maker._library_class = before
        _asked.pop()


def _nothing() -> None:
    """Refresh nothing."""


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function when it is first called; it rounds as written."""
    inner = function.__name__.startswith("_")
    how = njit(no_cfunc_wrapper=True, no_cpython_wrapper=inner, error_model="numpy", _nrt=False, **options)
    dispatcher = how(function)
    dispatcher._cache = _Kept(function)
    plainly = dispatcher.compile

    def compile_or_load(sig: Any) -> Any:
        with _asked_for(dispatcher):
            return plainly(sig)

    dispatcher.compile = compile_or_load
    return dispatcher


#: a kernel in which a product and a sum may be one operation
fused_kernel = partial(kernel, fastmath={"contract"})
#: one that becomes part of the kernel that calls it, for long ones with one caller
part_of_kernel = partial(kernel, inline="always")
