"""How kernels are compiled: kept on disk, and given arrays that they neither make nor keep.

Counting who holds each array (``_nrt``) would be a good part of what there is to compile, for nothing; and Python does
not call what begins with an underscore.  A kernel holds a copy of all kernels that it calls: these are optimised
there, as a part of it, and neither made code of the machine nor kept on disk unless Python calls them too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from functools import partial
from typing import Any

from numba import njit
from numba.core.caching import FunctionCache
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler_lock import global_compiler_lock

#: kernels that are being compiled or loaded now, each for the one before it
_asked: list[Any] = []


class _Kept(FunctionCache):  # type: ignore[misc]
    """Compiled code on disk, loaded without all that numba needs to compile: that takes a seventh of a second.

    numba refreshes its context once before it loads and once before it compiles; only the second does anything for us.
    """

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the code for a signature, None if it is not kept, or if another kernel wants it as a part.

        What stands on its own cannot be loaded in the midst of compiling.
        """
        if len(_asked) > 1:
            return None
        with _instead(target_context, refresh=_nothing):
            return super().load_overload(sig, target_context)

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep the code for a signature, unless it is a part of another kernel's."""
        if len(_asked) < 2:
            super().save_overload(sig, data)


class _Part(JITCodeLibrary):  # type: ignore[misc]
    """Code of a kernel as a part of others: it is optimised, and made code of the machine, with these alone."""

    def _optimize_final_module(self) -> None:
        """Leave it."""

    def _finalize_final_module(self) -> None:
        """Make it ready to be linked."""
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True


@contextmanager
def _as_part(dispatcher: Any) -> Iterator[None]:
    """Compile a kernel for another: Python cannot call what comes of it, and shall not find it."""
    context = dispatcher.targetctx
    maker, name = context.codegen(), dispatcher.py_func.__qualname__
    plainly = context.get_executable

    def library(of: str, **options: Any) -> Any:
        return (_Part if of == name else maker._library_class)(maker, of, **options)

    def executable(library: Any, *others: Any) -> Any:
        return object() if isinstance(library, _Part) else plainly(library, *others)

    with (
        _instead(maker, create_library=library),
        _instead(context, get_executable=executable),
        _instead(dispatcher, _insert=_nothing),
    ):
        yield


@contextmanager
def _instead(thing: Any, **methods: Any) -> Iterator[None]:
    """Give a thing other methods for a while."""
    before = {name: vars(thing).get(name) for name in methods}
    vars(thing).update(methods)
    try:
        yield
    finally:
        for name, method in before.items():
            if method is None:
                del vars(thing)[name]
            else:
                vars(thing)[name] = method


def _compile_or_load(dispatcher: Any, plainly: Callable[[Any], Any], sig: Any) -> Any:
    """Compile or load a kernel for types of arguments, on its own or for another."""
    with global_compiler_lock:
        known = dispatcher.overloads.get(tuple(sig))
        if known is not None and (_asked or not isinstance(known.library, _Part)):
            if not _asked:  # loaded for another
                dispatcher.add_overload(known)
            return known.entry_point
        dispatcher.overloads.pop(tuple(sig), None)
        how = _as_part(dispatcher) if _asked else nullcontext()
        _asked.append(dispatcher)
        try:
            with how:
                return plainly(sig)
        finally:
            _asked.pop()


def _nothing(*_: Any) -> None:
    """Do nothing."""


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function when it is first called; it rounds as written."""
    inner = function.__name__.startswith("_")
    how = njit(no_cfunc_wrapper=True, no_cpython_wrapper=inner, error_model="numpy", _nrt=False, **options)
    dispatcher = how(function)
    dispatcher._cache = _Kept(function)
    dispatcher.compile = partial(_compile_or_load, dispatcher, dispatcher.compile)
    return dispatcher


#: a kernel in which a product and a sum may be one operation
fused_kernel = partial(kernel, fastmath={"contract"})
#: one that becomes part of the kernel that calls it, for long ones with one caller
part_of_kernel = partial(kernel, inline="always")
