"""How kernels are compiled: kept on disk, and given arrays that they neither make nor keep.

Counting who holds each array (``_nrt``) would be a good part of what there is to compile, for nothing; and Python does
not call what begins with an underscore.  A kernel holds a copy of all kernels that it calls: these are optimised
there, as a part of it, and neither made code of the machine nor kept on disk unless Python calls them too.

What is kept lies in a folder named after what the kernel files say, so that a function that a kernel calls, or a
constant in another file, is never an old one.
"""

from __future__ import annotations

import hashlib
import inspect
import pickle
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from functools import cache, partial
from pathlib import Path
from typing import Any

import llvmlite
import numba
import numpy as np
from numba import njit
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompileResult
from numba.core.compiler_lock import global_compiler_lock
from numba.core.serialize import dumps

from stemwall.weather.cache import cache_folder
from stemwall.weather.sealed import discard, keep_nothing, private_folder, read_sealed, write_sealed

#: begins the names of folders of compiled kernels
COMPILED = "kernels-"

#: kernels that are being compiled or loaded now, each for the one before it
_asked: list[Any] = []


class _Kept:
    """Compiled code on disk, loaded without all that numba needs to compile: that takes a seventh of a second.

    It takes the place of a dispatcher's cache.  numba's own looks at nothing before it loads, and damaged code ends
    the process.  Whatever is wrong with what is kept, the code is compiled again.
    """

    cache_path = ""

    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the code for a signature, None if it is not kept, or if another kernel wants it as a part.

        What stands on its own cannot be loaded in the midst of compiling.
        """
        if len(_asked) > 1 or (folder := kernel_folder()) is None:
            return None
        key = self._key(sig, target_context.codegen())
        path = self._path(folder, key)
        content = read_sealed(path)
        if content is None:
            return None
        with suppress(Exception):  # it is what was written: whatever numba has against it now, it can compile
            of, reduced = pickle.loads(content)
            if of == key:
                # numba would refresh its context here too, but only compiling needs that
                with _instead(target_context, refresh=_nothing):
                    return CompileResult._rebuild(target_context, *reduced)
        discard(path)
        return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep the code for a signature, unless it is a part of another kernel's."""
        lasting = not data.lifted and not data.library.has_dynamic_globals and self._function.__closure__ is None
        if len(_asked) > 1 or not lasting or (folder := kernel_folder()) is None:
            return
        key = self._key(sig, data.codegen)
        try:
            write_sealed(self._path(folder, key), dumps((key, data._reduce())))
        except OSError as error:
            keep_nothing(folder, error.strerror or error)

    def _key(self, sig: Any, codegen: Any) -> tuple[Any, ...]:
        """All that the code of a function depends on, but for what the folder is named after."""
        function = self._function
        of_file = _content_hash(inspect.getfile(function))
        return (function.__module__, function.__qualname__, of_file, tuple(sig), codegen.magic_tuple(), _VERSIONS)

    def _path(self, folder: Path, key: tuple[Any, ...]) -> Path:
        return folder / f"{self._function.__name__}-{hashlib.sha256(repr(key).encode()).hexdigest()[:24]}.kept"


#: what compiled the code and what it was compiled for
_VERSIONS = (sys.version, numba.__version__, llvmlite.__version__, np.__version__)


@cache
def _content_hash(file: str) -> str:
    return hashlib.sha256(Path(file).read_bytes()).hexdigest()


@cache
def _kernels_hash() -> str:
    """Hash of everything in ``kernels/``."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parents[1].rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def kernel_folder() -> Path | None:
    """Return the folder of compiled code of these sources, None to keep none."""
    folder = cache_folder()
    return folder and private_folder(folder / f"{COMPILED}{_kernels_hash()[:16]}", tighten=True)


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

    options = dispatcher._compiler.targetoptions
    wrapped = options["no_cpython_wrapper"]
    options["no_cpython_wrapper"] = True  # a way in from Python is a good part of what there is to compile
    try:
        with (
            _instead(maker, create_library=library),
            _instead(context, get_executable=executable),
            _instead(dispatcher, _insert=_nothing),
        ):
            yield
    finally:
        options["no_cpython_wrapper"] = wrapped


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


def kept_function(function: Callable[..., Any]) -> Any:
    """Compile a function of series as numba does, when it is first called, and keep it.

    It calls nothing of other files and makes no arrays: what would count who holds them is not there when kept code
    is loaded.
    """
    dispatcher = njit(function, _nrt=False)
    dispatcher._cache = _Kept(function)
    return dispatcher


#: a kernel in which a product and a sum may be one operation
fused_kernel = partial(kernel, fastmath={"contract"})
#: one that becomes part of the kernel that calls it, for long ones with one caller
part_of_kernel = partial(kernel, inline="always")
