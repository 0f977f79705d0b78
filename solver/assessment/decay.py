"""Decay of wood: how far the fungi are from activity, and the mass lost once they are active.

Activation runs from 0 to 1 in wet and warm hours and recedes, over two years
from full to none, in all others.  Mass is lost only while activation is 1.

Choices: the fits are held at their value for 30 degC above it; where the
critical time of the fit is not positive (within about 1 K of freezing at 95 %)
the fungi neither gain nor recede; a negative loss rate is zero.

References
----------
.. [1] Viitanen, H. et al. (2010). Towards modelling of decay risk of wooden materials.
   European Journal of Wood and Wood Products 68, 303-313 (equations from memory,
   to be checked).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from stemwall.solver.assessment.series_statistics import BoolArray, as_places, checked
from stemwall.solver.kernels.support.jit import kept_function
from stemwall.solver.model.arrays import Floats

#: The fits are held constant above this temperature [degC] (own choice; tests reached about 30).
HOTTEST_FIT = 30.0
#: Hours from full activation to none in unfavourable conditions, two years [1]_.
RECOVERY_HOURS = 17520.0


class Decay(NamedTuple):
    """Hourly activation [-] and mass loss [% dry mass], in the shape of the input."""

    activation: Floats
    mass_loss: Floats


def critical_hours(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Hours from no to full activation at constant conditions; inf where activation does not rise.

    Parameters
    ----------
    temperature, relative_humidity : array_like
        Temperature [degC] and relative humidity [-].
    """
    t, humidity = checked(temperature, relative_humidity)
    t, rh = np.minimum(t, HOTTEST_FIT), 100.0 * humidity
    pace = -42.9 + 0.14 * t + 0.45 * rh
    rises = _favourable(t, humidity) & (pace > 0.0)
    months = (2.3 * t + 0.035 * rh - 0.024 * t * rh) / np.where(rises, pace, 1.0)
    critical: Floats = np.where(rises, 30.0 * 24.0 * months, np.inf)
    return critical


def loss_rate(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Mass loss of active decay [% dry mass per h]; zero where it is too dry or frozen."""
    t, humidity = checked(temperature, relative_humidity)
    rate = -5.96e-2 + 1.96e-4 * np.minimum(t, HOTTEST_FIT) + 6.25e-4 * 100.0 * humidity
    loss: Floats = np.where(_favourable(t, humidity), np.maximum(rate, 0.0), 0.0)
    return loss


def decay(temperature: ArrayLike, relative_humidity: ArrayLike, *, initial: float = 0.0, step: float = 1.0) -> Decay:
    """Activation and mass loss of pine sapwood at the end of every step [1]_.

    Parameters
    ----------
    temperature, relative_humidity : array_like, shape (time,) or (time, place)
        Temperature [degC] and relative humidity [-] of the wood.
    initial : float
        Activation before the first step [-].
    step : float
        Length of a step [h].
    """
    t, humidity = checked(temperature, relative_humidity)
    recedes = ~_favourable(t, humidity)
    change = np.where(recedes, -1.0 / RECOVERY_HOURS, 1.0 / critical_hours(t, humidity)) * step
    loss = as_places(loss_rate(t, humidity) * step)
    activation, mass_loss = np.empty_like(loss), np.empty_like(loss)
    _march(as_places(change), loss, initial, activation, mass_loss)
    return Decay(activation.reshape(t.shape), mass_loss.reshape(t.shape))


def _favourable(t: Floats, humidity: Floats) -> BoolArray:
    return (t > 0.0) & (humidity >= 0.95)


@kept_function
def _march(change: Floats, loss: Floats, initial: float, activation: Floats, mass_loss: Floats) -> None:
    """Fill activation and mass_loss[time, place] from the change and the loss per step."""
    for place in range(change.shape[1]):
        active, lost = initial, 0.0
        for hour in range(change.shape[0]):
            if active >= 1.0:
                lost = min(lost + loss[hour, place], 100.0)
            active = min(max(active + change[hour, place], 0.0), 1.0)
            activation[hour, place] = active
            mass_loss[hour, place] = lost
