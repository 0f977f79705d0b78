"""Rain and sun on a wall with a hygroscopic finish: invented, of the kind called response analysis."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.coupled.hamstad_parts import DAY, REFERENCE, THIN, Constants, Wall
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
from stemwall.cases.verification.rig import Bench
from stemwall.solver.model.settings import Accuracy

HOUR = 3600.0
SOURCE = f"invented case; {REFERENCE}"
FINISH = Constants(
    density=800.0,
    specific_heat=900.0,
    saturation=200.0,
    modes=((1.0, 2e-6, 1.3, 1.0 - 1.0 / 1.3),),
    resistance=5.0,
    shape=0.5,
    conductivity=(0.2, 4.5e-3),
    liquid=(-34.0, 0.17, -5e-4),
)
MASONRY = Constants(
    density=2000.0,
    specific_heat=850.0,
    saturation=160.0,
    modes=((1.0, 1.2e-5, 1.65, 1.0 - 1.0 / 1.65),),
    resistance=30.0,
    shape=0.5,
    conductivity=(0.5, 4.5e-3),
    liquid=(-35.0, 0.16, -5e-4),
)
#: begin and end [h], peak [mm/h]
RAINS = ((20.0, 28.0, 3.0), (52.0, 56.0, 6.0), (70.0, 82.0, 2.0))


def _pulse(hour: float, begin: float, end: float) -> float:
    """Squared sine between two hours, zero elsewhere."""
    return float(np.sin(np.pi * (hour - begin) / (end - begin)) ** 2) if begin < hour < end else 0.0


def rain(time: float) -> float:
    """Water offered [kg/(m2 s)]."""
    return sum(peak * _pulse(time / HOUR, begin, end) for begin, end, peak in RAINS) / HOUR


def sun(time: float) -> float:
    """Absorbed sun [W/m2]: weak for three days, then strong."""
    return (450.0 if time > 3 * DAY else 150.0) * _pulse(time / HOUR % 24.0, 6.0, 18.0)


def outdoor_temperature(time: float) -> float:
    """[degC], coldest at 3 h."""
    return 10.0 - 4.0 * float(np.cos(2 * np.pi * (time / HOUR - 3.0) / 24.0))


def wall() -> Wall:
    """0.02 m finish on 0.10 m masonry, 10 degC and the humidity of 80 % outdoors, 20 degC and 50 % indoors."""
    outdoors, indoors = 0.8 * float(saturation(10.0)[0]), 0.5 * float(saturation(20.0)[0])
    ends = (
        Air(outdoor_temperature, 25.0, lambda t: outdoors, 2e-7, sun, rain, 1e-5),
        Air(lambda t: 20.0, 8.0, lambda t: indoors, 3e-8),
    )
    return Wall((("finish", FINISH, 0.02), ("masonry", MASONRY, 0.10)), ends, (15.0, (log_suction(0.6, 15.0),) * 2))


def rain_on_wall() -> list[Comparison]:
    """Three rains and strong sun on a thin absorbent finish, six days: an invented case of response analysis.

    Benchmark 4 of HAMSTAD is of this kind but could not be recalled well enough to be posed.  Finish of 0.02 m on
    masonry of 0.10 m; 36 mm of rain, of which the face takes at most 1e-5 kg/(m2 s Pa) times its suction and
    refuses the rest.

    Limits: 0.02 K, 0.2 % RH, and of the range of water 0.3 %, heat and vapour 1 %: some two to five times what is
    left on this mesh.
    """
    readings = Readings(wall(), [0.0, 0.01, 0.02, 0.04, 0.12], np.arange(3.0, 144.1, 3.0) * HOUR)
    accuracy = Accuracy(temperature=0.002, humidity=1e-4, saturation=1e-4, longest_step=300.0)
    computed, bench = readings.solver((32, 48), accuracy)
    plain = readings.plain((32, 48))
    coarse, _ = readings.solver((16, 24), accuracy)
    wanted = (
        Wanted(TEMPERATURE, "outer surface", 0),
        Wanted(TEMPERATURE, "finish on masonry", 2),
        Wanted(HUMIDITY, "outer surface", 0),
        Wanted(HUMIDITY, "finish on masonry", 2),
        Wanted(HUMIDITY, "20 mm into the masonry", 3),
        Wanted(WATER, "finish", 0),
        Wanted(WATER, "masonry", 1),
        Wanted(HEAT),
        Wanted(VAPOUR),
    )
    # low order and many elements: wet fronts are steep
    expected = readings.reference((60, 80), 2), readings.reference((30, 40), 2)
    name, limits = "Rain on a wall", Limits(temperature=0.02, humidity=0.002, water=0.003)
    found = judge(name, SOURCE, readings, wanted, limits, (computed, coarse, plain), expected)
    return [*found, _account(name, bench), closure(name, bench)]


def _account(name: str, bench: Bench) -> Comparison:
    """Rain that entered and rain that was refused against rain that fell."""
    left = [s.climate for s in bench.network.surfaces].index("left")
    entered, refused = bench.entered[left, 2] / THIN, float(bench.integrator.through[left, 3]) / THIN
    fell = sum(peak * (end - begin) / 2 for begin, end, peak in RAINS)
    extra = {"entered [kg/m²]": float(entered), "refused [kg/m²]": refused}
    source = "integral of the rain"
    return compare(
        name, source, "entered and refused [kg/m²]", 0.0, entered + refused, fell, 1e-3, RELATIVE, extra=extra
    )
