"""The lines that the parts of a foundation refer to."""

from __future__ import annotations

from dataclasses import dataclass

from stemwall.cases.details.dimensions import Board, Footing, Ground, Wall, WallInsulation
from stemwall.cases.section.canvas import NOTHING, Span


@dataclass(frozen=True)
class Frame:
    """Lines that several parts refer to [m].

    ``outer`` is the exterior face of what covers the wall, ``inner`` the interior
    face; ``outer_low`` and ``inner_low`` are the lower ends of these layers.
    """

    footing_top: float
    footing_bottom: float
    wall_top: float
    thickness: float
    outer: float
    outer_low: float
    inner: float
    inner_low: float
    left: float
    right: float
    bottom: float
    footing: Span

    def inner_at(self, y: float) -> float:
        """Return x [m] of the interior face at a height y [m]: of the layer inside, or of the bare wall."""
        return self.inner if y >= self.inner_low - NOTHING else self.thickness


def frame(
    wall: Wall,
    footing: Footing,
    insulation: WallInsulation,
    ground: Ground,
    half_width: float,
    floor: float | None = None,
) -> Frame:
    """Return the lines of a stem wall on its footing.

    Parameters
    ----------
    half_width : float
        Inner face of the wall to the middle of the building [m].
    floor : float or None
        Level of the floor [m] on which a layer inside ends that does not reach the
        footing; None if it may end in the ground.
    """
    middle = wall.thickness / 2
    inner_low = _lower_end(wall, insulation.inner)
    if floor is not None and inner_low > -wall.below_grade:
        inner_low = max(inner_low, floor)
    return Frame(
        footing_top=-wall.below_grade,
        footing_bottom=-wall.below_grade - footing.height,
        wall_top=wall.above_grade,
        thickness=wall.thickness,
        outer=-insulation.outside_thickness,
        outer_low=_lower_end(wall, insulation.outer),
        inner=wall.thickness + insulation.inside_thickness,
        inner_low=inner_low,
        left=-ground.outward,
        right=wall.thickness + half_width,
        bottom=-ground.down,
        footing=(middle - footing.width / 2, middle + footing.width / 2),
    )


def _lower_end(wall: Wall, board: Board | None) -> float:
    """Return y [m] down to which a layer on the wall goes; the top of the wall if there is none."""
    if board is None:
        return wall.above_grade
    return wall.above_grade - board.reach if board.reach > 0 else -wall.below_grade
