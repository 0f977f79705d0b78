"""Error weights, norms and copies."""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import RH_S, TOTAL_S

UNSATURATED = 150.0  # slope of suction [Pa] up to which a node counts as saturated or nearly so


@kernel
def error_weights(state, newton, tolerances):
    """Fill the weights (N, 2): reciprocals of the wanted local errors of the state as last evaluated.

    The potential answers for the strictest of humidity, water content and pressure.
    """
    node, capacity, weights, saturation = state.node, state.capacity, newton.weights, newton.saturation
    wanted, importance = tolerances.wanted, tolerances.importance
    per_t, per_rh, per_water, per_pressure = 1.0 / wanted[0], 1.0 / wanted[1], 1.0 / wanted[2], 1.0 / wanted[3]
    for n in range(weights.shape[0]):
        strictest = max(abs(node[n, RH_S]) * per_rh, abs(capacity[n, 2]) * per_water / saturation[n])
        if node[n, TOTAL_S] <= UNSATURATED:
            strictest = max(strictest, node[n, TOTAL_S] * per_pressure)
        weights[n, 0] = importance[n] * per_t
        weights[n, 1] = importance[n] * strictest


@kernel
def max_norm(nodes, values, weights):
    """Row among some nodes with the largest entry of values * weights, both (N, 2), and that entry's size."""
    worst = 0
    size = 0.0
    for number in range(nodes.size):
        n = nodes[number]
        here = max(abs(values[n, 0] * weights[n, 0]), abs(values[n, 1] * weights[n, 1]))
        if not here <= size:  # a NaN is the largest of all
            worst = n
            size = here
            if size != size:
                break
    return worst, size


@kernel
def error_norm(values, weights, share):
    """As `max_norm` for all rows, and the number of rows with an entry of values * weights beyond a share."""
    worst, size, count = 0, 0.0, 0
    for n in range(values.shape[0]):
        here = max(abs(values[n, 0] * weights[n, 0]), abs(values[n, 1] * weights[n, 1]))
        count += here > share
        if not here <= size:
            worst, size = n, here
            if size != size:
                break
    return worst, size, count


@kernel
def steady(residual, heat_bound, water_bound, rate, share):
    """Whether all residuals are below a share of rate * bound."""
    for n in range(residual.shape[0]):
        if abs(residual[n, 0]) > share * rate * heat_bound[n, 0]:
            return False
        if abs(residual[n, 1]) > share * rate * water_bound[n]:
            return False
    return True


@kernel
def copy(unknowns, into):
    """Copy unknowns element by element: an assignment of whole arrays would compile numba's way to a shape error."""
    for n in range(unknowns.temperature.size):
        into.temperature[n], into.potential[n] = unknowns.temperature[n], unknowns.potential[n]


@kernel
def copy_rows(rows, into):
    """Copy an array of two dimensions, see `copy`."""
    for n in range(rows.shape[0]):
        for e in range(rows.shape[1]):
            into[n, e] = rows[n, e]
