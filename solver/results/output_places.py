"""Files written whole or not at all, and places looked at before anything is computed for them."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from uuid import uuid4

from stemwall.solver.model.errors import DiskFullError, OutputError, PlaceError
from stemwall.solver.results.staged_file import sync_folder

#: a full disk is no fault of the place
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def cannot_write(path: Path, error: OSError, *, place: bool = False) -> OutputError:
    """Return what is raised when the system refuses to write a file."""
    kind = DiskFullError if error.errno in FULL else PlaceError if place else OutputError
    return kind(f"{path}: cannot be written: {error.strerror or error}")


def beside(path: Path, mark: str) -> Path:
    """Return a name beside a file: NAME.MARK.nc for NAME.nc."""
    return path.with_name(f"{path.stem}.{mark}{path.suffix}")


def partial_path(path: Path) -> Path:
    """Return a new name for a file that is being written."""
    hidden = beside(path, uuid4().hex[:8])
    return hidden.with_name(hidden.name + ".partial")


def check_place(path: Path) -> Path:
    """Look whether a file can be written, and make its folder; return the file, links followed.

    Parameters
    ----------
    path : Path
        The file; one that is there stays as it is.

    Raises
    ------
    PlaceError
        If it cannot: a folder of that name, no permission, a name that is too long, ...
    """
    try:
        place = path.resolve() if path.is_symlink() else path
        place.parent.mkdir(parents=True, exist_ok=True)
        if place.exists() and not stat.S_ISREG(kind := place.stat().st_mode):
            found = "a folder" if stat.S_ISDIR(kind) else "no regular file"
            raise PlaceError(f"{path}: cannot be written: found {found} of that name")
        trial = partial_path(place)
        os.close(os.open(trial, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
        trial.unlink()
    except PlaceError:
        raise
    except FileExistsError as error:
        raise PlaceError(f"{path}: cannot be written: found a file where a folder is needed") from error
    except (RuntimeError, ValueError) as error:  # links in a circle, a zero in the name
        raise PlaceError(f"{path}: cannot be written: {error}") from error
    except OSError as error:
        raise cannot_write(path, error, place=True) from error
    return place


def write_whole(path: Path, content: str | bytes) -> Path:
    """Write a file beside its place and give it its name when it is on disk; text in UTF-8.

    Raises
    ------
    OutputError
        If it cannot be written; an earlier file then stays as it was.
    """
    place = check_place(path)
    partial = partial_path(place)
    try:
        with partial.open("wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, place)
    except OSError as error:
        raise cannot_write(path, error) from error
    finally:
        partial.unlink(missing_ok=True)
    sync_folder(place.parent)
    return path
