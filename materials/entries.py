"""The written entries of the catalogue, each parsed when it is first asked for.

A case uses a dozen of a hundred entries, and parsing all of them takes longer than reading the case.  The data
files therefore keep one layout: an entry begins with its header ``[identifier]`` at the start of a line and
ends with the next one.
"""

import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Generic, TypeVar

from stemwall.materials.problems import MaterialError, Problem

SOURCE_FILE = "sources.toml"
_HEADER = re.compile(r"^\[([\w-]+)\][ \t]*(?:#.*)?$", re.MULTILINE)
_SD = re.compile(r"^(?:sd\s*[=.]|\[[\w-]+\.sd\])", re.MULTILINE)
_ValueT = TypeVar("_ValueT")


class OnDemand(Mapping[str, _ValueT], Generic[_ValueT]):
    """Mapping whose values are made when they are first asked for, and kept.

    Parameters
    ----------
    keys : iterable of str
        All keys, in order.
    make : callable
        Value of a key.
    """

    def __init__(self, keys: Iterable[str], make: Callable[[str], _ValueT]) -> None:
        self._keys = dict.fromkeys(keys)
        self._make = make
        self._made: dict[str, _ValueT] = {}

    def __getitem__(self, key: str) -> _ValueT:
        if key not in self._made:
            if key not in self._keys:
                raise KeyError(key)
            self._made[key] = self._make(key)
        return self._made[key]

    def __contains__(self, key: object) -> bool:
        return key in self._keys

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)

    def __len__(self) -> int:
        return len(self._keys)


def pieces(text: str) -> dict[str, str]:
    """Text of every entry of a data file by identifier; of two with one identifier the last."""
    starts = [(match[1], match.start()) for match in _HEADER.finditer(text)]
    ends = [start for _, start in starts[1:]] + [len(text)]
    return {key: text[start:end] for (key, start), end in zip(starts, ends, strict=True)}


@cache
def _texts() -> dict[str, str]:
    """Text of every shipped entry.

    Raises
    ------
    MaterialError
        If two files hold the same entry.
    """
    texts: dict[str, str] = {}
    problems = []
    for path in sorted(files("stemwall.materials").iterdir(), key=lambda item: item.name):
        if path.name.endswith(".toml") and path.name != SOURCE_FILE:
            for key, text in pieces(path.read_text(encoding="utf-8")).items():
                if key in texts:
                    problems.append(Problem(key, f"a second entry in {path.name}", "one entry per identifier"))
                texts[key] = text
    if problems:
        raise MaterialError(problems)
    return texts


@cache
def entries() -> Mapping[str, dict[str, Any]]:
    """All written entries by identifier."""

    def parsed(key: str) -> dict[str, Any]:
        entry: dict[str, Any] = tomllib.loads(_texts()[key])[key]
        return entry

    return OnDemand(list(_texts()), parsed)


@cache
def membrane_keys() -> frozenset[str]:
    """Identifiers of the entries that are membranes: those that state s_d."""
    return frozenset(key for key, text in _texts().items() if _SD.search(text))
