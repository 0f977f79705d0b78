"""Liquid and vapour laws together: one count of the cups, one uptake test, two services of cement-bound materials.

A cup test measures both transports, and so does an uptake test. Liquid takes what the uptake test leaves to it
after vapour, and vapour what the cups leave to it after liquid; both tests then return what was stated.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stemwall.materials.liquid import Absorption, LiquidModel, cup_share, fit_absorption
from stemwall.materials.storage import Storage
from stemwall.materials.uptake import TEST_HUMIDITY, TEST_TEMPERATURE, uptake_coefficient
from stemwall.materials.vapour import Cup, VapourModel, fit_cups
from stemwall.materials.water import suction_from_humidity

AGREED, ROUNDS = 1e-3, 12
"""Relative error of the uptake coefficient that ends the fit, and the most rounds it may take."""


def vapour_beside(liquid: LiquidModel, storage: Storage, cups: Sequence[Cup], power: float) -> VapourModel:
    """Vapour law that returns the cups together with a liquid law.

    What liquid carries through each cup is taken off, at most down to the tightest of them.

    Raises
    ------
    ValueError
        When no permeability meets the cups, see `vapour.fit_cups`.
    """
    floor = min(cup.delta for cup in cups)
    left = []
    for cup in cups:
        share = cup_share(liquid, storage, cup.low, cup.high, cup.temperature)
        left.append(replace(cup, delta=max(cup.delta - share, min(floor, cup.delta * 0.99))))
    return fit_cups(left, power)


def fit_uptake(
    storage: Storage, coefficient: float, total: VapourModel, cups: Sequence[Cup], power: float
) -> tuple[Absorption, VapourModel]:
    """Capillary and vapour law of a material, from its uptake test and its cups.

    Both tests are computed as they are done: uptake from 50 % RH at 23 degC with vapour flowing, each cup
    between its own humidities at its own temperature. Without cups the vapour law stays as it is.

    Parameters
    ----------
    storage : Storage
        Moisture storage.
    coefficient : float
        A [kg/(m2 s^0.5)].
    total : VapourModel
        Permeability that the cups measured, or else that of vapour.
    cups : sequence of Cup
        May be empty.
    power : float
        Power of humidity of the vapour law.

    Raises
    ------
    ValueError
        When vapour alone takes up more than the coefficient says, or no permeability meets the cups.
    """
    wettest = max(cups, key=lambda cup: cup.high) if cups else Cup(0.0, 0.93, 0.0)
    dry, wet = total.permeability(suction_from_humidity(np.array([0.0, wettest.high])), storage)
    rise = float(wet - dry) if cups else 0.0
    start = float(storage.water(suction_from_humidity(TEST_HUMIDITY, TEST_TEMPERATURE)))
    square, found = coefficient**2, 0.0
    for _ in range(ROUNDS):
        alone = float(np.sqrt(square))
        liquid = fit_absorption(storage, alone, rise, wettest.high, start, wettest.temperature)
        vapour = vapour_beside(liquid, storage, cups, power) if cups else total
        found = uptake_coefficient(liquid, vapour, storage)
        if abs(found - coefficient) < AGREED * coefficient:
            return liquid, vapour
        square = max(square + coefficient**2 - found**2, square / 8.0)
    raise ValueError(f"a coefficient that leaves something to liquid; vapour alone takes up {found:.3g}")
