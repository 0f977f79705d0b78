"""Arrays computed before, kept on disk: to read a weather file and place the sun takes longer than to begin a run.

The key of an entry names everything that it depends on, the sources of this folder and the versions of the
libraries behind them included, so that an entry is never out of date.  Whatever is wrong with the folder or a
file in it, the arrays are computed again.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, NamedTuple
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

FOLDER_VARIABLE = "STEMWALL_CACHE_DIR"
"""Environment variable that names the folder; empty to keep nothing."""

MOST = 400
"""Number of entries beyond which the oldest are removed; a year or a plane takes up to 1 MB."""


MOST_IN_MEMORY = 16
"""Number of entries that a process holds, for runs that share their weather."""


class Entry(NamedTuple):
    """What is kept: arrays by name, and plain facts."""

    arrays: Mapping[str, NDArray[Any]]
    facts: Mapping[str, Any]


_memory: dict[str, Entry] = {}


def kept(key: tuple[object, ...], make: Callable[[], Entry]) -> Entry:
    """Return what `make` returns, from memory or disk if it was made before; the arrays are read-only.

    Parameters
    ----------
    key : tuple
        All that the entry depends on; its parts are told apart by `repr`.
    make : callable
        Computes the entry; its errors pass through, and nothing is kept then.
    """
    name = hashlib.sha256(repr((_makers(), key)).encode()).hexdigest()[:40]
    entry = _memory.pop(name, None)
    if entry is None:
        entry = _from_disk(name, make)
        for values in entry.arrays.values():
            values.flags.writeable = False
    _memory[name] = entry  # the last used comes last
    while len(_memory) > MOST_IN_MEMORY:
        del _memory[next(iter(_memory))]
    return entry


def _from_disk(name: str, make: Callable[[], Entry]) -> Entry:
    folder = cache_folder()
    if folder is None:
        return make()
    path = folder / f"weather-{name}.npz"
    found = _read(path)
    if found is not None:
        return found
    made = make()
    _write(path, made)
    return made


def digest(*arrays: NDArray[Any]) -> str:
    """SHA-256 of the values of arrays, for a key."""
    total = hashlib.sha256()
    for values in arrays:
        total.update(np.ascontiguousarray(values).tobytes())
    return total.hexdigest()


def cache_folder() -> Path | None:
    """Folder of the entries, by the custom of the system; None to keep nothing."""
    if FOLDER_VARIABLE in os.environ:
        return Path(os.environ[FOLDER_VARIABLE]) if os.environ[FOLDER_VARIABLE] else None
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "stemwall"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "stemwall"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "stemwall"


@cache
def _makers() -> tuple[str, ...]:
    """What computes the entries: the sources of this folder, and the libraries that they call."""
    sources = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        sources.update(path.read_bytes())
    return (sources.hexdigest(), *(_version(name) for name in ("numpy", "pandas", "pvlib", "xarray", "h5netcdf")))


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def _read(path: Path) -> Entry | None:
    try:
        with path.open("rb") as stream, np.load(stream, allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        return Entry(arrays, json.loads(str(arrays.pop("facts"))))
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None


def _write(path: Path, entry: Entry) -> None:
    """Write an entry beside its name and then rename it; a folder that cannot be written to is left alone."""
    partial = path.with_name(f"{path.stem}.{os.getpid()}.partial")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with partial.open("wb") as file:
            stored: dict[str, Any] = {**entry.arrays, "facts": np.array(json.dumps(dict(entry.facts)))}
            np.savez(file, **stored)
        os.replace(partial, path)
        entries = sorted(path.parent.glob("weather-*.npz"), key=lambda item: item.stat().st_mtime)
        for old in entries[:-MOST]:
            old.unlink(missing_ok=True)
    except OSError:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
