"""Benchmark 5 of HAMSTAD as recalled: brick wall with capillary-active insulation inside."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import Comparison
from stemwall.cases.verification.coupled.hamstad_parts import DAY, PAPER, REFERENCE, Constants, Wall
from stemwall.cases.verification.coupled.hamstad_readings import (
    HEAT,
    HUMIDITY,
    TEMPERATURE,
    VAPOUR,
    WATER,
    Limits,
    Readings,
    Wanted,
    closure,
    judge,
)
from stemwall.cases.verification.references.physics import Air, log_suction, saturation
from stemwall.solver.model.settings import Accuracy

SOURCE = f"{PAPER}, benchmark 5 (definition from memory, not confirmed against the paper); {REFERENCE}"
PER_METRE = 1.0 / (1000.0 * 9.81)
"""Suctions of the definition are in metres of water."""


def _modes(*modes: tuple[float, float, float]) -> tuple[tuple[float, float, float, float], ...]:
    """(weight, alpha [1/m], n) with m = 1 - 1/n."""
    return tuple((weight, alpha * PER_METRE, n, 1.0 - 1.0 / n) for weight, alpha, n in modes)


def _per_kilogram(*coefficients: float) -> tuple[float, ...]:
    """Coefficients in w / 1000 turned into coefficients in w."""
    return tuple(c / 1000.0**k for k, c in enumerate(coefficients))


BRICK = Constants(
    density=1600.0,
    specific_heat=1000.0,
    saturation=373.5,
    modes=_modes((0.46, 0.47, 1.5), (0.54, 0.2, 3.8)),
    resistance=7.5,
    shape=0.2,
    conductivity=(0.682, 0.0),
    liquid=_per_kilogram(-36.484, 461.325, -5240.0, 2.907e4, -7.41e4, 6.997e4),
)
MORTAR = Constants(
    density=230.0,
    specific_heat=920.0,
    saturation=700.0,
    modes=_modes((0.2, 0.5, 1.5), (0.8, 0.004, 3.8)),
    resistance=50.0,
    shape=0.2,
    conductivity=(0.6, 0.0),
    liquid=_per_kilogram(-40.425, 83.319, -175.961, 123.863),
)
INSULATION = Constants(
    density=212.0,
    specific_heat=1000.0,
    saturation=871.0,
    modes=_modes((0.41, 0.006, 2.5), (0.59, 0.012, 2.4)),
    resistance=5.6,
    shape=0.2,
    conductivity=(0.06, 0.0),
    liquid=_per_kilogram(-46.245, 294.506, -1439.0, 3249.0, -3370.0, 1305.0),
)


def wall() -> Wall:
    """0.365 m brick, 0.015 m mortar, 0.040 m insulation between 0 degC, 80 % and 20 degC, 60 %."""
    outdoors, indoors = 0.8 * float(saturation(0.0)[0]), 0.6 * float(saturation(20.0)[0])
    ends = (
        Air(lambda t: 0.0, 25.0, lambda t: outdoors, 1.8382e-7),
        Air(lambda t: 20.0, 8.0, lambda t: indoors, 5.8823e-8),
    )
    layers = (("brick", BRICK, 0.365), ("mortar", MORTAR, 0.015), ("insulation", INSULATION, 0.040))
    return Wall(layers, ends, (25.0, (log_suction(0.6, 25.0),) * 3))


def inside_insulation() -> list[Comparison]:
    """HAMSTAD benchmark 5 as recalled: 60 days of moisture redistribution behind capillary-active inside insulation.

    Brick 0.365 m, mortar 0.015 m and insulation 0.040 m, dry and warm at the start (25 degC, 60 %), between
    0 degC, 80 % and 20 degC, 60 %.  Recalled from memory; not confirmed against the paper: retention curves,
    polynomials of ln K, vapour permeabilities and films.  Not at hand: the published curves and the bands of the
    participants, so nothing is compared with them.  The recalled K of brick is implausibly high at saturation;
    brick stays below 6 kg/m3 here, where that does not matter.

    Limits: 0.01 K, 0.1 % RH, and of the range of water 0.5 %, heat 0.1 %, vapour 0.2 %: what is left on this mesh
    and some room; halving the cells divides it by about four.
    """
    places = np.array([0, 50, 100, 200, 300, 350, 360, 365, 370, 375, 380, 383, 386, 389, 392, 396, 400, 410, 420])
    days = np.array([1.0, 2, 4, 7, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60])
    readings = Readings(wall(), places / 1000, days * DAY)
    accuracy = Accuracy(temperature=0.002, humidity=1e-4, saturation=1e-4)
    computed, bench = readings.solver((60, 24, 48), accuracy)
    plain = readings.plain((60, 24, 48))
    coarse, _ = readings.solver((30, 12, 24), accuracy)
    wanted = (
        Wanted(TEMPERATURE, "60 d", None),
        Wanted(HUMIDITY, "60 d", None),
        Wanted(TEMPERATURE, "mortar on insulation", 10),
        Wanted(HUMIDITY, "mortar on insulation", 10),
        Wanted(WATER, "brick", 0),
        Wanted(WATER, "mortar", 1),
        Wanted(WATER, "insulation", 2),
        Wanted(HEAT),
        Wanted(VAPOUR),
    )
    expected = readings.reference((16, 6, 16)), readings.reference((8, 3, 8))
    limits = Limits(temperature=0.01, humidity=0.001, water=0.005, heat=0.001, vapour=0.002)
    name = "Capillary-active inside insulation"
    found = judge(name, SOURCE, readings, wanted, limits, (computed, coarse, plain), expected)
    return [*found, closure(name, bench)]
