"""Kernels of the linear solver: block incomplete factorisation and BiCGStab.

The matrix is block-sparse by rows with 2 x 2 blocks stored row-major, (nnz, 4);
``indptr``, ``indices`` as in scipy, columns sorted, ``diagonal`` the position of
the diagonal block of each row.  The functions of this file call only each other.
"""

from __future__ import annotations

import math

from numba import njit


@njit(cache=True)
def factorise(indptr, indices, diagonal, values, factors, position):
    """Block ILU(0); the diagonal blocks of ``factors`` hold inverses.

    ``position`` (N,) is workspace filled with -1.  Returns the first row with a
    singular block, or -1.
    """
    factors[:, :] = values
    for i in range(indptr.size - 1):
        start, stop = indptr[i], indptr[i + 1]
        for k in range(start, stop):
            position[indices[k]] = k
        for k in range(start, diagonal[i]):
            j = indices[k]
            d = factors[diagonal[j]]
            f = factors[k]
            a0 = f[0] * d[0] + f[1] * d[2]
            a1 = f[0] * d[1] + f[1] * d[3]
            a2 = f[2] * d[0] + f[3] * d[2]
            a3 = f[2] * d[1] + f[3] * d[3]
            f[0], f[1], f[2], f[3] = a0, a1, a2, a3
            for q in range(diagonal[j] + 1, indptr[j + 1]):
                p = position[indices[q]]
                if p >= 0:
                    u, t = factors[q], factors[p]
                    t[0] -= a0 * u[0] + a1 * u[2]
                    t[1] -= a0 * u[1] + a1 * u[3]
                    t[2] -= a2 * u[0] + a3 * u[2]
                    t[3] -= a2 * u[1] + a3 * u[3]
        d = factors[diagonal[i]]
        determinant = d[0] * d[3] - d[1] * d[2]
        for k in range(start, stop):
            position[indices[k]] = -1
        if determinant == 0.0 or not math.isfinite(determinant):
            return i
        d0 = d[0]
        d[0], d[1], d[2], d[3] = d[3] / determinant, -d[1] / determinant, -d[2] / determinant, d0 / determinant
    return -1


@njit(cache=True)
def precondition(indptr, indices, diagonal, factors, b, x):
    """x = (LU)^-1 b; both (N, 2); b may be x."""
    rows = indptr.size - 1
    for i in range(rows):
        r0, r1 = b[i, 0], b[i, 1]
        for k in range(indptr[i], diagonal[i]):
            j, f = indices[k], factors[k]
            r0 -= f[0] * x[j, 0] + f[1] * x[j, 1]
            r1 -= f[2] * x[j, 0] + f[3] * x[j, 1]
        x[i, 0], x[i, 1] = r0, r1
    for i in range(rows - 1, -1, -1):
        r0, r1 = x[i, 0], x[i, 1]
        for k in range(diagonal[i] + 1, indptr[i + 1]):
            j, f = indices[k], factors[k]
            r0 -= f[0] * x[j, 0] + f[1] * x[j, 1]
            r1 -= f[2] * x[j, 0] + f[3] * x[j, 1]
        d = factors[diagonal[i]]
        x[i, 0] = d[0] * r0 + d[1] * r1
        x[i, 1] = d[2] * r0 + d[3] * r1


@njit(cache=True)
def _multiply(indptr, indices, values, x, y):
    for i in range(indptr.size - 1):
        r0 = 0.0
        r1 = 0.0
        for k in range(indptr[i], indptr[i + 1]):
            j, v = indices[k], values[k]
            r0 += v[0] * x[j, 0] + v[1] * x[j, 1]
            r1 += v[2] * x[j, 0] + v[3] * x[j, 1]
        y[i, 0], y[i, 1] = r0, r1


@njit(cache=True)
def solve(indptr, indices, diagonal, values, factors, scale, x, work, tolerance, drop, most):
    """BiCGStab, preconditioned from the left; on entry x holds the right side, on exit the solution.

    ``scale`` (N, 2) turns the preconditioned residual, which has the units of
    the unknowns, into shares of what is tolerable; the iteration stops when its
    largest entry is below ``tolerance`` and below ``drop`` times its first value.
    ``work`` (7, N, 2).  Returns the
    iterations used, negative if ``most`` was reached or the method broke down.
    """
    r, shadow, p, v, t, y, z = work[0], work[1], work[2], work[3], work[4], work[5], work[6]
    rows = x.shape[0]
    precondition(indptr, indices, diagonal, factors, x, y)
    # start from the preconditioned right side
    _multiply(indptr, indices, values, y, z)
    for i in range(rows):
        z[i, 0] = x[i, 0] - z[i, 0]
        z[i, 1] = x[i, 1] - z[i, 1]
        x[i, 0], x[i, 1] = y[i, 0], y[i, 1]
    precondition(indptr, indices, diagonal, factors, z, r)
    rho = 0.0
    worst = 0.0
    first = 0.0
    for i in range(rows):
        for c in range(2):
            first = max(first, abs(y[i, c] * scale[i, c]))
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
