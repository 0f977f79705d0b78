"""Shares of several causes in one effect: Shapley's value, which combinations it takes, and how causes go together.

A combination is the set of causes that are present.  The share of a cause is the mean of what it adds over all orders
in which the causes may come one after the other [1]_: shares add up to what all causes do together, causes that do the
same have the same share, and one that changes nothing has none.  Up to `EXACT` causes all combinations are asked for.
Beyond, orders are those of circles: the causes stand on a circle, and an order begins anywhere and goes round either
way.  In these orders every cause takes every place equally often, and what they ask for are the arcs of the circle.  A
second circle, in which others are neighbours, shows how much the choice of orders matters.

References
----------
.. [1] Shapley (1953), A value for n-person games, Contributions to the Theory of Games II, 307-317.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import gcd

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Combination = frozenset[int]

#: causes up to which every combination is asked for
EXACT = 6
#: circles of orders beyond
CIRCLES = 2
#: of what both of two causes do, what one of them does at most where the other alone is enough, and at least where it
#: takes both (plain choices)
LITTLE, MOST = 0.25, 0.75


@dataclass(frozen=True)
class Shares:
    """Share of each cause (n,), and by how much circles of orders differ, half of it, (n,); zero where exact."""

    share: Floats
    spread: Floats


@dataclass(frozen=True)
class Pair:
    """Two causes that do not simply add up: what the effect loses without the first, the second, and both.

    ``kind``: "either" where one alone is enough, "both" where it takes both, "overlap" and "strengthen" between.
    """

    first: int
    second: int
    kind: str
    without_first: float
    without_second: float
    without_both: float

    @property
    def excess(self) -> float:
        """What both lose together beyond the sum of what each loses alone."""
        return self.without_both - self.without_first - self.without_second


def orders(count: int) -> list[list[tuple[int, ...]]]:
    """Return the orders of each circle of so many causes, beyond `EXACT`."""
    steps = [step for step in range(1, count) if gcd(step, count) == 1 and 2 * step <= count][:CIRCLES]
    circles = [[step * place % count for place in range(count)] for step in steps]
    return [
        [tuple(turned[place:] + turned[:place]) for turned in (circle, circle[::-1]) for place in range(count)]
        for circle in circles
    ]


def combinations_for(count: int) -> list[Combination]:
    """Return the combinations whose effect must be known: all present first, then without one, two and so on."""
    everything = frozenset(range(count))
    if count <= EXACT:
        wanted = {frozenset(c) for size in range(count + 1) for c in combinations(range(count), size)}
    else:
        wanted = {frozenset(order[:size]) for circle in orders(count) for order in circle for size in range(count + 1)}
        # pairs are told by what is lost without each and both
        wanted |= {everything - set(away) for away in combinations(range(count), 2)}
    return sorted(wanted, key=lambda present: (count - len(present), sorted(everything - present)))


def shapley(effect: Mapping[Combination, float], count: int) -> Shares:
    """Return the shares of so many causes in an effect that is known for `combinations_for` them."""
    if count <= EXACT:
        return Shares(_exact(effect, count), np.zeros(count))
    found = np.array([_of_orders(effect, circle, count) for circle in orders(count)])
    return Shares(found.mean(axis=0), np.asarray((found.max(axis=0) - found.min(axis=0)) / 2.0))


def _exact(effect: Mapping[Combination, float], count: int) -> Floats:
    share = np.zeros(count)
    weight = [1.0 / (count * len(list(combinations(range(count - 1), size)))) for size in range(count)]
    for present in effect:
        for cause in set(range(count)) - present:
            share[cause] += weight[len(present)] * (effect[present | {cause}] - effect[present])
    return share


def _of_orders(effect: Mapping[Combination, float], chosen: Iterable[tuple[int, ...]], count: int) -> Floats:
    rows = []
    for order in chosen:
        added = np.zeros(count)
        for place, cause in enumerate(order):
            added[cause] = effect[frozenset(order[: place + 1])] - effect[frozenset(order[:place])]
        rows.append(added)
    return np.asarray(np.mean(rows, axis=0))


def pairs(effect: Mapping[Combination, float], count: int, least: float) -> list[Pair]:
    """Return the pairs of causes that do not add up by at least so much, those that do so least first."""
    everything = frozenset(range(count))
    found = []
    for i, j in combinations(range(count), 2):
        lost = [effect[everything] - effect[everything - away] for away in ({i}, {j}, {i, j})]
        pair = Pair(i, j, _kind(*lost), *lost)
        if abs(pair.excess) > least:
            found.append(pair)
    return sorted(found, key=lambda pair: -abs(pair.excess))


def _kind(first: float, second: float, both: float) -> str:
    if both - first - second > 0.0:
        return "either" if max(first, second) <= LITTLE * both else "overlap"
    return "both" if min(first, second) >= MOST * both > 0.0 else "strengthen"


def enough_to_remove(held: Mapping[Combination, bool], count: int) -> list[Combination]:
    """Return the smallest sets of causes without which a limit is held, of the combinations that are known.

    A set is left out if part of it is enough.
    """
    everything = frozenset(range(count))
    away = sorted((everything - present for present, good in held.items() if good), key=lambda s: (len(s), sorted(s)))
    found: list[Combination] = []
    for candidate in away:
        if not any(smaller <= candidate for smaller in found):
            found.append(candidate)
    return found
