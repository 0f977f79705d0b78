"""Arrays side by side in large blocks of memory.

numpy asks the system for large pages where a block is large enough (4 MB), as single arrays here seldom are.  Sweeps
over dozens of arrays then wait less for the processor to look up where their pages are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

#: bytes of a block, at least, and to which multiples of bytes an array begins
BLOCK, LINE = 1 << 24, 64


class Arena:
    """Room for arrays that live as long as each other."""

    def __init__(self) -> None:
        self._left = np.zeros(0, dtype=np.uint8)

    def zeros(self, shape: int | tuple[int, ...], dtype: DTypeLike = np.float64) -> NDArray[Any]:
        """An array of zeros."""
        kind = np.dtype(dtype)
        size = math.prod((shape,) if isinstance(shape, int) else shape) * kind.itemsize
        room = -(-size // LINE) * LINE
        if room > BLOCK // 4:
            # large enough by itself: what is left of a block is not given up for it
            piece = _block(room)[:size]
        else:
            if room > self._left.size:
                self._left = _block(BLOCK)
            piece, self._left = self._left[:size], self._left[room:]
        return piece.view(kind).reshape(shape)

    def keep(self, values: NDArray[Any]) -> NDArray[Any]:
        """A copy of an array."""
        kept = self.zeros(values.shape, values.dtype)
        kept[...] = values
        return kept

    def each(self, arrays: Iterable[NDArray[Any]]) -> tuple[NDArray[Any], ...]:
        """Copies of some arrays."""
        return tuple(self.keep(array) for array in arrays)


def _block(size: int) -> NDArray[np.uint8]:
    """Bytes that begin at a multiple of `LINE`."""
    block = np.zeros(size + LINE, dtype=np.uint8)
    return block[-block.ctypes.data % LINE :][:size]
