"""Lengths of steps from their errors (N4)."""

from __future__ import annotations

from math import ceil

#: share of the wanted error that a step is aimed at, as a factor on its length
SAFETY = 0.85


def growth_factor(error: float) -> float:
    """Length of the next step over that of one with this scaled error, which falls with its third power."""
    return min(4.0, max(0.3, SAFETY * float(max(error, 1e-6) ** (-1 / 3))))


def reduction_factor(error: float, least: float = 0.2, order: float = 3.0) -> float:
    """Length of a repeated step over that of the rejected one: max(least, 0.85 error^(-1/order))."""
    return max(least, SAFETY * float(error ** (-1.0 / order)))


def next_step_end(time: float, target: float, wanted: float) -> float:
    """End [s] of a step of at most the length wanted, one of equal steps that end at a target.

    Never a time that is not later: a step too short for the clock ends at the target.
    """
    count = ceil((target - time) / wanted - 1e-9)
    end = target if count <= 1 else time + (target - time) / count
    return end if end > time else target
