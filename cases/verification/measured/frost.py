"""Measured in the field: frost in soil under grass and snow, from January to May 2020.

Stations, weather and soil are those of `measured_ground`: hours made from the measured days, default loam, grass.  Snow
follows a degree-day model; that snow lay is inferred, its depth was not measured.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import ABOVE, Comparison, compare, sign
from stemwall.cases.verification.measured.ground import NETWORK, Soil, soil_at

Floats = NDArray[np.float64]

#: soil colder than this is counted as frozen [degC]
FROZEN = -0.1
#: of a depth: share of what was measured, and no less than this [m]; a judgement, no published limit
SHARE, LEAST = 0.25, 0.1
#: stations where snow lay, by the precipitation of the winter, and where there was next to none, with their places
SNOWY = (("sandstone_mn", "Sandstone MN"), ("ithaca_ny", "Ithaca NY"))
BARE = (("northwest_nd", "North-west ND"), ("durham_nc", "Durham NC"))

TOO_COLD = (
    "frost comes out too deep, and the ground too cold by 4 to 10 K in its coldest days.  The snow is that of a "
    "degree-day model, rain and snow of a day being spread over its hours; that snow was there is inferred, its depth "
    "was not measured"
)
TOO_DEEP = (
    "Sandstone freezes to 0.8 m, nothing was frozen there.  How deep the snow lay was not measured; the model gives "
    "0.12 m in January and February, from daily sums of precipitation.  What lay at New Year it has from the end of "
    "2020, since the year repeats, and not from the autumn before.  Without any snow it freezes beyond 1 m"
)


def _lowest(daily: Floats) -> Floats:
    """Lowest daily means of January to May at each depth [degC], of the first days of a year, (days, depths)."""
    return np.asarray(np.nanmin(daily[:152], axis=0))


def frost_depth(depths: Floats, lowest: Floats) -> float:
    """Return where the lowest temperatures pass `FROZEN` [m].

    Parameters
    ----------
    depths : ndarray
        Rising [m], (n,).
    lowest : ndarray
        Lowest temperature at each [degC], (n,).

    Returns
    -------
    float
        Between the deepest that froze and the next, linearly; 0 if the first did not, the last depth, a lower bound,
        if that did.
    """
    frozen = np.flatnonzero(lowest < FROZEN)
    if frozen.size == 0 or frozen[-1] == depths.size - 1:
        return float(depths[-1]) if frozen.size else 0.0
    pair = slice(frozen[-1], frozen[-1] + 2)
    return float(np.interp(FROZEN, lowest[pair], depths[pair]))


def coldest_days() -> list[Comparison]:
    """Lowest daily means of January to May 2020 at 5 to 100 cm in Minnesota and North Dakota, with and without snow.

    A frost-free ground under the snow of Sandstone (0 cm of frost at 561 K d of frost), frost beyond 1 m without snow
    to speak of in North Dakota: without snow the model must freeze deeper than with it, and be colder than measured.
    """
    comparisons = []
    for station, title in (SNOWY[0], BARE[0]):
        covered, bare = (soil_at(station, snow=snow) for snow in (True, False))
        lowest = [_lowest(values) for values in (covered.computed, bare.computed, covered.measured)]
        comparisons += [
            compare(title, NETWORK, "lowest daily mean [°C]", covered.depths, lowest[0], lowest[2], 1.5,
                    axis="depth [m]", extra={"computed without snow, 5 cm [°C]": float(lowest[1][0])}),
            sign(f"{title}, with snow against without", NETWORK, "lowest daily mean [°C]", lowest[0], ABOVE, lowest[1],
                 points=covered.depths, axis="depth [m]"),
        ]  # fmt: skip
    return comparisons


def depth_of_frost() -> list[Comparison]:
    """Depth of frost from January to May 2020: where the lowest daily means at 5 to 100 cm pass -0.1 °C.

    Computed and measured in the same way, from the same depths: beyond 100 cm both are 100 cm, a lower bound, which is
    all that North-west ND says.  Within a quarter of what was measured or 0.1 m, whichever is more.  Without its snow
    the model must freeze 0.5 m and more too deep where snow lay.
    """
    found, quantity = [], "depth of frost [m]"
    for station, title in SNOWY + BARE:
        own, seen = _depths(soil_at(station))
        alone = {"computed without snow [m]": _depths(soil_at(station, snow=False))[0]}
        found.append(compare(title, NETWORK, quantity, [0], own, seen, max(SHARE * seen, LEAST), extra=alone))
    bare = np.array([_depths(soil_at(station, snow=False)) for station, _ in SNOWY])
    found.append(sign("Without snow, where it lay", NETWORK, quantity, bare[:, 0], ABOVE, bare[:, 1], 0.5,
                      axis="station"))  # fmt: skip
    return found


def _depths(soil: Soil) -> tuple[float, float]:
    """Depth of frost, computed and measured [m]."""
    return frost_depth(soil.depths, _lowest(soil.computed)), frost_depth(soil.depths, _lowest(soil.measured))
