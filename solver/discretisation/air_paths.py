"""Air paths in the network: air that moves along a joint and carries heat and vapour with it.

A path is a line of mesh edges.  Its nodes stand for the joint and the material
round it together: air and joint are in equilibrium there, so that vapour condenses
and dries along the way.  Both ends meet a climate or an air zone.  A zone that takes
in air gives as much of its own to the outdoors, and the other way round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np

from stemwall.solver.discretisation.air_zones import air_group
from stemwall.solver.discretisation.mesh import MERGE
from stemwall.solver.discretisation.network import Network, Surface
from stemwall.solver.model.air_path import AirPath, Point
from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Section

#: climate that makes up for what a zone takes in or gives away
OUTDOORS = "outdoors"


@dataclass(frozen=True)
class PlacedAirPaths:
    """A network with air paths: the air links of each, and their sign along the path."""

    network: Network
    paths: tuple[AirPath, ...] = ()
    links: tuple[Ints, ...] = ()
    signs: tuple[Floats, ...] = ()


def with_lines(section: Section, paths: Sequence[AirPath]) -> Section:
    """The section with mesh lines through every corner of the paths."""
    if not paths:
        return section
    corners = [point for path in paths for point in path.points]
    return replace(
        section,
        lines_x=(*section.lines_x, *(x for x, _ in corners)),
        lines_y=(*section.lines_y, *(y for _, y in corners)),
    )


def with_air_paths(network: Network, paths: Sequence[AirPath], zones: dict[str, int]) -> PlacedAirPaths:
    """Add the air links of air paths; ``zones`` gives the node of every air zone.

    Raises
    ------
    SectionError
        If a path does not run through the section, or does not begin and end at its climates.
    """
    if not paths:
        return PlacedAirPaths(network)
    placer = _Placer(network, zones)
    problems: list[str] = []
    for path in paths:
        problems += placer.add(path)
    if problems:
        raise SectionError(problems)
    return placer.placed(tuple(paths))


class _Placer:
    """Collects air links path by path."""

    def __init__(self, network: Network, zones: dict[str, int]) -> None:
        self.network, self.zones = network, zones
        self.surfaces = list(network.surfaces)
        self.rows: list[tuple[int, int, int, int, int, float]] = []
        self.ends: list[int] = []
        self.beside = _edges_between(network)

    def add(self, path: AirPath) -> list[str]:
        """Add one path; return what is wrong with it."""
        nodes, problem = self._line(path)
        if problem:
            return [problem]
        found = [
            f"air path '{path.name}': its {word} point {_at(point)} lies on no face that looks into '{key}'"
            for word, point, key, node in (
                ("first", path.points[0], path.source, nodes[0]),
                ("last", path.points[-1], path.target, nodes[-1]),
            )
            if not self._meets(node, key)
        ]
        if found:
            return found
        self._end(path, path.source, nodes[0], 1.0)
        for a, b in pairwise(nodes):
            self._link(a, b, -1, 1.0)
        self._end(path, path.target, nodes[-1], -1.0)
        self._make_up(path, path.source, path.target, 1.0)
        self._make_up(path, path.target, path.source, -1.0)
        self.ends.append(len(self.rows))
        return []

    def _link(self, a: int, b: int, surface: int, sign: float) -> None:
        beside = (*self.beside.get((min(a, b), max(a, b)), ()), -1, -1)
        self.rows.append((a, b, surface, beside[0], beside[1], sign))

    def _surface(self, name: str, climate: str, region: int) -> int:
        inner = region >= 0
        group = "" if inner else air_group(climate)
        self.surfaces.append(Surface(name, climate, None, region, "up", None, None, 0.0, group=group, inner=inner))
        return len(self.surfaces) - 1

    def _end(self, path: AirPath, key: str, node: int, sign: float) -> None:
        """Couple an end to its climate or zone; ``sign`` is 1 where the path begins."""
        name = f"{key} | air path {path.name}"
        if key in self.zones:
            # booked like the film between a face and its zone: positive into the section
            region = int(self.network.scv_region[self.network.scv_node == node][0])
            self._link(node, self.zones[key], self._surface(name, key, region), -sign)
        else:
            self._link(node, -1, self._surface(name, key, -1), sign)

    def _make_up(self, path: AirPath, key: str, other: str, sign: float) -> None:
        """A zone gives to the outdoors what it takes in, and the other way round."""
        if key in self.zones:
            source = OUTDOORS if other in self.zones else other
            surface = self._surface(f"{key} | make-up of air path {path.name}, {source}", source, -1)
            self._link(self.zones[key], -1, surface, sign)

    def _line(self, path: AirPath) -> tuple[list[int], str]:
        """Nodes along a path, each joined to the one before where the section allows."""
        n = self.network
        corners: list[list[int]] = []
        for start, end in pairwise(path.points):
            for at in _stations(n, start, end):
                close = (np.abs(n.node_x - at[0]) <= MERGE) & (np.abs(n.node_y - at[1]) <= MERGE)
                found = [int(k) for k in np.flatnonzero(close)]
                if not found:
                    return [], f"air path '{path.name}': there is no solid part of the section at {_at(at)}"
                if not corners or found != corners[-1]:
                    corners.append(found)
        if len(corners) < 2:
            return [], f"air path '{path.name}': its points are one; it needs a line of some length"
        return self._best(corners), ""

    def _best(self, corners: list[list[int]]) -> list[int]:
        """One node per corner with the fewest jumps across a membrane."""
        cost, came = {node: 0 for node in corners[0]}, []
        for here in corners[1:]:
            step = {b: min((c + ((min(a, b), max(a, b)) not in self.beside), a) for a, c in cost.items()) for b in here}
            cost, back = {b: c for b, (c, _) in step.items()}, {b: a for b, (_, a) in step.items()}
            came.append(back)
        node = min(cost, key=lambda k: cost[k])
        line = [node]
        for back in reversed(came):
            line.append(back[line[-1]])
        return line[::-1]

    def _meets(self, node: int, key: str) -> bool:
        n = self.network
        faces = n.face_surface[n.face_node == node]
        through = n.membrane_surface[(n.membrane_a == node) | (n.membrane_b == node)]
        return any(n.surfaces[k].climate == key for k in (*faces, *through[through >= 0]))

    def placed(self, paths: tuple[AirPath, ...]) -> PlacedAirPaths:
        """The network with everything that was added."""
        rows: list[Any] = list(zip(*self.rows, strict=True))
        a, b, surface, first, second = (np.array(row, dtype=np.int64) for row in rows[:5])
        sign = np.array(rows[5])
        grown = replace(
            self.network, link_a=a, link_b=b, link_surface=surface,
            link_edges=np.ascontiguousarray(np.stack([first, second], axis=1)), surfaces=tuple(self.surfaces),
        )  # fmt: skip
        starts = [0, *self.ends[:-1]]
        links = tuple(np.arange(s, e) for s, e in zip(starts, self.ends, strict=True))
        return PlacedAirPaths(grown, paths, links, tuple(sign[k] for k in links))


def _edges_between(network: Network) -> dict[tuple[int, int], tuple[int, ...]]:
    """Edges by the pair of nodes that they join, the smaller first."""
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    ends = zip(network.scv_node[network.edge_a], network.scv_node[network.edge_b], strict=True)
    for number, (i, j) in enumerate(ends):
        key = (int(min(i, j)), int(max(i, j)))
        found[key] = (*found.get(key, ()), number)
    return found


def _stations(network: Network, start: Point, end: Point) -> list[Point]:
    """Mesh corners from one point to the next, both included."""
    lines = network.mesh.x_lines, network.mesh.y_lines
    axis = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
    low, high = sorted((start[axis], end[axis]))
    on = [float(v) for v in lines[axis] if low - MERGE <= v <= high + MERGE]
    if start[axis] > end[axis]:
        on.reverse()
    return [(v, start[1]) if axis == 0 else (start[0], v) for v in on]


def _at(point: Point) -> str:
    return f"({point[0]:.4g}, {point[1]:.4g}) m"
