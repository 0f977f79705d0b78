"""Kernels of the linear solver: block incomplete factorisation and BiCGStab.

The matrix is block-sparse by rows with 2 x 2 blocks stored row-major, (nnz, 4);
``indptr``, ``indices`` as in scipy, columns sorted, ``diagonal`` the position of
the diagonal block of each row.  The functions of this file call only each other.
"""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True, error_model="numpy")
def factorise(indptr, indices, diagonal, values, factors, position):
    """Block ILU(0); the diagonal blocks of ``factors`` hold inverses.

    ``position`` (N,) is workspace filled with -1.  Returns the first row with a
    singular block, or -1.
    """
    factors[:, :] = values
    for i in range(indptr.size - 1):
        start, stop, own = indptr[i], indptr[i + 1], diagonal[i]
        for k in range(start, stop):
            position[indices[k]] = k
        for k in range(start, own):
            j = indices[k]
            d = diagonal[j]
            d0, d1, d2, d3 = factors[d, 0], factors[d, 1], factors[d, 2], factors[d, 3]
            f0, f1, f2, f3 = factors[k, 0], factors[k, 1], factors[k, 2], factors[k, 3]
            a0 = f0 * d0 + f1 * d2
            a1 = f0 * d1 + f1 * d3
            a2 = f2 * d0 + f3 * d2
            a3 = f2 * d1 + f3 * d3
            factors[k, 0] = a0
            factors[k, 1] = a1
            factors[k, 2] = a2
            factors[k, 3] = a3
            for q in range(d + 1, indptr[j + 1]):
                p = position[indices[q]]
                if p >= 0:
                    u0, u1, u2, u3 = factors[q, 0], factors[q, 1], factors[q, 2], factors[q, 3]
                    factors[p, 0] -= a0 * u0 + a1 * u2
                    factors[p, 1] -= a0 * u1 + a1 * u3
                    factors[p, 2] -= a2 * u0 + a3 * u2
                    factors[p, 3] -= a2 * u1 + a3 * u3
        d0, d1, d2, d3 = factors[own, 0], factors[own, 1], factors[own, 2], factors[own, 3]
        determinant = d0 * d3 - d1 * d2
        for k in range(start, stop):
            position[indices[k]] = -1
        if determinant == 0.0 or not math.isfinite(determinant):
            return i
        factors[own, 0] = d3 / determinant
        factors[own, 1] = -d1 / determinant
        factors[own, 2] = -d2 / determinant
        factors[own, 3] = d0 / determinant
    return -1


@njit(cache=True, error_model="numpy")
def precondition(indptr, indices, diagonal, factors, b, x):
    """x = (LU)^-1 b; both (N, 2); b may be x."""
    rows = indptr.size - 1
    for i in range(rows):
        r0, r1 = b[i, 0], b[i, 1]
        for k in range(indptr[i], diagonal[i]):
            j = indices[k]
            r0 -= factors[k, 0] * x[j, 0] + factors[k, 1] * x[j, 1]
            r1 -= factors[k, 2] * x[j, 0] + factors[k, 3] * x[j, 1]
        x[i, 0], x[i, 1] = r0, r1
    for i in range(rows - 1, -1, -1):
        r0, r1 = x[i, 0], x[i, 1]
        for k in range(diagonal[i] + 1, indptr[i + 1]):
            j = indices[k]
            r0 -= factors[k, 0] * x[j, 0] + factors[k, 1] * x[j, 1]
            r1 -= factors[k, 2] * x[j, 0] + factors[k, 3] * x[j, 1]
        d = diagonal[i]
        x[i, 0] = factors[d, 0] * r0 + factors[d, 1] * r1
        x[i, 1] = factors[d, 2] * r0 + factors[d, 3] * r1


@njit(cache=True, error_model="numpy")
def _multiply(indptr, indices, values, x, y):
    for i in range(indptr.size - 1):
        r0 = 0.0
        r1 = 0.0
        for k in range(indptr[i], indptr[i + 1]):
            j = indices[k]
            r0 += values[k, 0] * x[j, 0] + values[k, 1] * x[j, 1]
            r1 += values[k, 2] * x[j, 0] + values[k, 3] * x[j, 1]
        y[i, 0], y[i, 1] = r0, r1


