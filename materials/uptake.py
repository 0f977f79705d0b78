"""Free uptake of water as the test of partial immersion does it, by its similarity solution.

A specimen in equilibrium with a start humidity touches water of its own temperature. Vapour and liquid
flow down one suction, so the water content is a function of x / sqrt(t) alone and what is taken up is
A sqrt(t). The share F(w) of the flow at the surface that passes where the content is w obeys

    F(w) = 1 - 2/A^2 integral from w to w_f of (v - w) k / F dp_c,   A^2 = 2 integral of (w - w_i) k / F dp_c,

from the start content w_i to saturation w_f, with k the sum of both transports, both per suction [1]_. It is
iterated to convergence here; no step in time or space is taken.

References
----------
.. [1] McWhorter, D. B., Sunada, D. K. (1990), Water Resour. Res. 26, 399-413; Philip, J. R. (1973), Soil Sci.
   116, 328-335: the flux-concentration relation (from memory, to be checked; tested against integrated uptake).
.. [2] EN ISO 15148:2002: water absorption coefficient by partial immersion; conditioning at 23 degC, 50 % RH.
"""

import numpy as np

from stemwall.materials.liquid import LiquidModel
from stemwall.materials.storage import Storage
from stemwall.materials.vapour import VapourModel
from stemwall.materials.water import (
    GAS_CONSTANT,
    REFERENCE_TEMPERATURE,
    VAPOUR_EXPONENT,
    WATER_DENSITY,
    ZERO_CELSIUS,
    FloatArray,
    fluidity_ratio,
    humidity_from_suction,
    saturation_pressure,
    suction_from_humidity,
)

TEST_HUMIDITY, TEST_TEMPERATURE = 0.50, 23.0
"""Conditioning of the specimens: relative humidity [-] and temperature [degC] [2]_."""
WETTEST = 1.0
"""Suction below which what is taken up does not change any more [Pa]."""
POINTS = 480
"""Suctions, evenly spaced in their logarithm."""
SETTLED, ROUNDS = 1e-4, 60
"""Relative change of A^2 at which the iteration ends, and its greatest length."""


def vapour_per_suction(vapour: VapourModel, storage: Storage, suction: FloatArray, temperature: float) -> FloatArray:
    """Vapour flow down a gradient of suction, at one temperature [degC] [s]."""
    kelvin = temperature + ZERO_CELSIUS
    warmth = (kelvin / (REFERENCE_TEMPERATURE + ZERO_CELSIUS)) ** VAPOUR_EXPONENT
    pressure = saturation_pressure(temperature) * humidity_from_suction(suction, temperature)
    fall = pressure / (WATER_DENSITY * GAS_CONSTANT * kelvin)
    return np.asarray(vapour.permeability(suction, storage) * warmth * fall)


def uptake_coefficient(
    liquid: LiquidModel,
    vapour: VapourModel,
    storage: Storage,
    humidity: float = TEST_HUMIDITY,
    temperature: float = TEST_TEMPERATURE,
) -> float:
    """Water absorption coefficient A [kg/(m2 s^0.5)] that the test returns.

    Parameters
    ----------
    liquid, vapour, storage
        Models of the material; liquid flow follows the viscosity of water.
    humidity : float
        Start [-].
    temperature : float
        [degC].
    """
    driest = float(suction_from_humidity(humidity, temperature))
    p_c = np.geomspace(WETTEST, driest, POINTS)
    k = liquid.conductivity(p_c, storage) * float(fluidity_ratio(temperature))
    k = k + vapour_per_suction(vapour, storage, p_c, temperature)
    water = storage.water(p_c)
    over, step = water - water[-1], 0.5 * np.diff(np.log(p_c))
    share, square = over / over[0], 0.0
    for _ in range(ROUNDS):
        flow = k * p_c / np.maximum(share, 1e-9)
        pieces = np.stack([flow, over * flow])
        sums = np.zeros_like(pieces)
        np.cumsum((pieces[:, 1:] + pieces[:, :-1]) * step, axis=1, out=sums[:, 1:])
        before, square = square, 2.0 * float(sums[1, -1])
        new = 1.0 - 2.0 / square * (sums[1] - over * sums[0])
        share = np.sqrt(np.maximum(share * new, 0.0))
        if abs(square - before) < SETTLED * square:
            break
    return float(np.sqrt(square))
