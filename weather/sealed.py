"""What is kept between runs: a private folder, and files in it that are used only if they are what was written.

Damaged code of the machine ends the process that loads it, and a file that another user can write to is another
user's code.  So the folder is the user's own, a file carries a checksum of its name and content that is verified
before anything looks at the content, and a file appears under its name only when all of it is on the disk.
Whatever is odd is thrown away and made again.
"""

from __future__ import annotations

import hashlib
import logging
import os
import stat
import time
from contextlib import suppress
from pathlib import Path
from uuid import uuid4

#: begins every file; another number for another layout
MARK = b"stemwall kept 1\n"
#: length of the checksum [bytes]
DIGEST = 32
#: a file that was being written for so long was left by a process that is no more [s]
ABANDONED = 24 * 3600.0
PARTIAL = ".partial"
#: permission for group or others to write
_OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH
#: users and permissions are told only here; elsewhere a user's folders are private by custom
_POSIX = os.name == "posix"

logger = logging.getLogger("stemwall")
_said: set[str] = set()


def keep_nothing(place: object, reason: object) -> None:
    """Say once in a process, in one line, that nothing is kept."""
    line = f"nothing is kept for later runs, which start more slowly: {place}: {reason}"
    if line not in _said:
        _said.add(line)
        logger.warning(line)


def private_folder(path: Path, *, tighten: bool = False) -> Path | None:
    """Return a folder that nobody else can write to, made if it is missing; None, after a word, if it cannot be.

    Parameters
    ----------
    path : Path
        The folder.
    tighten : bool
        Take from others the permission to read, if they have it.
    """
    try:
        _make(path)
        reason = _objection(path)
        if not reason and tighten and _POSIX and path.stat().st_mode & 0o077:
            path.chmod(0o700)
    except OSError as error:
        reason = error.strerror or str(error)
    if reason:
        keep_nothing(path, reason)
        return None
    return path


def _make(path: Path) -> None:
    """Make a folder and those it lies in, for the user alone."""
    missing = []
    while not path.exists():
        missing.append(path)
        path = path.parent
    for folder in reversed(missing):
        folder.mkdir(mode=0o700, exist_ok=True)


def _objection(path: Path) -> str:
    """What is wrong with an existing folder; empty if it can be used."""
    if not path.is_dir():
        return "is not a folder"
    if not _POSIX:
        return ""
    found = path.stat()
    if found.st_uid != os.geteuid():
        return "belongs to another user"
    if found.st_mode & _OTHERS_WRITE:
        return "others may write to it"
    for parent in path.resolve().parents:
        mode = parent.stat().st_mode
        if mode & stat.S_IWOTH and not mode & stat.S_ISVTX:
            return f"lies in {parent}, where anybody may replace it"
    return "" if os.access(path, os.W_OK | os.X_OK) else "cannot be written to"


def write_sealed(path: Path, content: bytes) -> None:
    """Write a file beside its name, to the disk, and then give it its name.

    Raises
    ------
    OSError
        If it cannot be written; nothing is left behind then.
    """
    partial = path.with_name(f"{path.name}.{uuid4().hex[:8]}{PARTIAL}")
    try:
        with open(partial, "xb", opener=_for_the_user) as file:
            file.writelines((MARK, _digest(path.name, content), content))
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, path)
    except BaseException:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        raise
    _remove_abandoned(path.parent)


def read_sealed(path: Path) -> bytes | None:
    """Return the content of a file if it is whole, the user's own and was written under this name; else None.

    A file that is there but odd is removed.
    """
    try:
        content = _content(path)
    except FileNotFoundError:
        return None
    except OSError:
        content = None
    if content is None:
        discard(path)
    return content


def discard(path: Path) -> None:
    """Remove a file, if that is possible."""
    with suppress(OSError):
        path.unlink(missing_ok=True)


def _content(path: Path) -> bytes | None:
    with open(path, "rb", opener=_itself) as file:
        found = os.fstat(file.fileno())
        if _POSIX and (found.st_uid != os.geteuid() or found.st_mode & _OTHERS_WRITE):
            return None
        head, digest, content = file.read(len(MARK)), file.read(DIGEST), file.read()
    return content if head == MARK and digest == _digest(path.name, content) else None


def _for_the_user(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _itself(path: str, flags: int) -> int:
    """Open a file, not one that it leads to."""
    return os.open(path, flags | getattr(os, "O_NOFOLLOW", 0))


def _digest(name: str, content: bytes) -> bytes:
    total = hashlib.blake2b(name.encode() + b"\0", digest_size=DIGEST)
    total.update(content)
    return total.digest()


def _remove_abandoned(folder: Path) -> None:
    """Remove what processes that were killed in the midst of writing left in a folder."""
    for path in folder.glob(f"*{PARTIAL}"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > ABANDONED:
                path.unlink(missing_ok=True)
