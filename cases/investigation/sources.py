"""Sources of moisture of a case: what they are called, whether the case has them, and the runs without them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stemwall.cases.case_file.case import Case
from stemwall.cases.case_file.read import parse_variant
from stemwall.cases.investigation.shares import Combination
from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.cases.setup.build import Setup
from stemwall.cases.setup.switched_off import footing_top, ground_below_floors
from stemwall.cases.surroundings.without import SEASONED, Without
from stemwall.weather.moistair import saturation_pressure


@dataclass(frozen=True)
class Source:
    """One source: its key in `[without]`, what it is called, and whether a case that was built has it."""

    key: str
    name: str
    acts: Callable[[Setup], bool]

    @property
    def how(self) -> str:
        """How it is switched off."""
        return Without.model_fields[self.key].description or ""


def _rains(setup: Setup) -> bool:
    facings = (loads for climate in setup.climates.values() for loads in climate.facings.values())
    return any(bool((loads.rain > 0.0).any()) for loads in facings)


def _rises(setup: Setup) -> bool:
    """Whether liquid passes anywhere between the footing and what stands on it."""
    breaks = [m for m in setup.section.membranes if m.liquid == "break" and m.y0 == m.y1]

    def stopped(x0: float, x1: float, y: float) -> bool:
        over = sorted((m.x0, m.x1) for m in breaks if abs(m.y0 - y) < 1e-6)
        reached = x0
        for low, high in over:
            if low <= reached + 1e-6:
                reached = max(reached, high)
        return reached >= x1 - 1e-6

    return not all(stopped(*line) for line in footing_top(setup.section, setup.materials))


def _given_moisture(setup: Setup) -> bool:
    """Whether given indoor air is moister than the outdoors at any hour, or moisture is produced in computed air."""
    if any(zone.moisture_gain is not None for zone in setup.environment.zones):
        return True
    outside = setup.climates.get(OUTDOORS)
    if outside is None:
        return False
    pressure = outside.relative_humidity * saturation_pressure(outside.temperature)
    indoors = (climate for key, climate in setup.climates.items() if key not in (OUTDOORS, BESIDE))
    return any(
        bool((climate.relative_humidity * saturation_pressure(climate.temperature) > pressure).any())
        for climate in indoors
    )


def _wet_start(setup: Setup) -> bool:
    """Whether parts other than soil start moister than seasoned, and years before the record do not undo that."""
    if setup.spin_up is not None and setup.spin_up.least_years != setup.spin_up.most_years:
        return False
    parts = [r for r in setup.section.regions if setup.materials[r.material].group != "soil"]
    start = setup.start_state.relative_humidity
    return any((start if part.initial_rh is None else part.initial_rh) > SEASONED for part in parts)


SOURCES = (
    Source("rain", "rain", _rains),
    Source("footing", "water rising out of the footing", _rises),
    Source(
        "ground_vapour",
        "moisture from the ground below the floor",
        lambda setup: bool(ground_below_floors(setup.section, setup.materials)),
    ),
    Source("summer_air", "moist summer outdoor air", lambda setup: OUTDOORS in setup.climates),
    Source("indoor_air", "moisture of indoor air", _given_moisture),
    Source("construction_water", "construction water", _wet_start),
    Source(
        "leaks",
        "leaks and floods",
        lambda setup: bool(
            any(np.any(source.rate > 0.0) for source in setup.environment.sources) or setup.environment.floods
        ),
    ),
    Source("joint_air", "air through joints", lambda setup: bool(setup.environment.air_paths)),
)
KEYS = tuple(source.key for source in SOURCES)


def present(setup: Setup, keys: Sequence[str] = KEYS) -> tuple[list[Source], list[Source]]:
    """Return the sources that a case has and has not, of those asked for; what is switched off already is neither."""
    off = setup.case.without.names
    asked = [source for source in SOURCES if source.key in keys and source.key not in off]
    return [s for s in asked if s.acts(setup)], [s for s in asked if not s.acts(setup)]


def in_list(words: Sequence[str], last: str = "and") -> str:
    """Return words as a list in a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""


def case_with(case: Case, sources: Sequence[Source], combination: Combination) -> Case:
    """Return the case with only some of its sources present; with all of them it is the case itself.

    Raises
    ------
    CaseError
        Never for a case that is valid.
    """
    away = [source for number, source in enumerate(sources) if number not in combination]
    if not away:
        return case
    name = f"without {in_list([source.key.replace('_', ' ') for source in away])}"
    if case.name != "base":
        name = f"{case.name}, {name}"
    change = {**case.change, **{f"without.{source.key}": True for source in away}}
    note = f"switched off: {in_list([source.name for source in away])}"
    return parse_variant(case.text, Path(case.folder, case.file), name, note, change)
