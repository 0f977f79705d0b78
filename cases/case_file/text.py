"""From a file on disk to a tree of tables: what is no case file at all is said here, before it costs time."""

from __future__ import annotations

import re
import stat
import tomllib
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from stemwall.cases.inputs.input_errors import CaseError, Problem

#: size of a case file [bytes]: a section of thousands of regions is a tenth of it
MOST_BYTES = 4_000_000
#: tables and lists within each other, and parts of a dotted key; a case needs seven
DEEPEST = 32
#: letters of one text, the free text of a case included
LONGEST_TEXT = 20_000
#: whole numbers of TOML have 64 bits
LARGEST = 2**63

EXAMPLE = 'tables such as [detail] with kind = "basement"; `stemwall new basement` writes a commented one'
_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"""|' r"'''.*?'''|" r'"(?:\\.|[^"\\\n])*"|' r"'[^'\n]*'|#[^\n]*|[\[\]{},.=\n]", re.DOTALL
)
_DATE_LIKE = re.compile(r"=\s*\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")
DATE = "a date as year-month-day, e.g. 2001-10-01"
#: what a file that is no text begins with
_FOREIGN = {
    b"\x89HDF": "an HDF5 or netCDF file", b"CDF": "a netCDF file", b"PK\x03\x04": "a ZIP archive or spreadsheet",
    b"%PDF": "a PDF file", b"\x1f\x8b": "a compressed file", b"\x89PNG": "a PNG image",
}  # fmt: skip
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")


def read_text(path: Path) -> str:
    """Return the text of a case file.

    Raises
    ------
    CaseError
        If there is no such file, it is no regular file, too large, or no text in UTF-8.
    """
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode):
            kind = "a folder" if stat.S_ISDIR(mode) else "a pipe, socket or device"
            raise _refused(kind, "a case file", str(path))
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError, ValueError) as error:
        raise _refused("no such file", "an existing case file", str(path)) from error
    except OSError as error:
        raise _refused(f"a file that cannot be read ({error.strerror})", "a readable case file", str(path)) from error
    if len(data) > MOST_BYTES:
        size = f"{path.stat().st_size / 1e6:,.1f} MB"
        raise _refused(size, f"a case file of at most {MOST_BYTES / 1e6:g} MB", path.name)
    return _decoded(data, path.name)


def _decoded(data: bytes, file: str) -> str:
    wanted = "a TOML text file in UTF-8"
    for start, kind in _FOREIGN.items():
        if data.startswith(start):
            raise _refused(kind, wanted, file)
    if data.startswith(_UTF_16) or data[1:2] == b"\x00" or data[:1] == b"\x00":
        raise _refused("bytes that are no UTF-8, but UTF-16 by the look of it", f"{wanted}: save it as UTF-8", file)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refused("bytes that are no UTF-8", wanted, file, line) from error
    return text.replace("\r\n", "\n").replace("\r", "\n")


def parse_tree(text: str, file: str) -> dict[str, Any]:
    """Return the tables of a case text.

    Parameters
    ----------
    text : str
        TOML.
    file : str
        Name of the file, for messages.

    Raises
    ------
    CaseError
        If it is empty, no TOML, nested too deeply, or holds texts or numbers that no case needs.
    """
    start = text.lstrip()[:200].lower()
    if start.startswith(("<!doctype", "<html", "<?xml", "<")):
        raise _refused("an HTML or XML page", "a TOML text file", file, 1)
    if start.startswith("{"):
        raise _refused("JSON by the look of it", "a TOML text file", file, 1)
    problem = _too_deep(text)
    if problem:
        raise CaseError([Problem("", *problem[:2], file, problem[2])])
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([_syntax(error, text, file)]) from error
    except ValueError as error:  # a whole number of thousands of digits
        raise _refused("a number of thousands of digits", "a number such as 0.2", file) from error
    if not tree:
        raise _refused("an empty case file" if not text.strip() else "a case file of comments alone", EXAMPLE, file)
    odd = list(_odd(tree))
    if odd:
        raise CaseError([Problem(_dotted(place), found, expected, file) for place, found, expected in odd])
    return tree


def _refused(found: str, expected: str, file: str, line: int | None = None) -> CaseError:
    return CaseError([Problem("", found, expected, file, line)])


def _syntax(error: tomllib.TOMLDecodeError, text: str, file: str) -> Problem:
    message, _, place = str(error).partition(" (at ")
    number = place.removeprefix("line ").split(",")[0]
    line = int(number) if number.isdigit() else None
    expected = "valid TOML"
    if line is not None and _DATE_LIKE.search(text.split("\n")[line - 1]):
        expected += f"; {DATE}"
    if "overwrite" in message or "twice" in message:
        expected += "; every table and key once, [[name]] where there are several"
    if len(message) > 200:
        message = message[:200] + " ..."
    return Problem("", message[:1].lower() + message[1:], expected, file, line)


def _too_deep(text: str) -> tuple[str, str, int] | None:
    """Return (found, expected, line) of brackets or dotted keys that nest too deeply, before any parser meets them."""
    depth = dots = 0
    line = 1
    for token in _TOKEN.finditer(text):
        mark = token[0]
        if mark == ".":
            dots += 1
            if dots >= DEEPEST:
                return f"a key of more than {DEEPEST} parts", f"at most {DEEPEST} parts", line
            continue
        if mark[0] in "\"'":
            line += mark.count("\n")
            continue
        dots = 0
        line += mark == "\n"
        if mark in "[{":
            depth += 1
            if depth > DEEPEST:
                return f"brackets more than {DEEPEST} deep", f"tables and lists at most {DEEPEST} deep", line
        elif mark in "]}":
            depth = max(0, depth - 1)
    return None


def _odd(tree: dict[str, Any]) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield (place, found, expected) of what no case needs: control characters, endless texts, huge whole numbers."""
    left: list[tuple[tuple[str | int, ...], Any]] = [((), tree)]
    while left:
        place, value = left.pop()
        if len(place) > DEEPEST:
            yield place[:3], f"tables and lists more than {DEEPEST} deep", f"at most {DEEPEST}"
        elif isinstance(value, dict):
            for key, inner in value.items():
                if _strange(key) or len(key) > LONGEST_TEXT:
                    yield place, f"the key {_short(key)}", "a key of printed letters"
                else:
                    left.append(((*place, key), inner))
        elif isinstance(value, list):
            left += [((*place, number), inner) for number, inner in enumerate(value)]
        elif isinstance(value, str):
            if len(value) > LONGEST_TEXT:
                yield place, f"a text of {len(value):,} letters", f"at most {LONGEST_TEXT:,}"
            elif _strange(value):
                yield place, _short(value), "a text without control characters"
        elif isinstance(value, int) and not isinstance(value, bool) and abs(value) > LARGEST:
            yield place, f"a whole number of {value.bit_length()} bits", "a number of at most 64 bits"


def _strange(text: str) -> bool:
    """Whether a text holds characters that show nothing, or turn what follows around."""
    if text.isascii() and text.isprintable():
        return False
    return any(unicodedata.category(mark) in ("Cc", "Cf", "Cs") and mark not in "\n\t\r\u00ad\u200d" for mark in text)


def _short(text: str) -> str:
    shown = text.encode("unicode_escape").decode("ascii")
    return f'"{shown[:60]}{" ..." if len(shown) > 60 else ""}"'


def _dotted(place: tuple[str | int, ...]) -> str:
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in place).removeprefix(".")