@njit(cache=True, error_model="numpy")
def _remainder(indptr, indices, values, right, x, y):
    """y = right - A x."""
    for i in range(indptr.size - 1):
        r0, r1 = right[i, 0], right[i, 1]
        for k in range(indptr[i], indptr[i + 1]):
            j = indices[k]
            r0 -= values[k, 0] * x[j, 0] + values[k, 1] * x[j, 1]
            r1 -= values[k, 2] * x[j, 0] + values[k, 3] * x[j, 1]
        y[i, 0], y[i, 1] = r0, r1


@njit(cache=True, error_model="numpy")
def solve(indptr, indices, diagonal, values, factors, scale, right, x, work, tolerance, drop, most):
    """BiCGStab, preconditioned from the left; on entry x (N, 2) holds a first guess, on exit the solution.

    ``scale`` (N, 2) turns the preconditioned residual, which has the units of
    the unknowns, into shares of what is tolerable; the iteration stops when its
    largest entry is below ``tolerance`` and below ``drop`` times that of the guess.
    ``work`` (7, N, 2).  Returns the iterations used, negative if ``most`` was reached
    or the method broke down.
    """
    r, shadow, p, v, t, y, z = work[0], work[1], work[2], work[3], work[4], work[5], work[6]
    rows = x.shape[0]
    # one step by the factors alone, then the iteration
    _remainder(indptr, indices, values, right, x, z)
    precondition(indptr, indices, diagonal, factors, z, y)
    first = 0.0
    for i in range(rows):
        for c in range(2):
            x[i, c] += y[i, c]
            first = max(first, abs(y[i, c] * scale[i, c]))
    _remainder(indptr, indices, values, right, x, z)
    precondition(indptr, indices, diagonal, factors, z, r)
    rho = 0.0
    worst = 0.0
    for i in range(rows):
        for c in range(2):
            scaled = r[i, c] * scale[i, c]
            worst = max(worst, abs(scaled))
            shadow[i, c] = scaled * scale[i, c]
            p[i, c] = r[i, c]
            rho += r[i, c] * shadow[i, c]
    tolerance = min(tolerance, drop * first)
    if worst <= tolerance:
        return 0
    for iteration in range(1, most + 1):
        _multiply(indptr, indices, values, p, z)
        precondition(indptr, indices, diagonal, factors, z, v)
        along = 0.0
        for i in range(rows):
            along += shadow[i, 0] * v[i, 0] + shadow[i, 1] * v[i, 1]
        if along == 0.0 or not math.isfinite(along):
            return -iteration
        alpha = rho / along
        worst = 0.0
        for i in range(rows):
            for c in range(2):
                r[i, c] -= alpha * v[i, c]
                x[i, c] += alpha * p[i, c]
                worst = max(worst, abs(r[i, c] * scale[i, c]))
        if worst <= tolerance:
            return iteration
        _multiply(indptr, indices, values, r, z)
        precondition(indptr, indices, diagonal, factors, z, t)
        tr = 0.0
        tt = 0.0
        for i in range(rows):
            for c in range(2):
                weight = scale[i, c] * scale[i, c]
                tr += t[i, c] * r[i, c] * weight
                tt += t[i, c] * t[i, c] * weight
        if tt == 0.0 or not math.isfinite(tt):
            return -iteration
        omega = tr / tt
        rho_new = 0.0
        worst = 0.0
        for i in range(rows):
            for c in range(2):
                x[i, c] += omega * r[i, c]
                r[i, c] -= omega * t[i, c]
                rho_new += shadow[i, c] * r[i, c]
                worst = max(worst, abs(r[i, c] * scale[i, c]))
        if worst <= tolerance:
            return iteration
        if rho == 0.0 or omega == 0.0:
            return -iteration
        beta = (rho_new / rho) * (alpha / omega)
        rho = rho_new
        for i in range(rows):
            for c in range(2):
                p[i, c] = r[i, c] + beta * (p[i, c] - omega * v[i, c])
    return -most
