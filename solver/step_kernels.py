"""Kernels of the stepping: scales, norms and cautious updates of the unknowns.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

from numba import njit

STRIDE = 15.0  # farthest that a temperature moves in one update [K]
UNSATURATED = 150.0  # slope of suction [Pa] up to which a node counts as saturated or nearly so


@njit(cache=True, error_model="numpy")
def fill_scale(
    pressure_slope, humidity_slope, water_slope, saturation,
    wanted_t, wanted_rh, wanted_water, wanted_pressure, importance, scale,
):  # fmt: skip
    """Reciprocals of the wanted local errors of temperature and potential, (N, 2).

    The potential answers for the strictest of humidity, water content and pressure;
    the slopes are derivatives with respect to it.  ``importance`` (N,) weighs the nodes.
    """
    per_t, per_rh, per_water, per_pressure = 1.0 / wanted_t, 1.0 / wanted_rh, 1.0 / wanted_water, 1.0 / wanted_pressure
    for n in range(scale.shape[0]):
        strictest = max(abs(humidity_slope[n]) * per_rh, abs(water_slope[n]) * per_water / saturation[n])
        if pressure_slope[n] <= UNSATURATED:
            strictest = max(strictest, pressure_slope[n] * per_pressure)
        scale[n, 0] = importance[n] * per_t
        scale[n, 1] = importance[n] * strictest


@njit(cache=True, error_model="numpy")
def largest(nodes, values, scale):
    """Row among some nodes with the largest entry of values * scale, both (N, 2), and that entry's size."""
    worst = 0
    size = 0.0
    for number in range(nodes.size):
        n = nodes[number]
        here = max(abs(values[n, 0] * scale[n, 0]), abs(values[n, 1] * scale[n, 1]))
        if not here <= size:  # a NaN is the largest of all
            worst = n
            size = here
            if size != size:
                break
    return worst, size


@njit(cache=True, error_model="numpy")
def exceeding(values, scale, share):
    """Number of rows with an entry of values * scale, both (N, 2), beyond a share."""
    count = 0
    for n in range(values.shape[0]):
        count += max(abs(values[n, 0] * scale[n, 0]), abs(values[n, 1] * scale[n, 1])) > share
    return count


@njit(cache=True, error_model="numpy")
def limited_update(
    nodes, temperature, potential, update, storage, matrix_capacity, stiffness, rate, switching, y1, driest,
    cold, promised, low, high,
):  # fmt: skip
    """Take an update (N, 2) from some nodes with care.

    Temperatures move by at most ``STRIDE``.  In the capillary range (0 < y < y1) the potential moves by at
    most 2, and nowhere far from saturation or from the dry branch in one stride.  A
    ``switching`` node takes up offered water or refuses it depending on the sign of
    its suction, and is stopped close to the switch.

    Nodes that are or get below 0 degC are listed in ``cold``; how many is returned.  ``promised`` (N,) is what
    storage and own flow of heat should come to by the matrix, whose capacities (N, 3) and
    diagonal ``stiffness`` (N,) are given; see `temper`.
    """
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        before = potential[n]
        after = before - update[n, 1]
        if before < 0.0:
            after = min(after, 0.2 if switching[n] else 1.0)
        elif before < y1:
            after = min(max(after, before - 2.0), before + 2.0)
            if switching[n] and before > 0.0 and after < -0.2:
                after = -0.2
        elif after < y1 - 1.0:
            after = y1 - 1.0
        after = min(after, driest)
        potential[n] = after
        t = temperature[n]
        dt = min(max(-update[n, 0], -STRIDE), STRIDE)
        temperature[n] = t + dt
        if min(t, t + dt) < 0.0:
            cold[count] = n
            count += 1
            own = max(stiffness[n] - rate * matrix_capacity[n, 0], 0.0)
            kept = storage[n, 0] + matrix_capacity[n, 0] * dt + matrix_capacity[n, 1] * (after - before)
            promised[n] = rate * kept + own * (t + dt)
            low[n], high[n] = t - STRIDE, t + STRIDE
    return count


@njit(cache=True, error_model="numpy")
def temper(
    cold, count, temperature, storage, capacity, matrix_capacity, stiffness, rate, promised, low, high, scale, share
):  # fmt: skip
    """Bring cold nodes nearer to the temperature at which they hold what was promised.

    Latent heat bends the enthalpy far more than anything else: a node is left with
    rate * H(T) + own flow(T) = promised, which grows with T, and takes a step of Newton's
    method within the bracket ``low``, ``high`` (N,).  Nodes within ``share`` of their wanted error are
    struck off the list; returns how many are left.
    """
    left = 0
    for number in range(count):
        n = cold[number]
        t = temperature[n]
        own = max(stiffness[n] - rate * matrix_capacity[n, 0], 0.0)
        excess = rate * storage[n, 0] + own * t - promised[n]
        change = -excess / (rate * capacity[n, 0] + own)
        if excess > 0.0:
            high[n] = t
        else:
            low[n] = t
        if min(abs(change), high[n] - low[n]) * scale[n, 0] <= share:
            continue
        after = t + change
        if not low[n] < after < high[n]:
            after = 0.5 * (low[n] + high[n])
        temperature[n] = after
        cold[left] = n
        left += 1
    return left


