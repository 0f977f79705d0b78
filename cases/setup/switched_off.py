"""What a case is built from once sources of moisture are switched off; see `stemwall.cases.surroundings.without`.

Every switch acts on one thing that the solver is given: the weather, the section, climates, the start, or what stands
in the environment.  Without a switch everything is handed on as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.cases.section.membrane_stacks import in_series
from stemwall.cases.section.section_checks import Painted
from stemwall.cases.surroundings.without import OPEN_TO_VAPOUR, SEASONED, TIGHT, Without
from stemwall.materials.material import Material
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.environment import Environment
from stemwall.solver.model.section import Membrane, Opening, Region, Section
from stemwall.weather.moistair import saturation_pressure
from stemwall.weather.year import WeatherYear

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]
#: a level line: from, to, and its height [m]
Line = tuple[float, float, float]

#: name of the region that stands for the footing, in details and in free-form sections alike
FOOTING = "footing"
#: what the ground consists of, as drawings tell it
GROUND = ("soil", "gravel", "sand")
OCTOBER_TO_MARCH = (10, 11, 12, 1, 2, 3)


def weather_without(year: WeatherYear, without: Without) -> WeatherYear:
    """Return the weather, without precipitation if that is switched off."""
    if not without.rain:
        return year
    dry = year.with_rain(np.zeros(year.hours), "none", "rain switched off ([without])")
    return dry if dry.snow_depth is None else replace(dry, snow_depth=None)


def section_without(section: Section, materials: Mapping[str, Material], without: Without) -> Section:
    """Return the section with the sheets that stop what is switched off."""
    sheets: list[Membrane] = []
    if without.footing:
        sheets += [
            Membrane(f"liquid stopped {n}", x0, y, x1, y, OPEN_TO_VAPOUR, OPEN_TO_VAPOUR, "break", 0.0)
            for n, (x0, x1, y) in enumerate(footing_top(section, materials), 1)
        ]
    if without.ground_vapour:
        sheets += [
            Membrane(f"ground moisture stopped {n}", x0, y, x1, y, TIGHT, TIGHT, "break", 0.0)
            for n, (x0, x1, y) in enumerate(ground_below_floors(section, materials), 1)
        ]
    return replace(section, membranes=tuple(in_series([*section.membranes, *sheets]))) if sheets else section


def start_without(section: Section, materials: Mapping[str, Material], without: Without) -> Section:
    """Return the section whose parts other than soil start no moister than seasoned, if that is asked for."""
    if not without.construction_water:
        return section

    def seasoned(item: Region | Opening) -> Region | Opening:
        if isinstance(item, Opening) or item.initial_rh is None or materials[item.material].group == "soil":
            return item
        return replace(item, initial_rh=min(item.initial_rh, SEASONED))

    return replace(section, items=tuple(map(seasoned, section.items)))


def climates_without(
    climates: Mapping[str, Climate], year: WeatherYear, start: datetime, without: Without
) -> dict[str, Climate]:
    """Return the climates with drier outdoor and indoor air where that is asked for; ``start`` is of their hours."""
    found = dict(climates)
    if without.summer_air:
        for key in (OUTDOORS, BESIDE):
            if key in found:
                found[key] = _without_summer(found[key], year, start)
    if without.indoor_air and OUTDOORS in found:
        outside = _vapour_pressure(found[OUTDOORS])
        for key, climate in found.items():
            if key not in (OUTDOORS, BESIDE):
                most = outside / np.asarray(saturation_pressure(climate.temperature))
                found[key] = replace(climate, relative_humidity=np.minimum(climate.relative_humidity, most))
    return found


def environment_without(environment: Environment, hours: int, without: Without) -> Environment:
    """Return the environment of so many hours without what is switched off."""
    if without.leaks:
        environment = replace(environment, sources=(), floods=())
    if without.joint_air:
        environment = replace(
            environment, air_paths=tuple(replace(path, flow=np.zeros(hours)) for path in environment.air_paths)
        )
    if without.indoor_air:
        zones = tuple(replace(zone, moisture_gain=None) for zone in environment.zones)
        environment = replace(environment, zones=zones)
    return environment


def footing_top(section: Section, materials: Mapping[str, Material]) -> list[Line]:
    """Return the level lines on which something built stands on the footing."""
    painted = Painted(section)
    footing = _marked(painted, [r.name for r in section.regions if r.name == FOOTING])
    built = [r.name for r in section.regions if materials[r.material].hatch not in GROUND and r.name != FOOTING]
    return _runs(painted, footing[:-1] & _marked(painted, built)[1:])


def ground_below_floors(section: Section, materials: Mapping[str, Material]) -> list[Line]:
    """Return the level lines on which the ground, or the footing, ends below the floor of an inner space."""
    painted = Painted(section)
    ground = _marked(painted, [r.name for r in section.regions if _is_ground(r, materials)])
    inner = [o.name for o in section.openings if o.climate not in (OUTDOORS, BESIDE)]
    spaces = _marked(painted, inner)
    seen = np.zeros_like(ground)
    for i in range(ground.shape[1]):
        # the lowest inner space of a column, and the highest ground below its floor
        rows = np.flatnonzero(spaces[:, i])
        below = np.flatnonzero(ground[: rows[0], i]) if rows.size else rows
        if below.size:
            seen[below[-1], i] = True
    return _runs(painted, seen[:-1])


def _is_ground(region: Region, materials: Mapping[str, Material]) -> bool:
    return region.name == FOOTING or materials[region.material].hatch in GROUND


def _marked(painted: Painted, names: Sequence[str]) -> Marks:
    items = enumerate(painted.section.items)
    return np.asarray(np.isin(painted.owner, [n for n, item in items if item.name in names]))


def _runs(painted: Painted, seen: Marks) -> list[Line]:
    """Return the upper edges (x0, x1, y) of neighbouring cells that are marked, (ny - 1, nx)."""
    lines = []
    for j in np.flatnonzero(seen.any(axis=1)):
        marks = np.diff(np.concatenate([[0], seen[j].astype(np.int64), [0]]))
        for first, last in zip(np.flatnonzero(marks == 1), np.flatnonzero(marks == -1), strict=True):
            lines.append((float(painted.xs[first]), float(painted.xs[last]), float(painted.ys[j + 1])))
    return lines


def _vapour_pressure(climate: Climate) -> Floats:
    """Vapour pressure of the air [Pa], (hours,)."""
    return np.asarray(climate.relative_humidity * saturation_pressure(climate.temperature))


def winter_vapour_pressure(year: WeatherYear) -> tuple[float, bool]:
    """Return the mean vapour pressure of the colder half-year [Pa], and whether that is October to March."""
    first = np.isin(year.months, OCTOBER_TO_MARCH)
    north = bool(year.temperature[first].mean() < year.temperature[~first].mean())
    return float(year.vapour_pressure[first if north else ~first].mean()), north


def _without_summer(climate: Climate, year: WeatherYear, start: datetime) -> Climate:
    most, north = winter_vapour_pressure(year)
    stamps = np.datetime64(start, "m") + np.arange(climate.hours) * np.timedelta64(60, "m")
    warm = np.isin(stamps.astype("datetime64[M]").astype(np.int64) % 12 + 1, OCTOBER_TO_MARCH) != north
    limit = np.where(warm, most / np.asarray(saturation_pressure(climate.temperature)), np.inf)
    return replace(climate, relative_humidity=np.minimum(climate.relative_humidity, limit))
