"""Arrays computed before, kept on disk: to read a weather file and place the sun takes longer than to begin a run.

The key of an entry names everything that it depends on, the sources of this folder and the versions of the
libraries behind them included, so that an entry is never out of date.  Whatever is wrong with the folder or a
file in it (see `stemwall.weather.sealed`), the arrays are computed again.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import sys
from collections.abc import Callable, Mapping
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, NamedTuple
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from stemwall.weather.sealed import discard, keep_nothing, private_folder, read_sealed, write_sealed

FOLDER_VARIABLE = "STEMWALL_CACHE_DIR"
"""Environment variable that names the folder; empty to keep nothing."""

MOST = 400
"""Number of entries beyond which the oldest are removed; a year or a plane takes up to 1 MB."""


MOST_IN_MEMORY = 16
"""Number of entries that a process holds, for runs that share their weather."""


PREFIX, SUFFIX = "weather-", ".kept"
"""Around the name of an entry on disk."""


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
    path = folder / f"{PREFIX}{name}{SUFFIX}"
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
    """Return the folder of all that is kept, made if it is missing; None to keep nothing.

    It is the one that `FOLDER_VARIABLE` names, or the user's own by the custom of the system; never another if that
    cannot be used.
    """
    told = os.environ.get(FOLDER_VARIABLE)
    if told is not None:
        return private_folder(Path(told)) if told else None
    try:
        home = Path.home()
    except RuntimeError as error:
        keep_nothing("home folder", error)
        return None
    if sys.platform == "win32":
        place = _given("LOCALAPPDATA", home / "AppData" / "Local")
    elif sys.platform == "darwin":
        place = home / "Library" / "Caches"
    else:
        place = _given("XDG_CACHE_HOME", home / ".cache")
    if place.is_relative_to(home) and not home.is_dir():
        keep_nothing(home, "there is no such home folder")
        return None
    return private_folder(place / "stemwall", tighten=True)


def _given(variable: str, custom: Path) -> Path:
    """Folder that a variable names; one that depends on where the command is given is none, by that custom."""
    given = Path(os.environ.get(variable, ""))
    return given if given.is_absolute() else custom


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
    content = read_sealed(path)
    if content is None:
        return None
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        return Entry(arrays, json.loads(str(arrays.pop("facts"))))
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        discard(path)
        return None


def _write(path: Path, entry: Entry) -> None:
    """Write an entry and remove the oldest beyond `MOST`; a folder that cannot be written to is left alone."""
    stored: dict[str, Any] = {**entry.arrays, "facts": np.array(json.dumps(dict(entry.facts)))}
    content = io.BytesIO()
    np.savez(content, **stored)
    try:
        write_sealed(path, content.getvalue())
        entries = sorted(path.parent.glob(f"{PREFIX}*{SUFFIX}"), key=lambda item: item.stat().st_mtime)
        for old in entries[:-MOST]:
            old.unlink(missing_ok=True)
    except OSError as error:
        keep_nothing(path.parent, error.strerror or error)
