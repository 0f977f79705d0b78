"""Arrays in large blocks of memory: what they are, and that none lies in another."""

from itertools import pairwise

import numpy as np

from stemwall.solver.integration.arena import BLOCK, LINE, Arena


def test_arrays_are_zeros_of_their_own(rng: np.random.Generator) -> None:
    pages = Arena()
    kinds = np.float64, np.float32, np.int64, np.int32, np.bool_
    made = []
    for number in range(200):
        shape = tuple(rng.integers(0, 40, size=rng.integers(1, 4)))
        array = pages.zeros(shape, kinds[number % len(kinds)])
        assert array.shape == shape
        assert array.dtype == kinds[number % len(kinds)]
        assert array.flags.c_contiguous
        assert array.flags.writeable
        assert array.ctypes.data % LINE == 0 or not array.size
        assert not array.any()
        made.append(array)
        array.reshape(-1).view(np.uint8)[:] = 1
    spans = sorted((array.ctypes.data, array.ctypes.data + array.nbytes) for array in made if array.size)
    assert all(end <= start for (_, end), (start, _) in pairwise(spans))


def test_what_no_block_holds_gets_one() -> None:
    pages = Arena()
    small, large, other = pages.zeros(3), pages.zeros(BLOCK), pages.zeros((2, 5))
    large[:] = 1.0
    assert not small.any()
    assert not other.any()
    assert large.nbytes > BLOCK


def test_copies_are_equal_and_apart(rng: np.random.Generator) -> None:
    pages, values = Arena(), rng.normal(size=(7, 3))
    for given in values, values[::2, 1:], values.T, values > 0.0:
        kept = pages.keep(given)
        np.testing.assert_array_equal(kept, given)
        assert kept.dtype == given.dtype
        assert not np.shares_memory(kept, given)
