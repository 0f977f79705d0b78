"""Just-in-time compilation of kernels with numba, and their cache on disk.

Kernels get all arrays from their caller, so they are compiled without reference counts (``_nrt=False``), which would
be a good part of the code to compile; those that begin with an underscore get no wrapper that Python could call.  The
code of a callee is linked into its caller and optimised there: it is not optimised, translated to machine code or
cached on its own, unless Python calls it too.

The cache folder is named after a digest of all kernel files, so that cached code never holds an old version of a
callee or of a constant from another file.

This replaces private methods of numba, which stay the same only within the versions that pyproject.toml allows.  Plain
``njit`` would need none of them, but half as long again to compile (58 s of processor time for 39 s).  Before the upper
bound is raised, ``tests/solver/kernels/support/test_jit.py`` must pass with the new version: it compares what is
replaced, and asks whether the replacements still do what they are for.
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

#: kernels that are being compiled or loaded now, each as a callee of the one before it
_compiling: list[Any] = []


class _Kept:
    """Cache of a dispatcher: compiled code on disk, checked by its digest before it is loaded.

    numba's own cache loads damaged code, which ends the process, and registers all of numba's functions first, which
    only compiling needs and which takes a seventh of a second.  A file with any fault is discarded and the code
    compiled again.
    """

    cache_path = ""

    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the code for a signature; None if it is not cached or is asked for as a callee.

        Machine code cannot be linked into a caller that is being compiled.
        """
        if len(_compiling) > 1 or (folder := kernel_folder()) is None:
            return None
        key = self._key(sig, target_context.codegen())
        path = self._path(folder, key)
        content = read_sealed(path)
        if content is None:
            return None
        with suppress(Exception):  # its digest is right: whatever numba raises now, compiling again is the answer
            of, reduced = pickle.loads(content)
            if of == key:
                # loading would register numba's functions (``refresh``), which only compiling needs
                with _instead(target_context, refresh=_nothing):
                    return CompileResult._rebuild(target_context, *reduced)
        discard(path)
        return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Write the code for a signature, unless it was compiled as a callee."""
        lasting = not data.lifted and not data.library.has_dynamic_globals and self._function.__closure__ is None
        if len(_compiling) > 1 or not lasting or (folder := kernel_folder()) is None:
            return
        key = self._key(sig, data.codegen)
        try:
            write_sealed(self._path(folder, key), dumps((key, data._reduce())))
        except OSError as error:
            keep_nothing(folder, error.strerror or error)

    def _key(self, sig: Any, codegen: Any) -> tuple[Any, ...]:
        """All that the code of a function depends on, except what the folder is named after."""
        function = self._function
        of_file = _content_hash(inspect.getfile(function))
        return (function.__module__, function.__qualname__, of_file, tuple(sig), codegen.magic_tuple(), _VERSIONS)

    def _path(self, folder: Path, key: tuple[Any, ...]) -> Path:
        return folder / f"{self._function.__name__}-{hashlib.sha256(repr(key).encode()).hexdigest()[:24]}.kept"


#: versions of what compiled the code
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
    """Code of a kernel that was compiled as a callee: a module to link into its callers, no machine code."""

    def _optimize_final_module(self) -> None:
        """Do nothing: it is optimised as part of its callers."""

    def _finalize_final_module(self) -> None:
        """Make the module ready to be linked: numba's method without its hand-over to the machine-code engine."""
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True


@contextmanager
def _as_part(dispatcher: Any) -> Iterator[None]:
    """Compile a kernel as a callee: without an entry for Python, and not registered as callable from there."""
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
    """Replace methods of an object while the context lasts."""
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
    """Compile or load a kernel for a signature, on its own or as a callee of the kernel being compiled."""
    with global_compiler_lock:
        known = dispatcher.overloads.get(tuple(sig))
        if known is not None and (_compiling or not isinstance(known.library, _Part)):
            if not _compiling:  # it was loaded while another was compiled, so Python does not know it yet
                dispatcher.add_overload(known)
            return known.entry_point
        dispatcher.overloads.pop(tuple(sig), None)
        how = _as_part(dispatcher) if _compiling else nullcontext()
        _compiling.append(dispatcher)
        try:
            with how:
                return plainly(sig)
        finally:
            _compiling.pop()


def _nothing(*_: Any) -> None:
    """Do nothing."""


def kernel(function: Callable[..., Any], **options: Any) -> Any:
    """Compile a function at its first call, without fused or reordered operations.

    Parameters
    ----------
    function : callable
        Takes and returns scalars and arrays, makes no arrays.  Python can call it unless its name begins with an
        underscore.
    **options
        Further options of ``numba.njit``.
    """
    inner = function.__name__.startswith("_")
    how = njit(no_cfunc_wrapper=True, no_cpython_wrapper=inner, error_model="numpy", _nrt=False, **options)
    dispatcher = how(function)
    dispatcher._cache = _Kept(function)
    dispatcher.compile = partial(_compile_or_load, dispatcher, dispatcher.compile)
    return dispatcher


def kept_function(function: Callable[..., Any]) -> Any:
    """Compile a function of series at its first call, as numba does, and cache it.

    It must call nothing in other files, which the digest of its own file would not cover, and make no arrays, as it is
    compiled without reference counts.
    """
    dispatcher = njit(function, _nrt=False)
    dispatcher._cache = _Kept(function)
    return dispatcher


#: a kernel in which a product and a sum may become one fused multiply-add
fused_kernel = partial(kernel, fastmath={"contract"})
#: a kernel inlined before type inference, for long ones with a single caller
part_of_kernel = partial(kernel, inline="always")
