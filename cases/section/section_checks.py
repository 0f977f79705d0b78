"""Checks of a drawn section: what lies outside, is hidden, is missing, or has no neighbour."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.inputs.input_errors import nearest
from stemwall.solver.model.section import Drain, Finish, Membrane, Opening, Region, Section

#: lines closer than this are one line [m]
SAME = 1e-6


@dataclass(frozen=True)
class Finding:
    """One thing wrong with a section: the kind and name of the item, what was found and expected."""

    kind: str
    name: str
    found: str
    expected: str


class Painted:
    """Which item is seen where, on the grid of all lines drawn.

    ``owner`` has shape (ny, nx): index into ``section.items``, or -1 where nothing is painted.
    """

    def __init__(self, section: Section) -> None:
        self.section = section
        self.xs = _lines([section.x0, section.x1, *(v for i in section.items for v in (i.x0, i.x1))])
        self.ys = _lines([section.y0, section.y1, *(v for i in section.items for v in (i.y0, i.y1))])
        xc, yc = (self.xs[1:] + self.xs[:-1]) / 2, (self.ys[1:] + self.ys[:-1]) / 2
        self.owner = np.full((yc.size, xc.size), -1)
        for number, item in enumerate(section.items):
            box = np.ix_((yc > item.y0) & (yc < item.y1), (xc > item.x0) & (xc < item.x1))
            self.owner[box] = number
        inside_x = (xc > section.x0) & (xc < section.x1)
        inside_y = (yc > section.y0) & (yc < section.y1)
        self.inside = inside_y[:, None] & inside_x[None, :]

    def near(self, x0: float, y0: float, x1: float, y1: float) -> list[Region | Opening]:
        """Return the items seen in the cells that touch a point or an axis-aligned line."""
        columns = (self.xs[:-1] <= x1 + SAME) & (self.xs[1:] >= x0 - SAME)
        rows = (self.ys[:-1] <= y1 + SAME) & (self.ys[1:] >= y0 - SAME)
        owners = np.unique(self.owner[np.ix_(rows, columns)])
        return [self.section.items[number] for number in owners if number >= 0]

    def nearest_solid(self, x: float, y: float, region: str | None = None) -> tuple[str, float, float, float] | None:
        """Return the nearest place in what is seen of a region, of any without one: its name, x, y and distance [m]."""
        wanted = [
            number
            for number, item in enumerate(self.section.items)
            if isinstance(item, Region) and region in (None, item.name)
        ]
        rows, columns = np.nonzero(np.isin(self.owner, wanted) & self.inside)
        if rows.size == 0:
            return None
        near_x = np.clip(x, self.xs[columns], self.xs[columns + 1])
        near_y = np.clip(y, self.ys[rows], self.ys[rows + 1])
        apart = np.hypot(near_x - x, near_y - y)
        n = int(np.argmin(apart))
        name = self.section.items[self.owner[rows[n], columns[n]]].name
        return name, float(near_x[n]), float(near_y[n]), float(apart[n])

    def all_solid(self, x0: float, y0: float, x1: float, y1: float) -> bool:
        """Whether a rectangle lies in solids alone; a line or point along a face has a solid on one side at least."""
        box = _touched(self.ys, y0, y1)[:, None] & _touched(self.xs, x0, x1)[None, :]
        rows, columns = np.flatnonzero(box.any(axis=1)), np.flatnonzero(box.any(axis=0))
        regions = [n for n, item in enumerate(self.section.items) if isinstance(item, Region)]
        solid = np.asarray(np.isin(self.owner[np.ix_(rows, columns)], regions))
        if x1 - x0 <= SAME:
            solid = np.asarray(solid.any(axis=1, keepdims=True))
        if y1 - y0 <= SAME:
            solid = np.asarray(solid.any(axis=0, keepdims=True))
        return bool(solid.size and solid.all())

    def open_width(self, climate: str, y: float) -> float:
        """Width of what is seen of the openings of a climate just below a height [m]."""
        items = enumerate(self.section.items)
        numbers = [n for n, item in items if isinstance(item, Opening) and item.climate == climate]
        row = int(np.searchsorted(self.ys, y - SAME)) - 1
        if not 0 <= row < self.owner.shape[0]:
            return 0.0
        return float(np.diff(self.xs)[np.isin(self.owner[row], numbers)].sum())

    def bare(self) -> str | None:
        """Return where the first unpainted rectangle lies, or None."""
        rows, columns = np.nonzero(self.inside & (self.owner < 0))
        if rows.size == 0:
            return None
        j, i = int(rows[0]), int(columns[0])
        return (
            f"nothing painted in x = {self.xs[i]:.4g} to {self.xs[i + 1]:.4g} m, "
            f"y = {self.ys[j]:.4g} to {self.ys[j + 1]:.4g} m"
        )


def _touched(lines: NDArray[np.float64], low: float, high: float) -> NDArray[np.bool_]:
    """Which spans between lines a pair overlaps; those on both sides of a position on a line."""
    margin = SAME if high - low <= SAME else -SAME
    return np.asarray((lines[:-1] < high + margin) & (lines[1:] > low - margin))


def _lines(values: list[float]) -> NDArray[np.float64]:
    ordered = np.unique(np.array(values, dtype=np.float64))
    return ordered[np.insert(np.diff(ordered) > SAME, 0, True)]


def findings(section: Section, materials: Collection[str], climates: Collection[str]) -> list[Finding]:
    """Return everything wrong with a section.

    Parameters
    ----------
    section : Section
        The section.
    materials : Collection[str]
        Ids of the materials that exist.
    climates : Collection[str]
        Keys of the climates that exist.
    """
    painted = Painted(section)
    return [
        *_duplicates(section),
        *_items(section, painted),
        *_names(section, materials, climates),
        *_segments(section, painted),
        *_drains(section, painted),
        *_probes(section, painted),
        *_edges(section, climates),
    ]


def _kind(item: object) -> str:
    return type(item).__name__.lower()


def _duplicates(section: Section) -> Iterator[Finding]:
    for group in (section.items, section.membranes, section.finishes, section.probes, section.drains):
        counts = Counter(item.name for item in group)
        for item in {item.name: item for item in group}.values():
            if counts[item.name] > 1:
                yield Finding(_kind(item), item.name, f"{counts[item.name]} items named {item.name!r}", "unique names")


def _items(section: Section, painted: Painted) -> Iterator[Finding]:
    for number, item in enumerate(section.items):
        place = f"x = {item.x0:.4g} to {item.x1:.4g} m, y = {item.y0:.4g} to {item.y1:.4g} m"
        if item.x1 - item.x0 <= SAME or item.y1 - item.y0 <= SAME:
            yield Finding(_kind(item), item.name, place, "a width and a height above zero")
        elif not _inside(section, item.x0, item.y0, item.x1, item.y1):
            yield Finding(_kind(item), item.name, place, f"within {_bounds(section)}")
        elif not (painted.owner == number).any():
            yield Finding(
                _kind(item), item.name, "completely painted over by later items", "some part of it to be seen"
            )
    bare = painted.bare()
    if bare:
        yield Finding("bounds", "", bare, "a region or an opening everywhere")


def _names(section: Section, materials: Collection[str], climates: Collection[str]) -> Iterator[Finding]:
    for region in section.regions:
        if region.material not in materials:
            hint = nearest(region.material, materials) or "see `stemwall materials list`"
            found = f"unknown material {region.material!r}"
            yield Finding("region", region.name, found, f"a material of the catalogue or of this case; {hint}")
    for opening in section.openings:
        if opening.climate not in climates:
            yield _no_climate("opening", opening.name, opening.climate, climates)


def _segments(section: Section, painted: Painted) -> Iterator[Finding]:
    lines: tuple[Membrane | Finish, ...] = (*section.membranes, *section.finishes)
    for line in lines:
        if not _inside(section, line.x0, line.y0, line.x1, line.y1):
            yield Finding(_kind(line), line.name, _where(line.x0, line.y0), f"within {_bounds(section)}")
        elif (line.x0 == line.x1) == (line.y0 == line.y1):
            yield Finding(_kind(line), line.name, "a slanting line or a point", "a horizontal or vertical line")
        elif not any(isinstance(item, Region) for item in painted.near(line.x0, line.y0, line.x1, line.y1)):
            yield Finding(_kind(line), line.name, "a line in the open air", "a line on or in a solid")


def _drains(section: Section, painted: Painted) -> Iterator[Finding]:
    for drain in section.drains:
        problem = _drain(section, painted, drain)
        if problem:
            yield Finding("drain", drain.name, *problem)


def _drain(section: Section, painted: Painted, drain: Drain) -> tuple[str, str] | None:
    place = f"x = {drain.x0:.4g} to {drain.x1:.4g} m, y = {drain.y0:.4g} to {drain.y1:.4g} m"
    if not _inside(section, drain.x0, drain.y0, drain.x1, drain.y1):
        return place, f"within {_bounds(section)}"
    if not painted.all_solid(drain.x0, drain.y0, drain.x1, drain.y1):
        return f"{place}, partly or wholly in an opening", "a drain in the ground or another solid"
    return None


def _probes(section: Section, painted: Painted) -> Iterator[Finding]:
    for probe in section.probes:
        problem = misplaced(painted, probe.x, probe.y, probe.region)
        if problem:
            yield Finding("probe", probe.name, *problem)


def misplaced(painted: Painted, x: float, y: float, region: str | None) -> tuple[str, str] | None:
    """Return what is found and expected where a place [m] is neither in nor on the edge of a region; None if it is.

    Without a region any solid will do.
    """
    section = painted.section
    regions = [known.name for known in section.regions]
    if region is not None and region not in regions:
        return f"unknown region {region!r}", f"the name of a region; {nearest(region, regions)}".rstrip("; ")
    wanted = "a solid" if region is None else repr(region)
    if not _inside(section, x, y, x, y):
        found = f"{_where(x, y)}, outside the section, {_bounds(section)}"
    else:
        solids = [item.name for item in painted.near(x, y, x, y) if isinstance(item, Region)]
        if region in solids or (region is None and solids):
            return None
        found = f"{_where(x, y)}, in " + (", ".join(map(repr, solids)) or "the open air")
    place = painted.nearest_solid(x, y, region)
    hint = "" if place is None else f"; the nearest is in {place[0]!r} at {_where(*place[1:3])}, {place[3]:.3g} m away"
    return found, f"a place in or on the edge of {wanted}{hint}"


def _edges(section: Section, climates: Collection[str]) -> Iterator[Finding]:
    counts = Counter(edge.side for edge in section.edges)
    for side, count in counts.items():
        if count > 1:
            yield Finding("edge", side, f"{count} edges on the {side} side", "one at most")
    for edge in section.edges:
        if edge.climate is not None and edge.climate not in climates:
            yield _no_climate("edge", edge.side, edge.climate, climates)
        if edge.kind == "ground" and edge.side != "bottom":
            yield Finding(
                "edge",
                edge.side,
                f'kind "ground" on the {edge.side} side',
                'kind "ground" at the bottom only',
            )
        if edge.water == "table" and section.water_table is None:
            yield Finding("edge", edge.side, 'water "table" without a water table', "site.water_table, a depth")
        if edge.water != "closed" and edge.kind != "ground":
            yield Finding("edge", edge.side, f'water "{edge.water}" on a {edge.kind} edge', 'kind = "ground"')


def _no_climate(kind: str, name: str, climate: str, climates: Collection[str]) -> Finding:
    near = nearest(climate, climates)
    hint = (
        near
        if near.startswith("did")
        else (f'add a table [indoor.{climate}], e.g. with temperature = "68 degF" and humidity = "45 %"')
    )
    return Finding(kind, name, f"no climate {climate!r}", f'"outdoors" or a space of [indoor]; {hint}')


def _inside(section: Section, x0: float, y0: float, x1: float, y1: float) -> bool:
    return (
        section.x0 - SAME <= min(x0, x1)
        and max(x0, x1) <= section.x1 + SAME
        and section.y0 - SAME <= min(y0, y1)
        and max(y0, y1) <= section.y1 + SAME
    )


def _where(x: float, y: float) -> str:
    return f"x = {x:.4g} m, y = {y:.4g} m"


def _bounds(section: Section) -> str:
    return f"x = {section.x0:.4g} to {section.x1:.4g} m, y = {section.y0:.4g} to {section.y1:.4g} m"
