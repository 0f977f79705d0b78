"""The air of the spaces that a detail has, where a case does not say what it is."""

from __future__ import annotations

from collections.abc import Mapping

from stemwall.cases.inputs.field_types import PRACTICE
from stemwall.cases.surroundings.air_zone import VentTable, ZoneTable
from stemwall.cases.surroundings.indoor_air import Air

HOUSE, CRAWLSPACE, BASEMENT = "house", "crawlspace", "basement"

#: given air of a space, as a case file writes it: the house, and a basement below it
GIVEN: dict[str, dict[str, dict[str, str]]] = {
    HOUSE: {
        "temperature": {"winter": "68 degF", "summer": "75 degF"},
        "humidity": {"winter": "35 %", "summer": "55 %"},
    },
    BASEMENT: {
        "temperature": {"winter": "63 degF", "summer": "72 degF"},
        "humidity": {"winter": "45 %", "summer": "60 %"},
    },
}
#: the space below the floor of each detail, and its air where that is computed
SPACES: dict[str, tuple[str, ZoneTable | None]] = {
    # house air as asked for of unvented crawlspaces, a sealed rim, no vents
    "conditioned crawlspace": (CRAWLSPACE, ZoneTable(supply=1e-4, outdoor_leakage=0.05)),
    "vented crawlspace": (CRAWLSPACE, ZoneTable(vents=VentTable())),
    "basement": (BASEMENT, None),
    "insulated concrete form wall": (BASEMENT, None),
}
REASON = f"no air stated; {PRACTICE}"


def spaces_of(kind: str) -> tuple[str, ...]:
    """Return the spaces of a detail."""
    return (HOUSE, SPACES[kind][0]) if kind in SPACES else (HOUSE,)


def unstated(kind: str, stated: Mapping[str, object]) -> tuple[dict[str, Air], dict[str, ZoneTable]]:
    """Return the given and the computed air of those spaces of a detail that are not among the stated ones.

    Raises
    ------
    ValueError
        If one is missing while another is stated that the detail does not have: most likely the same, misspelt.
    """
    known = spaces_of(kind)
    missing, foreign = [key for key in known if key not in stated], [key for key in stated if key not in known]
    if missing and foreign:
        raise ValueError(f"the air of {' and '.join(known)} alone, not of {', '.join(map(repr, foreign))}")
    zone = SPACES.get(kind, ("", None))[1]
    computed = {key: zone for key in missing if zone is not None and key != HOUSE}
    return {key: Air.model_validate(GIVEN[key]) for key in missing if key not in computed}, computed
