"""Kernels that read tables of cubics: cells[m, i, c] are the coefficients of column c of row m in cell i."""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import fused_kernel
from stemwall.solver.kernels.support.layout import unsigned


@fused_kernel
def value_at(cells, m, i, c, u):
    """Value at 0 <= u <= 1 of column c of row m of a table, in cell i."""
    return cells[m, i, c, 0] + u * (cells[m, i, c, 1] + u * (cells[m, i, c, 2] + u * cells[m, i, c, 3]))


@fused_kernel
def slope_at(cells, m, i, c, u, per_h):
    """Its slope; cells are 1 / per_h wide."""
    return (cells[m, i, c, 1] + u * (2.0 * cells[m, i, c, 2] + 3.0 * u * cells[m, i, c, 3])) * per_h


@fused_kernel
def curvature_at(cells, m, i, c, u, per_h):
    """Its second derivative."""
    return (2.0 * cells[m, i, c, 2] + 6.0 * u * cells[m, i, c, 3]) * per_h * per_h


@fused_kernel
def place_in(x, first, per_h, last):
    """Cell of a table in which x lies, and how far through it, 0 to 1; held at both ends."""
    steps = (x - first) * per_h
    i = min(max(int(steps), 0), last)
    return unsigned(i), min(max(steps - i, 0.0), 1.0)
