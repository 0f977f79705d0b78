"""What can be wrong with a material, and the errors that say so."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal


@dataclass(frozen=True)
class Problem:
    """One wrong entry.

    Parameters
    ----------
    place : str
        Dotted path of the entry.
    found : str
        What stands there.
    expected : str
        What should.
    """

    place: str
    found: str
    expected: str

    def __str__(self) -> str:
        return f"{self.place}: found {self.found}; expected {self.expected}"


class MaterialError(ValueError):
    """A material definition that cannot be used; lists every problem."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UnknownMaterialError(KeyError):
    """An identifier that is not in the catalogue; names the nearest ones."""

    def __init__(self, key: str, known: Iterable[str]) -> None:
        self.key = key
        self.nearest = get_close_matches(key, sorted(known), n=3, cutoff=0.4)
        hint = f"; nearest: {', '.join(self.nearest)}" if self.nearest else ""
        self.message = f"no material {key!r} in the catalogue{hint}"
        super().__init__(self.message)

    def __str__(self) -> str:
        return self.message


@dataclass(frozen=True)
class Finding:
    """One result of the plausibility check.

    Parameters
    ----------
    severity : {"E", "W", "I"}
        Reject, ask, inform.
    rule : str
        Short name of the rule.
    place : str
        Property concerned.
    found, expected : str
        Value and what the rule asks for.
    """

    severity: Literal["E", "W", "I"]
    rule: str
    place: str
    found: str
    expected: str
