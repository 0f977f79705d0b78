"""Errors that a run can raise; each says where, when, what was found and what to do."""

from __future__ import annotations


class SolverError(Exception):
    """A run could not go on: place, time, cause and advice are in the text."""


class SectionError(ValueError):
    """A section cannot be meshed; ``problems`` lists everything that is wrong with it."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems


class OutputError(OSError):
    """A file cannot be written: place and cause are in the text."""


class PlaceError(OutputError):
    """A file cannot be written where it is wanted; found before anything was computed."""


class DiskFullError(OutputError):
    """No room is left for a file: to try again at once is of no use."""


def told(error: BaseException) -> str:
    """Return an error in words, with the notes that were added to it, on one line."""
    words = [str(error) or type(error).__name__, *getattr(error, "__notes__", ())]
    return "; ".join(" ".join(word.split()) for word in words)
