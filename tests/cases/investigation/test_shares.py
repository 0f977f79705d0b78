"""Shares of causes: Shapley's value against all orders written out, its properties, pairs and smallest removals."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from stemwall.cases.investigation.shares import (
    EXACT,
    combinations_for,
    enough_to_remove,
    orders,
    pairs,
    shapley,
)

Effect = dict[frozenset[int], float]


def of_all_orders(effect: Effect, count: int) -> NDArray[np.float64]:
    share = np.zeros(count)
    every = list(permutations(range(count)))
    for order in every:
        for place, cause in enumerate(order):
            share[cause] += effect[frozenset(order[: place + 1])] - effect[frozenset(order[:place])]
    return share / len(every)


@st.composite
def effects(draw: st.DrawFn, least: int = 1, most: int = 4) -> tuple[Effect, int]:
    count = draw(st.integers(least, most))
    seed = draw(st.integers(0, 2**32 - 1))
    values = np.random.default_rng(seed).uniform(-100, 100, 2**count)
    return dict(zip(combinations_for(count), values.tolist(), strict=False)), count


@given(effects())
def test_shares_are_the_mean_over_all_orders(drawn: tuple[Effect, int]) -> None:
    effect, count = drawn
    assert shapley(effect, count).share == pytest.approx(of_all_orders(effect, count), abs=1e-9)


@given(effects(7, 8))
def test_shares_add_up_to_what_all_do_together(drawn: tuple[Effect, int]) -> None:
    effect, count = drawn
    together = effect[frozenset(range(count))] - effect[frozenset()]
    assert shapley(effect, count).share.sum() == pytest.approx(together, abs=1e-9)


@pytest.mark.parametrize("count", [2, EXACT, 7, 8])
def test_causes_that_add_up_have_what_they_add_and_idle_ones_nothing(count: int) -> None:
    adds = np.arange(count, dtype=float)
    effect = {c: 3.0 + float(adds[list(c)].sum()) for c in combinations_for(count)}
    found = shapley(effect, count)
    assert found.share == pytest.approx(adds)
    assert found.spread == pytest.approx(np.zeros(count), abs=1e-12)
    assert pairs(effect, count, 1e-9) == []


@pytest.mark.parametrize("count", [7, 8])
def test_in_the_orders_of_a_circle_every_cause_takes_every_place_equally_often(count: int) -> None:
    circles = orders(count)
    assert len(circles) == 2
    for circle in circles:
        places = np.array([[order.index(cause) for cause in range(count)] for order in circle])
        for cause in range(count):
            assert set(np.bincount(places[:, cause], minlength=count).tolist()) == {2}
    assert len(combinations_for(count)) < 2**count


def test_one_of_two_is_enough_and_both_are_needed() -> None:
    either = {c: 10.0 * bool(c & {0, 1}) for c in combinations_for(3)}
    assert [(p.first, p.second, p.kind) for p in pairs(either, 3, 0.1)] == [(0, 1, "either")]
    assert shapley(either, 3).share == pytest.approx([5.0, 5.0, 0.0])
    both = {c: 10.0 * (c >= {0, 2}) for c in combinations_for(3)}
    assert [(p.first, p.second, p.kind) for p in pairs(both, 3, 0.1)] == [(0, 2, "both")]
    partly = {c: float(max([0, *(4 * (k + 1) for k in c)])) for c in combinations_for(2)}
    assert [p.kind for p in pairs(partly, 2, 0.1)] == ["overlap"]


def test_the_smallest_removals_that_keep_a_limit() -> None:
    held = {c: not (c & {0} or c >= {1, 2}) for c in combinations_for(3)}
    assert enough_to_remove(held, 3) == [frozenset({0, 1}), frozenset({0, 2})]
    assert enough_to_remove(dict.fromkeys(combinations_for(2), True), 2) == [frozenset()]
    assert enough_to_remove(dict.fromkeys(combinations_for(2), False), 2) == []
