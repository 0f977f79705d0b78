"""What is said when weather data cannot be used: every problem at once, each with its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SHOWN = 40
"""Problems printed in the message; all of them stay in `WeatherError.problems`."""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    Parameters
    ----------
    place : str
        File, row or time, and column.
    found : str
        What stands there.
    expected : str
        What would be accepted.
    """

    place: str
    found: str
    expected: str

    def __str__(self) -> str:
        """Place, found and expected on one line."""
        return f"{self.place}: found {self.found}; expected {self.expected}"


class WeatherError(ValueError):
    """Weather data that cannot be used.

    Parameters
    ----------
    problems : sequence of Problem
        All problems found, at least one.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        lines = [f"{len(self.problems)} problem(s) in the weather data"]
        lines += [f"  {problem}" for problem in self.problems[:SHOWN]]
        if len(self.problems) > SHOWN:
            lines.append(f"  ... and {len(self.problems) - SHOWN} more (see .problems)")
        super().__init__("\n".join(lines))
