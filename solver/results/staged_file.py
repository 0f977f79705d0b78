"""A file that changes on disk only when it is told to, and that a full disk leaves as it was told last.

HDF5 ends the process if a write fails while it closes a file.  It is therefore given this one: what it writes is held
in memory, in pages, until `StagedFile.commit` writes them with plain calls of the system, whose errors are errors of
Python.  New pages go first, behind the end of what is there, so that a disk that turns out to be full is found before
anything is changed.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path
from types import TracebackType

try:
    import fcntl
except ImportError:  # not on this system: files that are being written cannot be told from those that were left
    fcntl = None  # type: ignore[assignment]

#: bytes of a page
PAGE = 1 << 16
#: ends a sealed file, before the digest of all bytes in front of it; HDF5 does not look behind its own end
SEAL = b"\nstemwall sealed, sha256:"
SEALED_BYTES = len(SEAL) + hashlib.sha256().digest_size


class StagedFile:
    """A new file, open for reading and writing, with the methods that h5py asks of a file object.

    It is locked as long as it is open, where the system has locks, see `abandoned`.

    Parameters
    ----------
    path : Path
        Where it lies; there must be nothing yet.

    Raises
    ------
    OSError
        If it cannot be made.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        #: whether an error left pages on disk of which some are new and some are old
        self.torn = False
        self._fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        if fcntl is not None:
            with suppress(OSError):  # a file system without locks
                fcntl.flock(self._fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        self._pages: dict[int, bytearray] = {}
        self._at = self._size = 0
        #: pages on disk, and the size that the file had when they were written
        self._stored = self._committed = 0

    def __enter__(self) -> StagedFile:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place and return it."""
        self._at = offset + {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._size}[whence]
        return self._at

    def tell(self) -> int:
        """Return the place."""
        return self._at

    def read(self, count: int) -> bytes:
        """Read from the place on, as much as is there."""
        buffer = bytearray(max(0, min(count, self._size - self._at)))
        self.readinto(buffer)
        return bytes(buffer)

    def readinto(self, buffer: bytearray | memoryview) -> int:
        """Read from the place on, as much as fits and is there."""
        view = memoryview(buffer).cast("B")
        count = max(0, min(len(view), self._size - self._at))
        for number, inside, of_view in _pieces(self._at, count):
            view[of_view] = self._page(number)[inside]
        self._at += count
        return count

    def write(self, data: bytes | memoryview) -> int:
        """Write at the place, in memory."""
        view = memoryview(data).cast("B")
        for number, inside, of_view in _pieces(self._at, len(view)):
            page = self._pages.get(number)
            if page is None:
                page = self._pages[number] = self._page(number)
            page[inside] = view[of_view]
        self._at += len(view)
        self._size = max(self._size, self._at)
        return len(view)

    def truncate(self, size: int | None = None) -> int:
        """Set the size; what lies behind it is not cleared, HDF5 writes before it reads."""
        self._size = self._at if size is None else size
        return self._size

    def flush(self) -> None:
        """Do nothing: see `commit`."""

    def commit(self) -> None:
        """Bring the file on disk to what was written.

        Raises
        ------
        OSError
            If it cannot be.  The file on disk then is what it was before, unless `torn` says otherwise.
        """
        last = -(-self._size // PAGE)
        nothing = bytes(PAGE)
        try:
            for number in range(self._stored, last):
                self._put(self._pages.get(number, nothing), number * PAGE)
            os.fsync(self._fd)
        except OSError:
            os.ftruncate(self._fd, self._stored * PAGE)
            raise
        old = [number for number in sorted(self._pages) if number < min(self._stored, last)]
        self.torn = bool(old)
        for number in old:
            self._put(self._pages[number], number * PAGE)
        os.fsync(self._fd)
        self.torn = False
        self._stored, self._committed = max(last, self._stored), self._size
        self._pages.clear()

    def trim(self) -> None:
        """Cut the file on disk to the size that it had when it was committed, and forget what was written since."""
        self._pages.clear()
        self._size = self._committed
        os.ftruncate(self._fd, self._committed)

    def seal(self) -> None:
        """Append the digest of what lies on disk, read from there; nothing is written afterwards.

        Raises
        ------
        OSError
            If that fails.
        """
        self.trim()
        digest = hashlib.sha256()
        for at in range(0, self._size, PAGE):
            digest.update(self._get(min(PAGE, self._size - at), at))
        self._put(SEAL + digest.digest(), self._size)
        os.fsync(self._fd)

    def close(self) -> None:
        """Let go of the file; what was not committed is lost."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def _page(self, number: int) -> bytearray:
        """Return a page as it was written last."""
        page = self._pages.get(number)
        if page is None:
            page = bytearray(PAGE)
            if number < self._stored:
                read = self._get(PAGE, number * PAGE)
                page[: len(read)] = read
        return page

    def _get(self, count: int, at: int) -> bytes:
        os.lseek(self._fd, at, os.SEEK_SET)
        return os.read(self._fd, count)

    def _put(self, data: bytes | bytearray, at: int) -> None:
        os.lseek(self._fd, at, os.SEEK_SET)
        view = memoryview(data)
        while view:
            view = view[os.write(self._fd, view) :]


def _pieces(at: int, count: int) -> list[tuple[int, slice, slice]]:
    """Arena that a range of bytes touches: number, range within the page, range within the data."""
    pieces = []
    done = 0
    while done < count:
        number, first = divmod(at + done, PAGE)
        length = min(PAGE - first, count - done)
        pieces.append((number, slice(first, first + length), slice(done, done + length)))
        done += length
    return pieces


def abandoned(path: Path) -> bool:
    """Return whether a staged file is there that nobody has open any more."""
    try:
        fd = os.open(path, os.O_RDWR)
    except OSError:
        return False
    try:
        if fcntl is not None:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return True
    except BlockingIOError:
        return False
    except OSError:
        return True
    finally:
        os.close(fd)


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on disk; systems and file systems that cannot do that do it their own way."""
    with suppress(OSError):
        fd = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)
