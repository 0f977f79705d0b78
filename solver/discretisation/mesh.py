"""The mesh: graded lines through every edge drawn, and what fills each cell.

Cell size follows h(x) = min(h0 + (g - 1) d, h_max), d the distance to the next
line drawn, g the growth ratio; lines are placed at equal increments of the
integral of dx/h.  Halving all sizes therefore doubles the cell count exactly in
the limit, and a symmetric drawing gives a symmetric mesh.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stemwall.solver.model.arrays import Floats, Ints
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Opening, Region, Section
from stemwall.solver.model.settings import MeshRule

#: lines closer than this are one line [m]
MERGE = 1e-6
#: samples of the size function per span
SAMPLES = 400


@dataclass(frozen=True)
class Mesh:
    """Lines and cells; cell arrays have shape (ny, nx), row 0 at the bottom.

    Parameters
    ----------
    x_lines, y_lines : Floats
        Line positions [m], shapes (nx + 1,) and (ny + 1,).
    region : Ints
        Index into ``section.regions``, or -1 in an opening.
    material : Ints
        Index into ``section.materials``, or -1 in an opening.
    opening : Ints
        Index into ``section.openings``, or -1 in a solid.
    """

    section: Section
    x_lines: Floats
    y_lines: Floats
    region: Ints
    material: Ints
    opening: Ints

    @property
    def solid(self) -> NDArray[np.bool_]:
        """Whether a cell belongs to a region, (ny, nx)."""
        return np.asarray(self.region >= 0)

    @property
    def cells(self) -> int:
        """Number of solid cells."""
        return int(np.count_nonzero(self.solid))

    def cells_at(self, what: str, x: float, y: float, region: str | None = None) -> Ints:
        """Rows and columns (n, 2) of the solid cells of a region, of any without one, that hold or touch a point [m].

        Raises
        ------
        SectionError
            If there is none; ``what`` begins the message.
        """
        names = [known.name for known in self.section.regions]
        if region is not None and region not in names:
            raise SectionError([f"{what}: no region is named '{region}'"])
        cells = self.solid if region is None else self.region == names.index(region)
        inside_x = (self.x_lines[:-1] <= x + MERGE) & (x - MERGE <= self.x_lines[1:])
        inside_y = (self.y_lines[:-1] <= y + MERGE) & (y - MERGE <= self.y_lines[1:])
        found = np.argwhere(cells & inside_y[:, None] & inside_x[None, :])
        if found.size == 0:
            where = f"region '{region}'" if region else "a solid"
            raise SectionError([f"{what}: x = {x:.4g} m, y = {y:.4g} m is not in {where}"])
        return found

    @property
    def x_centres(self) -> Floats:
        """Middle of the columns of cells [m], (nx,)."""
        return 0.5 * (self.x_lines[1:] + self.x_lines[:-1])

    @property
    def y_centres(self) -> Floats:
        """Middle of the rows of cells [m], (ny,)."""
        return 0.5 * (self.y_lines[1:] + self.y_lines[:-1])


def build_mesh(section: Section, rule: MeshRule) -> Mesh:
    """Mesh a section.

    Raises
    ------
    SectionError
        If part of the rectangle is painted by nothing.
    """
    (x_drawn, x_ends), (y_drawn, y_ends) = _axes(section)
    x_lines, y_lines = graded_lines(x_drawn, rule, x_ends), graded_lines(y_drawn, rule, y_ends)
    return mesh_on_lines(section, x_lines, y_lines)


def cell_counts(section: Section, rule: MeshRule) -> tuple[int, int]:
    """Columns and rows that a mesh would have, openings included, without making it."""

    def along(drawn: list[float], ends: tuple[bool, bool]) -> int:
        return sum(_count(float(_counted(length, rule, fine)[-1]), rule, fine) for length, fine in _spans(drawn, ends))

    (x, x_ends), (y, y_ends) = _axes(section)
    return along(x, x_ends), along(y, y_ends)


def _axes(section: Section) -> tuple[tuple[list[float], tuple[bool, bool]], tuple[list[float], tuple[bool, bool]]]:
    """Positions drawn [m] and whether the two outer ends are fine, along x and along y."""
    x_drawn = _drawn(
        [section.x0, section.x1, *section.lines_x],
        ((item.x0, item.x1) for item in (*section.items, *section.membranes, *section.drains)),
        section.x0,
        section.x1,
    )
    y_drawn = _drawn(
        [section.y0, section.y1, *section.lines_y],
        ((item.y0, item.y1) for item in (*section.items, *section.membranes, *section.drains)),
        section.y0,
        section.y1,
    )
    open_sides = {edge.side for edge in section.edges if edge.kind == "climate"}
    return (
        (x_drawn, ("left" in open_sides, "right" in open_sides)),
        (y_drawn, ("bottom" in open_sides, "top" in open_sides)),
    )


def _drawn(always: list[float], pairs: Iterable[tuple[float, float]], low: float, high: float) -> list[float]:
    values = sorted([*always, *(v for pair in pairs for v in pair)])
    kept: list[float] = []
    for value in values:
        if low - MERGE <= value <= high + MERGE and (not kept or value - kept[-1] > MERGE):
            kept.append(value)
    return kept


def graded_lines(drawn: list[float], rule: MeshRule, ends: tuple[bool, bool] = (False, False)) -> Floats:
    """Mesh lines [m] through all drawn positions; the two outer ends are coarse unless ``ends`` says otherwise."""
    lines = [np.array([drawn[0]])]
    for a, (length, fine) in zip(drawn, _spans(drawn, ends), strict=False):
        lines.append(a + _span(length, rule, fine))
    return np.concatenate(lines)


def _spans(drawn: list[float], ends: tuple[bool, bool]) -> list[tuple[float, tuple[bool, bool]]]:
    """(length [m], fine at its beginning, fine at its end) between neighbouring positions."""
    last = len(drawn) - 2
    return [
        (b - a, (k > 0 or last == 0 or ends[0], k < last or last == 0 or ends[1]))
        for k, (a, b) in enumerate(pairwise(drawn))
    ]


def _counted(length: float, rule: MeshRule, fine: tuple[bool, bool]) -> Floats:
    """Integral of the cells per metre from 0 to the samples of a span [-], (SAMPLES + 1,)."""
    d = (np.arange(SAMPLES) + 0.5) * (length / SAMPLES)
    size = np.full(SAMPLES, rule.coarsest)
    if fine[0]:
        size = np.minimum(size, rule.finest + (rule.growth - 1) * d)
    if fine[1]:
        size = np.minimum(size, rule.finest + (rule.growth - 1) * (length - d))
    return np.concatenate([[0.0], np.cumsum(1.0 / size)]) * (length / SAMPLES)


def _count(cells: float, rule: MeshRule, fine: tuple[bool, bool]) -> int:
    """Whole number of cells of a span that the size function gives ``cells``."""
    return max(rule.layer_cells if all(fine) else 1, int(np.ceil(cells - 1e-9)))


def _span(length: float, rule: MeshRule, fine: tuple[bool, bool]) -> Floats:
    """Positions in (0, length] of the lines that follow the size function."""
    count_at = _counted(length, rule, fine)
    count = _count(float(count_at[-1]), rule, fine)
    edges = np.linspace(0.0, length, SAMPLES + 1)
    inner = np.interp(np.arange(1, count) * (count_at[-1] / count), count_at, edges)
    inner = 0.5 * (inner + (length - inner[::-1])) if fine[0] == fine[1] else inner
    return np.append(inner, length)


def mesh_on_lines(section: Section, x_lines: Floats, y_lines: Floats) -> Mesh:
    """Paint a section on given lines, which must pass through every edge drawn.

    Raises
    ------
    SectionError
        If part of the rectangle is painted by nothing.
    """
    shape = (y_lines.size - 1, x_lines.size - 1)
    region = np.full(shape, -1, dtype=np.int64)
    opening = np.full(shape, -1, dtype=np.int64)
    xc, yc = 0.5 * (x_lines[1:] + x_lines[:-1]), 0.5 * (y_lines[1:] + y_lines[:-1])
    numbers: dict[type, int] = {Region: 0, Opening: 0}
    for item in section.items:
        box = np.ix_((yc > item.y0) & (yc < item.y1), (xc > item.x0) & (xc < item.x1))
        number = numbers[type(item)]
        numbers[type(item)] += 1
        region[box] = number if isinstance(item, Region) else -1
        opening[box] = number if isinstance(item, Opening) else -1
    bare = (region < 0) & (opening < 0)
    if bare.any():
        j, i = np.argwhere(bare)[0]
        raise SectionError(
            [
                f"{int(bare.sum())} cells are painted by no region and no opening, the first at "
                f"x = {xc[i]:.4g} m, y = {yc[j]:.4g} m; paint the whole rectangle"
            ]
        )
    keys = section.materials
    index = np.array([keys.index(r.material) for r in section.regions] or [-1])
    material = np.where(region >= 0, index[np.maximum(region, 0)], -1)
    return Mesh(section, x_lines, y_lines, region, material, opening)
