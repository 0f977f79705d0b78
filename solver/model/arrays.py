"""Types of arrays, and arrays as kernels take them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def as_floats(values: NDArray[Any]) -> Floats:
    """Return a contiguous array of numbers."""
    return np.ascontiguousarray(values, dtype=np.float64)


def as_ints(values: NDArray[Any]) -> Ints:
    """Return a contiguous array of indices."""
    return np.ascontiguousarray(values, dtype=np.int64)
