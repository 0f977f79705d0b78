"""What surrounds the section of a case beyond given climates: zones, leaks, floods and air paths, built and checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.case_file.case import Case
from stemwall.cases.inputs.input_errors import nearest
from stemwall.cases.section.eaves_strip import OUTDOORS
from stemwall.cases.section.section_checks import Painted, misplaced
from stemwall.cases.surroundings.air_path import opens_at
from stemwall.cases.surroundings.air_zone import air_zone
from stemwall.cases.surroundings.water_events import FloodTable, LeakTable
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Section
from stemwall.weather.year import WeatherYear

Location = tuple[str | int, ...]
#: (place, found, expected) of a problem
Trouble = tuple[Location, str, str]


def environment(
    case: Case, section: Section, climates: Mapping[str, Climate], year: WeatherYear, index: NDArray[np.int64]
) -> Environment:
    """Zones, water sources, air paths and floods of a case.

    Parameters
    ----------
    case : Case
        A case without troubles.
    section : Section
        Gives the size of the spaces.
    climates : mapping
        Given climates; the outdoors must be among them.
    year, index
        Weather, and the hour of it that each hour of the run takes.
    """
    wind, outdoors = year.wind_speed[index], climates[OUTDOORS]
    painted = Painted(section)
    pools = {
        key: max((painted.open_width(key, table.level) for table in case.flood if table.where == key), default=0.0)
        for key in case.zone
    }
    return Environment(
        zones=tuple(air_zone(key, table, section, wind, pool=pools[key]) for key, table in case.zone.items()),
        sources=tuple(table.build(outdoors, case.run.start) for table in leaks(case)),
        air_paths=tuple(table.build(wind) for table in case.air_path),
        floods=tuple(table.build(outdoors, case.run.start) for table in case.flood),
    )


def leaks(case: Case) -> tuple[LeakTable, ...]:
    """Leaks that the case states, and the one that poor workmanship adds."""
    return (*case.leak, *(() if case.detail is None else case.detail.leaks))


def troubles(case: Case, section: Section | None, hours: int) -> Iterator[Trouble]:
    """Everything wrong with the environment of a case.

    Parameters
    ----------
    case : Case
        The case.
    section : Section or None
        None if it could not be drawn.
    hours : int
        Length of the run [h] that events must fall into.
    """
    yield from _zone_troubles(case, section)
    for kind in ("leak", "flood", "air_path"):
        yield from _doubles(kind, [table.name for table in getattr(case, kind)])
    for kind in ("leak", "flood"):
        for number, table in enumerate(getattr(case, kind)):
            for key, found, expected in table.outside(case.run.start, hours):
                yield (kind, number, key), found, expected
    yield from _leak_troubles(case, section)
    for number, table in enumerate(case.flood):
        yield from _flood_troubles(case, section, number, table)
    yield from _air_path_troubles(case, section)


def _hint(what: str, name: str, names: Sequence[str]) -> str:
    """What is expected, with the nearest of what there is."""
    return f"{what}; {nearest(name, names)}".rstrip("; ")


def _doubles(kind: str, names: Sequence[str]) -> Iterator[Trouble]:
    for number, name in enumerate(names):
        if names.count(name) > 1:
            yield (kind, number, "name"), f'"{name}" twice', "a name of its own"


def _zone_troubles(case: Case, section: Section | None) -> Iterator[Trouble]:
    """Zones that clash with given air, form no space, or draw air from nowhere."""
    known = (OUTDOORS, *case.indoor)
    spaces = _spaces(section)
    for key, table in case.zone.items():
        place = ("zone", key)
        if key in case.indoor:
            yield place, f"[zone.{key}] and [indoor.{key}]", "one of the two"
        if section is not None and key not in spaces:
            yield place, f'"{key}"', _hint("a space of the section", key, spaces)
        takes_house = table.house_leakage or table.supply or table.make_up["house"]
        for name, source, used in (
            ("house", table.house, takes_house),
            ("duct_air", table.duct_air, table.duct_leakage),
        ):
            if used and source not in known:
                yield (*place, name), f'"{source}"', f"a space with given air ({', '.join(known)})"


def _spaces(section: Section | None) -> tuple[str, ...]:
    return () if section is None else tuple(dict.fromkeys(o.climate for o in section.openings))


def _leak_troubles(case: Case, section: Section | None) -> Iterator[Trouble]:
    """Leaks that lie in the air, outside the section or not in the region they name."""
    if section is None:
        return
    painted = Painted(section)
    regions = [region.name for region in section.regions]
    for number, leak in enumerate(case.leak):
        problem = misplaced(painted, leak.x, leak.y, leak.region)
        if problem:
            key = "region" if leak.region is not None and leak.region not in regions else "x"
            yield ("leak", number, key), *problem


def _flood_troubles(case: Case, section: Section | None, number: int, table: FloodTable) -> Iterator[Trouble]:
    """A flood of an unknown space, or one that reaches no face."""
    known = (OUTDOORS, *case.indoor, *case.zone)
    if table.where not in known:
        yield ("flood", number, "where"), f'"{table.where}"', _hint("a space", table.where, known)
        return
    spaces = _spaces(section)
    openings = [] if section is None else [o for o in section.openings if o.climate in table.climates]
    if section is not None and not openings:
        yield ("flood", number, "where"), f'"{table.where}"', _hint("a space of the section", table.where, spaces)
    if openings:
        low, high = min(o.y0 for o in openings), max(o.y1 for o in openings)
        if not low < table.level <= high:
            place = f"above its lowest point, {low:.4g} m, and up to {high:.4g} m"
            yield ("flood", number, "level"), f"{table.level:.4g} m", place


def _air_path_troubles(case: Case, section: Section | None) -> Iterator[Trouble]:
    """Air paths that lead to unknown spaces or do not end at the spaces they name."""
    known = (OUTDOORS, *case.indoor, *case.zone)
    for number, path in enumerate(case.air_path):
        for end, key, point in (("from", path.source, path.points[0]), ("to", path.target, path.points[-1])):
            if key not in known:
                yield ("air_path", number, end), f'"{key}"', _hint("a space", key, known)
            elif section is not None and not opens_at(section, key, point):
                place, expected = f"({point[0]:.4g}, {point[1]:.4g}) m", f'a point on a face towards "{key}"'
                yield ("air_path", number, "points"), place, expected
