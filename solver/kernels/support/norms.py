"""Kernels of the stepping: scales, norms, sums over stages, the closing of sums.

Plain arrays only; the functions of this file call nothing outside it.
"""

from __future__ import annotations

from stemwall.solver.kernels.support.jit import kernel

UNSATURATED = 150.0  # slope of suction [Pa] up to which a node counts as saturated or nearly so


@kernel
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


@kernel
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


@kernel
def judge(values, scale, share):
    """As `largest` for all rows, and the number of rows with an entry of values * scale beyond a share."""
    worst, size, count = 0, 0.0, 0
    for n in range(values.shape[0]):
        here = max(abs(values[n, 0] * scale[n, 0]), abs(values[n, 1] * scale[n, 1]))
        count += here > share
        if not here <= size:
            worst, size = n, here
            if size != size:
                break
    return worst, size, count


@kernel
def put(temperature, potential, into_t, into_y):
    """Copy unknowns; numba compiles an assignment of whole arrays together with the words of the error it might be."""
    for n in range(temperature.size):
        into_t[n], into_y[n] = temperature[n], potential[n]


@kernel
def put_rows(rows, into):
    """Copy an array of two dimensions, see `put`."""
    for n in range(rows.shape[0]):
        for e in range(rows.shape[1]):
            into[n, e] = rows[n, e]


@kernel
def begin_middle(factor, rate, drift, conserved, inflow, noted, history, update):
    """Note the net inflow at the beginning of a step, fill the history of its middle and the change foreseen to there.

    All arrays (N, 2): history = rate * conserved + inflow, update = factor * drift.
    """
    for n in range(update.shape[0]):
        for e in range(2):
            noted[n, e] = inflow[n, e]
            history[n, e] = rate * conserved[n, e] + inflow[n, e]
            update[n, e] = factor * drift[n, e]


@kernel
def begin_end(factor, rate, other, course, conserved, first, inflow, noted, history, update):
    """Note net inflow and unknowns in the middle of a step, fill the history of its end and the change to there.

    history = rate * conserved + other * (first + inflow); update: ``factor`` times what led from the beginning to the
    middle, with its sign turned.  ``course``: see `march_kernels.take_step`, the middle still in the place of the end.
    """
    start_t, start_y, middle_t, middle_y, end_t, end_y = course
    for n in range(update.shape[0]):
        for e in range(2):
            noted[n, e] = inflow[n, e]
            history[n, e] = rate * conserved[n, e] + other * (first[n, e] + inflow[n, e])
        middle_t[n], middle_y[n] = end_t[n], end_y[n]
        update[n, 0] = factor * (start_t[n] - end_t[n])
        update[n, 1] = factor * (start_y[n] - end_y[n])


@kernel
def weigh(first, second, third, amounts, inflow, total):
    """Note the net inflow at the end of a step, and weigh all three: amounts (3, N, 2), the others (N, 2)."""
    for n in range(total.shape[0]):
        for e in range(2):
            amounts[2, n, e] = inflow[n, e]
            total[n, e] = first * amounts[0, n, e] + second * amounts[1, n, e] + third * inflow[n, e]


@kernel
def book(step, weights, per_second, course, accounts, storage, saturation, source, booked):
    """Book what flowed in a step, and set the drift at its end; see `march_kernels.take_step`.

    ``weights`` (3,) of the three stages; ``booked``: what came through surfaces (surfaces, 5) and from given sources
    (2,) so far, and where the largest water residual carried goes, as a share of a node's saturation (1,).
    """
    _, _, middle_t, middle_y, end_t, end_y = course
    conserved, drift, _, _, inflows, flows = accounts
    through, injected, defect = booked
    first, second, third = step * weights[0], step * weights[1], step * weights[2]
    worst, heat, water = 0.0, 0.0, 0.0
    for n in range(conserved.shape[0]):
        for e in range(2):
            conserved[n, e] += first * inflows[0, n, e] + second * inflows[1, n, e] + third * inflows[2, n, e]
        heat += source[n, 0]
        water += source[n, 1]
        drift[n, 0] = (end_t[n] - middle_t[n]) * per_second
        drift[n, 1] = (end_y[n] - middle_y[n]) * per_second
        worst = max(worst, abs(storage[n, 1] - conserved[n, 1]) / saturation[n])
    injected[0] += step * heat
    injected[1] += step * water
    defect[0] = worst
    for k in range(through.shape[0]):
        for e in range(through.shape[1]):
            through[k, e] += first * flows[0, k, e] + second * flows[1, k, e] + third * flows[2, k, e]


@kernel
def close(
    temperature, potential, start_t, start_y, storage, capacity, scale, values, diagonal, rate, heat, water, most,
    ease, rest, weight,
):  # fmt: skip
    """Take what the residuals add up to out of many nodes at once, so that the sums close.

    ``heat`` [J/m] and ``water`` [kg/m] is what the state holds too much.  Every node gives the
    same share of its wanted error, less where a node answers to its neighbours or to a surface
    more than to its own storage (``values``, ``diagonal``: the Jacobian): what flows must not
    notice; and less where a node moved by less than a share ``rest`` since the start of the step: what is at
    rest stays there.
    ``storage`` follows by ``capacity``.  Returns False, and changes nothing, if a node would
    move by more than a share ``most``, where temperatures count ``ease`` times.  ``weight`` (N, 2) is work space.
    """
    heat_t, heat_y, water_y = 0.0, 0.0, 0.0
    most_t, most_y = 0.0, 0.0
    per_rest = 1.0 / rest if rest > 0.0 else 0.0
    for n in range(temperature.size):
        d = diagonal[n]
        moved_t = min(abs(temperature[n] - start_t[n]) * scale[n, 0] * per_rest, 1.0) if rest > 0.0 else 1.0
        moved_y = min(abs(potential[n] - start_y[n]) * scale[n, 1] * per_rest, 1.0) if rest > 0.0 else 1.0
        own_t = moved_t * rate * capacity[n, 0] / values[d, 0]
        own_y = moved_y * rate * capacity[n, 2] / values[d, 3]
        most_t, most_y = max(most_t, own_t), max(most_y, own_y)
        own_t, own_y = own_t / scale[n, 0], own_y / scale[n, 1]
        weight[n, 0], weight[n, 1] = own_t, own_y
        heat_t += capacity[n, 0] * own_t
        heat_y += capacity[n, 1] * own_y
        water_y += capacity[n, 2] * own_y
    share_y = water / water_y if water_y < 0.0 else 0.0
    if water_y >= 0.0 and water != 0.0:
        return False
    heat -= heat_y * share_y
    share_t = heat / heat_t if heat_t > 0.0 else 0.0
    if heat_t <= 0.0 and heat != 0.0:
        return False
    if not (ease * abs(share_t) * most_t <= most and abs(share_y) * most_y <= most):
        return False
    for n in range(temperature.size):
        dt, dy = share_t * weight[n, 0], share_y * weight[n, 1]
        temperature[n] -= dt
        potential[n] -= dy
        storage[n, 0] -= capacity[n, 0] * dt + capacity[n, 1] * dy
        storage[n, 1] -= capacity[n, 2] * dy
    return True


@kernel
def at_rest(residual, heat_bound, water_bound, rate, share):
    """Whether all residuals are below a share of rate * bound."""
    for n in range(residual.shape[0]):
        if abs(residual[n, 0]) > share * rate * heat_bound[n, 0]:
            return False
        if abs(residual[n, 1]) > share * rate * water_bound[n]:
            return False
    return True
