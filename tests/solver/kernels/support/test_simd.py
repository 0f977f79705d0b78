"""Lanes against the same arithmetic on arrays."""

import numpy as np
from numba import njit

from stemwall.solver.kernels.support.simd import WIDTH, broadcast, hmax, hsum, load, max_abs, store, to_f64, transpose4


@njit(error_model="numpy")
def _operate(a, b, out):
    for place in range(0, a.size, WIDTH):
        i, k = np.uint64(place), np.uint64(place)
        one, other = load(a, i), load(b, i)
        value = (one + other) * one - other / (one * one + broadcast(a, 1.0))
        value += one
        value -= broadcast(a, 3.0) * other
        store(out, k, value)


@njit(error_model="numpy")
def _reduce(a, place):
    value = load(a, place)
    return hsum(value), hmax(value), hmax(max_abs(broadcast(a, 0.5), value))


@njit(error_model="numpy")
def _turn(a, places, out):
    columns = transpose4(a, places[0], places[1], places[2], places[3])
    for number, column in enumerate(columns):
        store(out, np.uint64(WIDTH * number), column)


def test_operators(rng: np.random.Generator) -> None:
    a, b = rng.normal(size=(2, 5 * WIDTH))
    out = np.empty_like(a)
    _operate(a, b, out)
    np.testing.assert_allclose(out, (a + b) * a - b / (a * a + 1.0) + a - 3.0 * b, rtol=1e-14, atol=1e-15)


def test_lanes_begin_at_any_place(rng: np.random.Generator) -> None:
    a = rng.normal(size=11)
    for place in range(11 - WIDTH + 1):
        four = a[place : place + WIDTH]
        found = _reduce(a, np.uint64(place))
        np.testing.assert_allclose(found, [four.sum(), four.max(), max(0.5, np.abs(four).max())], rtol=1e-14)


def test_four_by_four_are_turned(rng: np.random.Generator) -> None:
    a, out = rng.normal(size=40), np.empty(WIDTH * WIDTH)
    places = np.array([3, 0, 36, 11], dtype=np.uint64)
    _turn(a, places, out)
    np.testing.assert_array_equal(out.reshape(WIDTH, WIDTH), [[a[int(p) + k] for p in places] for k in range(WIDTH)])


def test_short_numbers_are_rounded_when_they_are_put_back(rng: np.random.Generator) -> None:
    a, b = rng.normal(size=(2, 5 * WIDTH)).astype(np.float32)
    out = np.empty_like(a)
    _operate(a, b, out)
    wanted = a.astype(float), b.astype(float)
    np.testing.assert_allclose(
        out, (wanted[0] + wanted[1]) * wanted[0] - wanted[1] / (wanted[0] ** 2 + 1.0) + wanted[0] - 3.0 * wanted[1],
        atol=3e-6,
    )  # fmt: skip
    _widen(a, out)
    np.testing.assert_array_equal(out, (1.0 / a.astype(float)).astype(np.float32))


@njit(error_model="numpy")
def _widen(a, out):
    one = np.ones(1)
    for place in range(0, a.size, WIDTH):
        i, k = np.uint64(place), np.uint64(place)
        store(out, k, broadcast(one, 1.0) / to_f64(load(a, i)))
