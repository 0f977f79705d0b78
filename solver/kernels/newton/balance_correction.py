"""The sums of the balances closed at the end of a step (N8)."""

from __future__ import annotations

from stemwall.solver.kernels.newton.counts import UNBALANCED_STEPS
from stemwall.solver.kernels.support.jit import kernel

#: what temperatures count in it: their smooth errors go last
TEMPERATURE_WEIGHT = 0.1
#: a step may end when the residuals add up to this share of what flows through all surfaces ...
BALANCE_TOL_FLUX = 0.1
#: ... or of the water held and of ten kelvin of heat; then they are taken out of all nodes ...
BALANCE_TOL_STORAGE = 1e-8
TEN_KELVIN = 10.0
#: ... if that moves none by more than this share of its wanted local errors, more where sums are small or it is late
MAX_CORRECTION, MAX_LATE_CORRECTION = 3e-4, 1e-2
#: ... and that moved by more than this share of them in the step, if that suffices
STEADY_BELOW = 1e-3
#: updates after which sums that are not small may be closed by larger shifts (frost), and which are the last
LATE, LAST = 4, 10
#: water residual that a node may carry over a step, as a share of the water it holds
MAX_CARRIED_RESIDUAL = 0.1


@kernel
def close_balance(attempt, sums, start, u, rate, p):
    """Correct the global balance at the end of a step; False if Newton's iteration has to go on.

    No residual may be large against its own node's water: what is carried must never ask a nearly dry node for more
    than it has.  After some attempts the sums need not be small; a step whose sums stay open is not accepted.
    """
    heat, water, carried = sums
    storage, capacity, flows = p.state.storage, p.state.capacity, p.balance.flows
    weights, share = p.newton.weights, p.newton.spare
    still_heat, still_water, flowing_heat, flowing_water = 0.0, 0.0, 0.0, 0.0
    for n in range(storage.shape[0]):
        still_heat += capacity[n, 0]
        still_water += storage[n, 1]
    for k in range(flows.shape[0]):
        flowing_heat += abs(flows[k, 0])
        flowing_water += abs(flows[k, 1]) + abs(flows[k, 2])
    still_heat *= BALANCE_TOL_STORAGE * rate * TEN_KELVIN
    still_water *= BALANCE_TOL_STORAGE * rate
    still = abs(heat) <= still_heat and abs(water) <= still_water
    small = abs(heat) <= max(BALANCE_TOL_FLUX * flowing_heat, still_heat)
    small = small and abs(water) <= max(BALANCE_TOL_FLUX * flowing_water, still_water)
    late, last = attempt >= LATE, attempt >= LAST
    if carried > MAX_CARRIED_RESIDUAL or not (small or late):
        return False
    most = MAX_LATE_CORRECTION if still or late else MAX_CORRECTION
    excess = heat / rate, water / rate
    closed = correct_global_balance(excess, start, u, rate, (most, STEADY_BELOW), weights, share, p.state, p.jacobian)
    # nodes at rest are asked last, and late
    if late and not closed:
        closed = correct_global_balance(excess, start, u, rate, (most, 0.0), weights, share, p.state, p.jacobian)
    p.newton.counts[UNBALANCED_STEPS] += last and not closed and not still
    return closed or (last and still)


@kernel
def correct_global_balance(excess, start, u, rate, limits, weights, share, state, jacobian):
    """Distribute the sum of the residuals over many nodes at once.

    Every node gives the same share of its wanted error, less where it answers to its neighbours or to a surface more
    than to its own storage (the Jacobian says so): what flows must not notice; and less where it moved by less than a
    share ``steady`` since the start of the step: what is at rest stays there.  Storage follows by capacity.

    Parameters
    ----------
    excess : tuple of float
        Heat [J/m] and water [kg/m] that the state holds too much.
    start, u : Unknowns
        At the beginning of the step, and now; changed.
    rate : float
        Of the stage [1/s].
    limits : tuple of float
        Nothing is changed, and False returned, if a node would move by more than the first share of its wanted error,
        where temperatures count `TEMPERATURE_WEIGHT` times; the second is ``steady`` above, 0 to ask all nodes.
    weights, share : (N, 2)
        Error weights; work space.
    state, jacobian : MaterialState, Jacobian
        Of the problem; storage is changed.
    """
    heat, water = excess
    most, steady = limits
    temperature, potential = u.temperature, u.potential
    storage, capacity, blocks, diagonal = state.storage, state.capacity, jacobian.blocks, jacobian.diagonal
    heat_t, heat_y, water_y = 0.0, 0.0, 0.0
    most_t, most_y = 0.0, 0.0
    for n in range(temperature.size):
        d = diagonal[n]
        own_t = (
            _moved(temperature[n] - start.temperature[n], weights[n, 0], steady) * rate * capacity[n, 0] / blocks[d, 0]
        )
        own_y = _moved(potential[n] - start.potential[n], weights[n, 1], steady) * rate * capacity[n, 2] / blocks[d, 3]
        most_t, most_y = max(most_t, own_t), max(most_y, own_y)
        own_t, own_y = own_t / weights[n, 0], own_y / weights[n, 1]
        share[n, 0], share[n, 1] = own_t, own_y
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
    if not (TEMPERATURE_WEIGHT * abs(share_t) * most_t <= most and abs(share_y) * most_y <= most):
        return False
    for n in range(temperature.size):
        dt, dy = share_t * share[n, 0], share_y * share[n, 1]
        temperature[n] -= dt
        potential[n] -= dy
        storage[n, 0] -= capacity[n, 0] * dt + capacity[n, 1] * dy
        storage[n, 1] -= capacity[n, 2] * dy
    return True


@kernel
def _moved(change, weight, steady):
    """Share, at most one, of what counts as having moved in the step."""
    return min(abs(change) * weight / steady, 1.0) if steady > 0.0 else 1.0
