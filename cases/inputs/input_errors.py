"""What is wrong with an input: every problem with its place, what was found and what was expected."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    Parameters
    ----------
    path : str
        Dotted path in the case file, e.g. ``detail.sill.width``.
    found : str
        What stands there.
    expected : str
        What should stand there.
    file : str
        Name of the file; empty if the input came from no file.
    line : int or None
        Line in that file, counted from 1; None if unknown.
    """

    path: str
    found: str
    expected: str
    file: str = ""
    line: int | None = None

    @property
    def place(self) -> str:
        """File, line and dotted path in one phrase."""
        spot = ":".join(part for part in (self.file, str(self.line or "")) if part)
        return "  ".join(part for part in (spot, self.path) if part)

    def __str__(self) -> str:
        return f"{self.place}: found {self.found}; expected {self.expected}"


class CaseError(Exception):
    """A case file that cannot be used; carries every problem that was found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def nearest(name: str, names: Iterable[str]) -> str:
    """Return a hint that names the closest of ``names``, or all of them if they are few."""
    known = list(names)
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    if close:
        return f"did you mean {close[0]!r}?"
    if known and len(known) <= 12:
        return "one of " + ", ".join(repr(item) for item in known)
    return ""
