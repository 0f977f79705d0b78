"""Benchmark 1 of HAMSTAD as recalled, in a climate made for it: insulated roof, interstitial condensation."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

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
from stemwall.cases.verification.references.physics import Air
from stemwall.solver.model.settings import Accuracy

SOURCE = f"{PAPER}, benchmark 1 (construction from memory, not confirmed; climate our own); {REFERENCE}"
LOAD_BEARING = Constants(
    density=1824.0,
    specific_heat=1000.0,
    saturation=146.0,
    modes=((1.0, 8e-8, 1.6, 0.375),),
    resistance=200.0,
    shape=0.497,
    conductivity=(1.5, 15.8e-3),
    liquid=(-39.2619, 0.0704, -1.7420e-4, -2.7953e-6, -1.1566e-7, 2.5969e-9),
    centre=73.0,
)
INSULATION = Constants(
    density=73.8,
    specific_heat=1000.0,
    saturation=900.0,
    modes=((1.0, 2e-4, 2.0, 0.5),),
    resistance=9.6,
    shape=0.497,
    conductivity=(0.033, 0.59e-3),
)
START, WATER_AT_START = 10.0, (145.0, 0.065)


def _wave(time: float, period: float, peak: float) -> float:
    """Cosine with a period and a first peak in days."""
    return float(np.cos(2 * np.pi * (time / DAY - peak) / period))


def outdoor_temperature(time: float) -> float:
    """Equivalent outdoor temperature [degC]: -8 to 30, coldest in the third week, daily waves larger in summer."""
    year = _wave(time, 365.0, 200.0)
    weather = 3.0 * _wave(time, 6.1, 0.0) + 2.0 * _wave(time, 17.3, 4.0)
    return 8.0 + 9.0 * year + weather + (5.0 + 3.0 * year) * _wave(time, 1.0, 0.58)


def indoor_pressure(time: float) -> float:
    """Vapour pressure indoors [Pa]: 25 to 65 % at 20 degC."""
    return 1020.0 + 330.0 * _wave(time, 365.0, 200.0) + 80.0 * _wave(time, 9.7, 0.0) + 60.0 * _wave(time, 1.0, 0.8)


def _suction(constants: Constants, water: float) -> float:
    """ln p_c at which the material holds so much [kg/m3]."""
    water_at = constants.substance().water
    return float(brentq(lambda u: float(water_at(np.exp(u))) - water, np.log(1e2), np.log(5e8)))


def wall() -> Wall:
    """0.10 m load-bearing layer, vapour-tight outside; 0.05 m insulation inside."""
    layers = (("load-bearing", LOAD_BEARING, 0.10), ("insulation", INSULATION, 0.05))
    ends = (Air(outdoor_temperature, 25.0), Air(lambda t: 20.0, 7.0, indoor_pressure, 2e-8))
    start = [_suction(c, w) for c, w in zip((LOAD_BEARING, INSULATION), WATER_AT_START, strict=True)]
    return Wall(layers, ends, (START, start), crowding=2.6)


def roof() -> list[Comparison]:
    """Roof of HAMSTAD benchmark 1 as recalled, in a climate of our own: eight months, wet from the start.

    Load-bearing layer of 0.10 m, tight outside, with 0.05 m of insulation inside; it starts nearly saturated
    (145 kg/m3) in midwinter, water condenses between the layers until spring and dries to the room in summer.
    Recalled from memory; not confirmed against the paper: materials, films and start.  Not at hand: its hourly
    climate, its five years and the bands of the participants, so nothing is compared with them.  The climate is a
    sum of waves of a year, of weather and of a day.  No ice, as in the benchmark.

    The condensed water fills about a tenth of a millimetre of insulation, so that cells crowd there.  Limits:
    0.05 K, 0.5 % RH, and of the range of water and vapour 1 %, heat 0.3 %; halving the cells divides what is left
    by three or four.
    """
    readings = Readings(wall(), [0.0, 0.05, 0.10, 0.11, 0.15], np.arange(3.25, 240.0, 3.25) * DAY)
    accuracy = Accuracy(temperature=0.02, humidity=0.001, saturation=0.001)
    computed, bench = readings.solver((24, 48), accuracy)
    plain = readings.plain((24, 48))
    coarse, _ = readings.solver((12, 24), accuracy)
    expected = readings.reference((10, 20), tolerance=1e-5), readings.reference((5, 10), tolerance=1e-5)
    wanted = (
        Wanted(TEMPERATURE, "outer surface", 0),
        Wanted(TEMPERATURE, "interface", 2),
        Wanted(TEMPERATURE, "10 mm into the insulation", 3),
        Wanted(HUMIDITY, "middle of the load-bearing layer", 1),
        Wanted(HUMIDITY, "interface", 2),
        Wanted(HUMIDITY, "10 mm into the insulation", 3),
        Wanted(WATER, "load-bearing layer", 0),
        Wanted(WATER, "insulation", 1),
        Wanted(HEAT),
        Wanted(VAPOUR),
    )
    name = "Insulated roof"
    found = judge(name, SOURCE, readings, wanted, Limits(heat=0.003), (computed, coarse, plain), expected)
    return [*found, closure(name, bench)]
