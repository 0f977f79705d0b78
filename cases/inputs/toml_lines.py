"""Line numbers of the keys in a TOML text, by dotted path."""

from __future__ import annotations

import re
from collections.abc import Sequence

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*=""")
_PART = re.compile(r""""([^"]*)"|'([^']*)'|([\w-]+)""")
_STRING = re.compile(r""""(?:\\.|[^"\\])*"|'[^']*'|#.*""")


class Places:
    """Where each key of a TOML text stands.

    Parameters
    ----------
    text : str
        A valid TOML text.
    """

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        table: Path = ()
        for number, line in _statements(text):
            header = _HEADER.match(line)
            if header:
                table = self._enter(_split(header[2]), array=header[1] == "[[")
                self._lines.setdefault(table, number)
                continue
            key = _KEY.match(line)
            if key:
                self._lines.setdefault((*table, *_split(key[1])), number)
                for inner in re.finditer(r"""(?<=[{,])\s*("[^"]*"|'[^']*'|[\w-]+)\s*=""", line):
                    self._lines.setdefault((*table, *_split(key[1]), *_split(inner[1])), number)

    def has(self, path: Sequence[str | int]) -> bool:
        """Return whether that very key stands in the text."""
        return tuple(path) in self._lines

    def line(self, path: Sequence[str | int]) -> int | None:
        """Return the line of ``path``, or of the nearest table above it that stands in the text."""
        whole = tuple(path)
        for length in range(len(whole), 0, -1):
            if whole[:length] in self._lines:
                return self._lines[whole[:length]]
        return None

    def _enter(self, parts: Path, *, array: bool) -> Path:
        """Return the path of a table header, with the running index of every array of tables."""
        path: Path = ()
        for depth, part in enumerate(parts):
            path = (*path, part)
            last = depth == len(parts) - 1
            if last and array:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path = (*path, self._counts[path])
        return path


def _split(dotted: str) -> Path:
    return tuple(next(group for group in match.groups() if group is not None) for match in _PART.finditer(dotted))


def _statements(text: str) -> list[tuple[int, str]]:
    """Return (line number, line) of every line that starts a statement, outside open brackets and strings."""
    found, depth, fence = [], 0, ""
    for number, line in enumerate(text.split("\n"), start=1):
        if fence:
            fence = "" if fence in line else fence
            continue
        if depth == 0:
            found.append((number, line))
        fence = next((mark for mark in ('"""', "'''") if line.count(mark) % 2), "")
        if not fence and not (depth == 0 and _HEADER.match(line)):
            bare = _STRING.sub("", line)
            depth = max(0, depth + sum(map(bare.count, "[{")) - sum(map(bare.count, "]}")))
    return found
