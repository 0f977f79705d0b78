"""What makes a record doubtful although every value of it could be weather: refused, or said aloud."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from stemwall.weather.errors import Problem

Slip = Literal["clock", "units", "stuck", "zeros", "rain"]
"""Kinds of slips that a person who knows the record may accept."""

SLIPS: tuple[Slip, ...] = get_args(Slip)

WARNING = "WARNING: "
"""How the notes of a year begin that a reader must not miss."""


@dataclass(frozen=True)
class Doubt:
    """One thing that is most likely wrong with a record.

    Parameters
    ----------
    kind : str
        One of `SLIPS`, by which it can be accepted.
    place : str
        File, and column or rows.
    found, expected : str
        What stands there with the slip that it looks like; what would be expected.
    grave : bool
        The record is refused unless the kind is accepted; otherwise it is only said.
    explains : bool
        It also is the reason of the impossible values of its column.
    """

    kind: Slip
    place: str
    found: str
    expected: str
    grave: bool = True
    explains: bool = False

    @property
    def column(self) -> str:
        """The column, as the place names it last."""
        return self.place.rpartition(", ")[2]

    def problem(self) -> Problem:
        """As a reason to refuse the record, with the way round."""
        way = f'{self.expected}; if the record is right, accept = ["{self.kind}"] for the weather takes it as it is'
        return Problem(self.place, self.found, way)

    def note(self) -> str:
        """As a note of the year."""
        return f"{WARNING}{self.place}: {self.found}; expected {self.expected}"


def settle(doubts: Iterable[Doubt], accept: Collection[str]) -> tuple[list[Problem], list[str]]:
    """Return the problems of a record and the notes that remain of its doubts.

    Parameters
    ----------
    doubts : iterable of Doubt
        All that were found.
    accept : collection of str
        Kinds that are only said.
    """
    problems, notes = [], []
    for doubt in doubts:
        if doubt.grave and doubt.kind not in accept:
            problems.append(doubt.problem())
        else:
            notes.append(doubt.note())
    return problems, notes