@njit(cache=True, error_model="numpy")
def softened(nodes, capacity, matrix_capacity, share):
    """Number of nodes that hold less heat per kelvin than a share of what the matrix was told."""
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        if capacity[n, 0] < share * matrix_capacity[n, 0]:
            count += 1
    return count


@njit(cache=True, error_model="numpy")
def weigh(first, factor, second, other, third, total):
    """total = factor * first + other * (second + third), all (N, 2)."""
    for n in range(total.shape[0]):
        total[n, 0] = factor * first[n, 0] + other * (second[n, 0] + third[n, 0])
        total[n, 1] = factor * first[n, 1] + other * (second[n, 1] + third[n, 1])


@njit(cache=True, error_model="numpy")
def combine(amounts, weights, total):
    """total = sum of weights[k] * amounts[k] for k = 0, 1, 2; amounts (3, N, 2)."""
    for n in range(total.shape[0]):
        for e in range(2):
            total[n, e] = weights[0] * amounts[0, n, e] + weights[1] * amounts[1, n, e] + weights[2] * amounts[2, n, e]


@njit(cache=True, error_model="numpy")
def accept(conserved, amounts, weights, storage, saturation, middle_t, middle_y, end_t, end_y, per_second, drift):
    """Add what flowed in to ``conserved`` (N, 2) and set the drift (N, 2) at the end of a step.

    Returns the largest water residual carried, as a share of a node's saturation.
    """
    worst = 0.0
    for n in range(conserved.shape[0]):
        for e in range(2):
            conserved[n, e] += (
                weights[0] * amounts[0, n, e] + weights[1] * amounts[1, n, e] + weights[2] * amounts[2, n, e]
            )
        drift[n, 0] = (end_t[n] - middle_t[n]) * per_second
        drift[n, 1] = (end_y[n] - middle_y[n]) * per_second
        worst = max(worst, abs(storage[n, 1] - conserved[n, 1]) / saturation[n])
    return worst


@njit(cache=True, error_model="numpy")
def close(temperature, potential, storage, capacity, scale, values, diagonal, rate, heat, water, most):
    """Take what the residuals add up to out of all nodes at once, so that the sums close.

    ``heat`` [J/m] and ``water`` [kg/m] is what the state holds too much.  Every node gives the
    same share of its wanted error, less where a node answers to its neighbours or to a surface
    more than to its own storage (``values``, ``diagonal``: the Jacobian): what flows must not
    notice.  ``storage`` follows by ``capacity``.  Returns False, and changes nothing, if
    that share exceeds ``most``.
    """
    heat_t, heat_y, water_y = 0.0, 0.0, 0.0
    for n in range(temperature.size):
        d = diagonal[n]
        own_t = rate * capacity[n, 0] / values[d, 0] / scale[n, 0]
        own_y = rate * capacity[n, 2] / values[d, 3] / scale[n, 1]
        heat_t += capacity[n, 0] * own_t
        heat_y += capacity[n, 1] * own_y
        water_y += capacity[n, 2] * own_y
    if not (heat_t > 0.0 and water_y < 0.0):
        return False
    share_y = water / water_y
    share_t = (heat - heat_y * share_y) / heat_t
    if not max(abs(share_t), abs(share_y)) <= most:
        return False
    for n in range(temperature.size):
        d = diagonal[n]
        dt = share_t * rate * capacity[n, 0] / values[d, 0] / scale[n, 0]
        dy = share_y * rate * capacity[n, 2] / values[d, 3] / scale[n, 1]
        temperature[n] -= dt
        potential[n] -= dy
        storage[n, 0] -= capacity[n, 0] * dt + capacity[n, 1] * dy
        storage[n, 1] -= capacity[n, 2] * dy
    return True


@njit(cache=True, error_model="numpy")
def at_rest(residual, heat_bound, water_bound, rate, share):
    """Whether all residuals are below a share of rate * bound."""
    for n in range(residual.shape[0]):
        if abs(residual[n, 0]) > share * rate * heat_bound[n, 0]:
            return False
        if abs(residual[n, 1]) > share * rate * water_bound[n]:
            return False
    return True
