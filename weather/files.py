"""Weather files as bytes and text: what cannot be one is refused before it is opened."""

from __future__ import annotations

import stat
from pathlib import Path

from stemwall.weather.errors import Problem, WeatherError

LARGEST = 512 * 2**20
"""Largest file that is read [bytes]; a century of hours with all columns takes some 150 MB."""

KINDS = {
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a pipe",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
    stat.S_IFSOCK: "a socket",
}


def file_bytes(path: Path) -> bytes:
    """Content of a file.

    Raises
    ------
    WeatherError
        If there is none, or it is a folder, a pipe, a device, empty, too large or may not be read.
    """
    wanted = "a weather file"
    try:
        about = path.stat()
    except (OSError, ValueError) as error:  # a name with a zero byte is a ValueError
        missing = isinstance(error, FileNotFoundError | NotADirectoryError)
        raise _refused(path, "no such file" if missing else str(error), wanted) from error
    if not stat.S_ISREG(about.st_mode):
        raise _refused(path, KINDS.get(stat.S_IFMT(about.st_mode), "no plain file"), wanted)
    if about.st_size > LARGEST:
        raise _refused(path, f"{about.st_size / 2**20:.0f} MB", f"at most {LARGEST / 2**20:.0f} MB")
    try:
        content = path.read_bytes()
    except OSError as error:
        raise _refused(path, str(error.strerror or error), "a file that may be read") from error
    if not content.strip():
        raise _refused(path, "an empty file", wanted)
    return content


def text_of(path: Path, example: str, *, strict: bool = True) -> str:
    """Content of a text file, a byte-order mark left out.

    Parameters
    ----------
    path : path
        The file.
    example : str
        A line as the format wants it, for the message.
    strict : bool
        Refuse what is not UTF-8; otherwise it is read as Latin-1, in which older files name their stations.

    Raises
    ------
    WeatherError
        If it is no such text.
    """
    content = file_bytes(path)
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(path, "text in UTF-16", f"text in UTF-8, with lines like: {example}")
    if b"\0" in content:
        raise _refused(path, "bytes that are no text", f"text in UTF-8, with lines like: {example}")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if not strict:
            return content.decode("latin-1")
        row = content.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{content[error.start]:02x} in row {row}, which is not UTF-8"
        raise _refused(path, found, f"text in UTF-8, with lines like: {example}") from error


def _refused(path: Path, found: str, expected: str) -> WeatherError:
    return WeatherError([Problem(str(path), found, expected)])
