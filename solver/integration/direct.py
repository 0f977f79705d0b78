"""Direct solution of the linear system, for the rare matrices that the iteration does not get through."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def solve(blocks: Floats, indptr: NDArray[np.int64], indices: NDArray[np.int32], right: Floats) -> Floats:
    """Solution (N, 2) of a matrix of 2 x 2 blocks (nnz, 4), row-major, its rows as in scipy.

    Not numbers if the matrix is singular.
    """
    # not before it is needed, which is seldom: no run has to wait for the import
    from scipy.sparse import bsr_matrix
    from scipy.sparse.linalg import splu

    size = right.size
    matrix = bsr_matrix((blocks.reshape(-1, 2, 2), indices, indptr), shape=(size, size)).tocsc()
    # unknowns and equations of different size: pivots are sought in balanced rows
    weight = 1.0 / np.maximum(np.abs(matrix).max(axis=1).toarray().ravel(), 1e-300)
    matrix.data *= weight[matrix.indices]
    try:
        factors = splu(matrix, permc_spec="MMD_AT_PLUS_A")
    except RuntimeError:
        return np.full_like(right, np.nan)
    return np.asarray(factors.solve(weight * right.ravel()).reshape(right.shape))
