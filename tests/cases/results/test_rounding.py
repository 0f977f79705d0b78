"""Rounded numbers that add up: sums are kept, nothing is off by a unit, whole numbers stay."""

from __future__ import annotations

import numpy as np
import pytest

from stemwall.cases.results.rounding import add_up


def table(seed: int) -> tuple[np.ndarray, list[dict[int, float]]]:
    """Rows in blocks under a total, each row split twice, as the table of heat has it; and all its sums."""
    draw = np.random.default_rng(seed)
    blocks = np.split(np.arange(sizes := int(draw.integers(8, 20))), np.sort(draw.integers(1, sizes, 4)))
    first, second, wet = draw.normal(0.0, 30.0, (3, sizes))
    wet[draw.random(sizes) < 0.3] = 0.0
    rows = np.stack([first, second, first + second - wet, wet, first + second], axis=1)
    groups = np.stack([rows[block].sum(axis=0) for block in blocks])
    values = np.concatenate([rows, groups, groups.sum(axis=0)[None]])
    place = np.arange(values.size).reshape(values.shape)
    sums = [
        {int(column[sizes + g]): 1.0, **dict.fromkeys(column[block].tolist(), -1.0)}
        for column in place.T
        for g, block in enumerate(blocks)
    ]
    sums += [{int(c[-1]): 1.0, **dict.fromkeys(c[sizes:-1].tolist(), -1.0)} for c in place.T]
    sums += [{int(r[4]): 1.0, int(r[a]): -1.0, int(r[b]): -1.0} for r in place[:sizes] for a, b in ((0, 1), (2, 3))]
    return values, sums


@pytest.mark.parametrize("seed", range(20))
def test_tables_add_up_and_nothing_is_off_by_a_unit(seed: int) -> None:
    values, sums = table(seed)
    weights = np.ones(values.shape)
    weights[-1] = 100.0
    found = add_up(values.ravel(), weights.ravel(), sums)
    assert all(sum(sign * found[at] for at, sign in terms.items()) == 0 for terms in sums)
    assert np.abs(found - values.ravel()).max() < 1.0
    assert not np.any(found[values.ravel() == 0.0])
    # what counts most is the nearest, where the sums leave a choice at all
    assert np.mean(found.reshape(values.shape)[-1] == np.rint(values[-1])) >= 0.6


def test_without_sums_every_number_is_the_nearest() -> None:
    values = np.array([0.4, -0.6, 2.0, 7.49, -3.2])
    assert add_up(values, np.ones(5), []).tolist() == [0, -1, 2, 7, -3]


def test_the_lesser_of_two_errors_is_taken() -> None:
    """0.3 + 0.4 + 0.3 = 1: one of the parts becomes one, the nearest to it."""
    values = np.array([1.0, 0.3, 0.4, 0.3])
    assert add_up(values, np.ones(4), [{0: 1.0, 1: -1.0, 2: -1.0, 3: -1.0}]).tolist() == [1, 0, 1, 0]


def test_numbers_that_do_not_add_up_before_are_refused() -> None:
    with pytest.raises(ValueError, match="do not keep the sums"):
        add_up(np.array([2.0, 0.5, 0.5]), np.ones(3), [{0: 1.0, 1: -1.0, 2: -1.0}])
