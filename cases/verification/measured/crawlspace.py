"""Measured in the field: what bare ground gives to a crawlspace whose air is computed."""

from __future__ import annotations

import numpy as np

from stemwall.cases.verification.comparison import ABOVE, BELOW, Comparison, compare, sign
from stemwall.cases.verification.rules_of_practice.runs import SUMMER, VENTED, run

KURNITSKI = "Kurnitski 2001, Building and Environment 36, bare ground 86 to 137 g/(m2 d) (second-hand)"
AIR_CHANGE = "Kurnitski 2000, Energy and Buildings 32, abstract: more air change, more evaporation (read)"
WETTER = "crawlspaces in New Zealand, 400 g/(m2 d) on wetter and warmer sites (second-hand)"
EARTH = "crawlspace | native soil, up"
#: the embedded year made about as warm as southern Finland [K]
COLDER = -9.0
RATES = (0.5, 1.0, 3.0)

TOO_MUCH = (
    "more evaporates than was measured.  The air of the computed crawlspace is at 17 to 19 °C from June to August, "
    "that over the measured ground at 10 to 14 °C: the embedded year made colder is no Finnish summer, and the floor "
    "above gives more heat"
)


def evaporation() -> list[Comparison]:
    """Evaporation of bare ground from June to August at 0.5, 1 and 3 air changes an hour, and what it must not exceed.

    A crawlspace without vents over bare loam, its air computed, in the embedded year 9 K colder.  At 1 to 3 air
    changes 60 to 160 g/(m2 d) are expected over ground of 10 to 14 °C; evaporation must rise with the air change.
    """
    given = []
    for rate in RATES:
        data = run(
            VENTED, SUMMER, {
                "detail.earth.ground_cover": False, "zone.crawlspace.vents": False,
                "zone.crawlspace.outdoor_leakage": rate,
            }, warmer=COLDER,
        )  # fmt: skip
        surface = [str(name) for name in data["surface"].values].index(EARTH)
        summer = np.isin(data["time"].dt.month.values, (6, 7, 8))
        flow = -data["vapour_flow"].values[summer, surface].mean() / float(data["surface_length"].values[surface])
        given.append(1000.0 * 86400.0 * flow)
    quantity, axis = "evaporation [g/(m2 d)]", "air change [1/h]"
    return [
        sign("More air, against less", AIR_CHANGE, quantity, given[1:], ABOVE, given[:-1], 1.0,
             points=RATES[1:], axis=axis),
        sign("At most", WETTER, quantity, given, BELOW, [400.0] * 3, points=RATES, axis=axis),
        compare("At 1 and 3 air changes", KURNITSKI, quantity, RATES[1:], given[1:], [110.0] * 2, 50.0, axis=axis),
    ]  # fmt: skip
