"""Damped updates of the unknowns (N5)."""

from __future__ import annotations

from stemwall.solver.kernels.physics.enthalpy import MAX_TEMPERATURE_UPDATE, invert_enthalpy
from stemwall.solver.kernels.physics.linearised_state import update_state
from stemwall.solver.kernels.support.jit import kernel
from stemwall.solver.kernels.support.layout import DRIEST_POTENTIAL, Y1

#: farthest that a potential in the capillary range, and one beyond it, moves in one update
MAX_CAPILLARY_UPDATE, MAX_STEP_OUT_OF_DRY = 2.0, 1.0
#: farthest that the potential of a full node falls in one update beyond twice where it was: a thousand bar; less keeps
#: dry faces under water from being wetted; no source
MAX_PRESSURE_UPDATE = 1e6
#: potential to which a full node dries at most in one update
MAX_DRYING = 1.0
#: how far a node goes past the kink of its uptake, drying and wetting
KINK_MARGIN_DRYING, KINK_MARGIN_WETTING = 0.2, 0.01
#: a node whose update has the other sign than that before goes at most this share of it
OSCILLATION_FACTOR = 0.5
#: a node whose heat capacity fell below this share of that in the Jacobian has to be looked at again
CAPACITY_DROP = 0.5
#: in place of the number of such nodes: the iteration did not converge
DIVERGED = -1


@kernel
def damped_update(nodes, u, rate, update, previous, kink, storage, jacobian, damping):
    """Take an update (N, 2) from some nodes, damped; returns how many freezing nodes are listed.

    Temperatures move by at most `MAX_TEMPERATURE_UPDATE`.  In the capillary range (0 < y < Y1) the potential moves by
    at most `MAX_CAPILLARY_UPDATE`, and nowhere from saturation or from the dry branch to the other end at once.

    A face in the rain takes up all of it down to the kink of its uptake and refuses some below: on this side a change
    of the potential changes little, on that much, and what is foreseen on one side says nothing of the other.  A node
    is stopped close to the kink.  A conductivity that falls steeply near saturation does the same without a kink: a
    node that turns back goes at most `OSCILLATION_FACTOR` times as far as in its ``previous`` update (N,), zero at the
    beginning of an iteration; an empty array holds none back.

    Nodes that are or get below 0 degC are listed with where they were and what storage and own flow of heat should
    come to by the linearised balance, see `physics.enthalpy.invert_enthalpy`.
    """
    temperature, potential = u.temperature, u.potential
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        before = potential[n]
        after = _limited(before, before - update[n, 1], kink[n])
        if previous.size > 0:
            if (after - before) * previous[n] < 0.0 and max(before, after) > 0.0:
                most = OSCILLATION_FACTOR * abs(previous[n])
                after = min(max(after, before - most), before + most)
            previous[n] = after - before
        potential[n] = after
        t = temperature[n]
        dt = min(max(-update[n, 0], -MAX_TEMPERATURE_UPDATE), MAX_TEMPERATURE_UPDATE)
        temperature[n] = t + dt
        if min(t, t + dt) < 0.0:
            damping.freezing_nodes[count] = n
            count += 1
            _set_target(n, t, dt, after - before, rate, storage, jacobian, damping)
    return count


@kernel
def _limited(before, after, kink):
    """The potential after an update, within the range that its linearisation is good for."""
    if before < 0.0:
        after = min(max(after, 2.0 * before - MAX_PRESSURE_UPDATE), min(kink + KINK_MARGIN_DRYING, MAX_DRYING))
    elif before < Y1:
        after = min(max(after, before - MAX_CAPILLARY_UPDATE), before + MAX_CAPILLARY_UPDATE)
        if before > kink:
            after = max(after, kink - KINK_MARGIN_WETTING)
    elif after < Y1 - MAX_STEP_OUT_OF_DRY:
        after = Y1 - MAX_STEP_OUT_OF_DRY
    return min(after, DRIEST_POTENTIAL)


@kernel
def _set_target(n, t, dt, dy, rate, storage, jacobian, damping):
    """Note of a freezing node where it was, and its storage and own flow of heat by the linearised balance."""
    capacity = damping.capacity
    own = max(jacobian.blocks[jacobian.diagonal[n], 0] - rate * capacity[n, 0], 0.0)
    held = storage[n, 0] + capacity[n, 0] * dt + capacity[n, 1] * dy
    damping.target[n] = rate * held + own * (t + dt)
    damping.temperature_before[n] = t


@kernel
def capacity_dropped(nodes, capacity, before):
    """Number of nodes that hold less heat per kelvin than a share of what the Jacobian was told."""
    count = 0
    for number in range(nodes.size):
        n = nodes[number]
        if capacity[n, 0] < CAPACITY_DROP * before[n, 0]:
            count += 1
    return count


@kernel
def apply_update(nodes, u, rate, previous, p):
    """Take the update from some nodes, damped, and bring their state to it; freezing ones invert their enthalpy.

    Returns how many nodes hold so much less heat per kelvin now that the Jacobian misleads.
    """
    state, newton, damping, freezing = p.state, p.newton, p.damping, p.tables.freezing
    count = damped_update(
        nodes, u, rate, newton.update, previous, p.balance.uptake_kink, state.storage, p.jacobian, damping
    )
    if freezing:
        invert_enthalpy(count, u, rate, newton.weights, p.volumes, p.tables, p.jacobian, damping)
    update_state(nodes, u, newton.weights, newton.listed, p.volumes, p.tables, state)
    return capacity_dropped(nodes, state.capacity, damping.capacity) if freezing and count > 0 else 0
