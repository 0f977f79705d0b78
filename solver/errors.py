"""Errors that a run can raise; each says where, when, what was found and what to do."""

from __future__ import annotations


class SolverError(Exception):
    """A run could not go on: place, time, cause and advice are in the text."""


class SectionError(ValueError):
    """A section cannot be meshed; ``problems`` lists everything that is wrong with it."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems
