"""What the site adds to a drawn section: the strip of ground beside the wall, and the cover of the ground.

Both look for the foot of the wall: the corner of an outdoor opening between ground below and wall on its
right that lies nearest to y = 0, the exterior grade.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.section.section_checks import SAME, Painted
from stemwall.solver.model.section import Finish, Opening, Region, Section

Marks = NDArray[np.bool_]

OUTDOORS = "outdoors"
BESIDE = "outdoors, beside the wall"
#: name of the opening over the strip
STRIP = "beside the wall"


@dataclass(frozen=True)
class Foot:
    """Where ground and wall meet [m], and the number of the opening that they meet in."""

    x: float
    y: float
    opening: int


def foot_of_wall(section: Section) -> Foot | None:
    """Return the foot of the wall, or None if no outdoor opening has ground below and a wall on its right."""
    painted = Painted(section)
    outdoors, solid = _outdoors(painted), _solid(painted)
    corner = outdoors[1:, :-1] & solid[1:, 1:] & solid[:-1, :-1]
    found = [(abs(float(painted.ys[j + 1])), -i, j) for j, i in np.argwhere(corner).tolist()]
    if not found:
        return None
    _, back, j = min(found)
    i = -back
    return Foot(float(painted.xs[i + 1]), float(painted.ys[j + 1]), int(painted.owner[j + 1, i]))


def split_outdoors(section: Section, strip_width: float, splash_height: float) -> Section:
    """Return the section with an opening of its own over the strip of ground beside the wall.

    The strip and the foot of the wall look into that opening and so meet the climate `BESIDE`; what stands
    back behind the foot, above insulation outside, keeps the climate outdoors.  A section that refers to
    `BESIDE` already, or has no foot of a wall, is returned as it is.

    Parameters
    ----------
    section : Section
        The section.
    strip_width : float
        Width of the strip [m].
    splash_height : float
        Height of the splashed part of the wall above the ground [m].
    """
    foot = foot_of_wall(section)
    if foot is None or BESIDE in section.climates:
        return section
    outer = section.items[foot.opening]
    assert isinstance(outer, Opening)
    x0, y1 = max(foot.x - strip_width, outer.x0), min(foot.y + splash_height, outer.y1)
    strip = Opening(STRIP, BESIDE, x0, outer.y0, foot.x, y1)
    items = list(section.items)
    if (x0, foot.x, y1) == (outer.x0, outer.x1, outer.y1):
        items[foot.opening] = replace(outer, climate=BESIDE)
    else:
        items.insert(foot.opening + 1, strip)
    return replace(section, items=tuple(items))


def cover_ground(section: Section, albedo: float, emissivity: float) -> Section:
    """Return the section with the radiative properties of a cover on the ground outdoors.

    The ground is what outdoor openings show from above, left of the wall; finishes of the author stay.

    Parameters
    ----------
    section : Section
        The section.
    albedo, emissivity : float
        Share of the sun reflected, longwave emissivity of the cover [-].
    """
    painted, foot = Painted(section), foot_of_wall(section)
    seen = _solid(painted)[:-1] & _outdoors(painted)[1:]
    seen[:, painted.xs[:-1] > (np.inf if foot is None else foot.x) - SAME] = False
    finishes = [
        Finish(f"ground cover {number}", x0, y, x1, y, 1.0 - albedo, emissivity)
        for number, (x0, x1, y) in enumerate(_runs(painted, seen), 1)
    ]
    return replace(section, finishes=(*finishes, *section.finishes))


def _runs(painted: Painted, seen: Marks) -> list[tuple[float, float, float]]:
    """Level lines (x0, x1, y) along which neighbouring cells are marked."""
    lines = []
    for j in np.flatnonzero(seen.any(axis=1)):
        marks = np.diff(np.concatenate([[0], seen[j].astype(np.int64), [0]]))
        y = float(painted.ys[j + 1])
        for first, last in zip(np.flatnonzero(marks == 1), np.flatnonzero(marks == -1), strict=True):
            lines.append((float(painted.xs[first]), float(painted.xs[last]), y))
    return lines


def _marked(painted: Painted, numbers: list[int]) -> Marks:
    return np.isin(painted.owner, numbers)


def _outdoors(painted: Painted) -> Marks:
    items = enumerate(painted.section.items)
    keys = (OUTDOORS, BESIDE)
    return _marked(painted, [n for n, item in items if isinstance(item, Opening) and item.climate in keys])


def _solid(painted: Painted) -> Marks:
    return _marked(painted, [n for n, item in enumerate(painted.section.items) if isinstance(item, Region)])
