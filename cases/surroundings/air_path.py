"""Air paths in a case file: `[[air_path]]`, air that moves along a joint from one space to another."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from stemwall.cases.inputs.field_types import PRACTICE, Name, Spelling, Strict, described, required
from stemwall.cases.inputs.quantities import POSITION, AirFlow, Fraction, Joint, Kind, StackHeight, read
from stemwall.materials.ranges import Quantity
from stemwall.solver.discretisation.mesh import MERGE
from stemwall.solver.model.air_path import AIR_DENSITY, AirPath, Draught
from stemwall.solver.model.section import Section

Floats = NDArray[np.float64]


def _points(value: object, kind: Kind) -> tuple[tuple[float, float], ...]:
    """Corners [m] of a line whose pieces are level or upright."""
    if not isinstance(value, list | tuple) or len(value) < 2:
        raise ValueError('two or more corners, e.g. [[0, "1 ft"], ["8 in", "1 ft"]]')
    corners = []
    for pair in value:
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise ValueError('corners as pairs [x, y], e.g. [[0, "1 ft"], ["8 in", "1 ft"]]')
        corners.append((read(pair[0], kind), read(pair[1], kind)))
    for (x0, y0), (x1, y1) in pairwise(corners):
        if (x0 == x1) == (y0 == y1):
            raise ValueError(
                f"pieces that are level or upright and of some length; found ({x0:g}, {y0:g}) to ({x1:g}, {y1:g}) m"
            )
    return tuple(corners)


def opens_at(section: Section, key: str, point: tuple[float, float]) -> bool:
    """Whether a space of the section, or the climate of one of its sides, touches a point [m]."""
    x, y = point
    sides = {"left": x - section.x0, "right": x - section.x1, "bottom": y - section.y0, "top": y - section.y1}
    if any(edge.climate == key and abs(sides[edge.side]) <= MERGE for edge in section.edges):
        return True
    return any(
        o.climate == key and o.x0 - MERGE <= x <= o.x1 + MERGE and o.y0 - MERGE <= y <= o.y1 + MERGE
        for o in section.openings
    )


class AirPathTable(Strict):
    """Air that moves along a joint; a given ``flow``, or a ``gap`` through which wind and buoyancy drive it."""

    name: Name = required("what it is called in drawings, messages and results")
    source: str = Field(
        alias="from", description='space that the air comes from: "outdoors", or a space of [indoor] or [zone]'
    )
    target: str = Field(alias="to", description="space that the air goes to")
    points: Annotated[
        tuple[tuple[float, float], ...],
        Quantity(POSITION, _points, read),
        Spelling('two or more corners, e.g. [[0, "1 ft"], ["8 in", "1 ft"]]'),
    ] = required("corners of the joint as pairs [x, y] in m, from one space to the other")
    flow: AirFlow | None = described(None, "given air flow, m3/s per metre")
    gap: Joint | None = described(None, "width of the joint that would pass the same air, instead of a flow")
    height: StackHeight = described(
        0.0, "height of the joint above the level where inside and outside balance", PRACTICE
    )
    wind_share: Fraction = described(0.4, "wind at the joint over wind at the station", PRACTICE)
    pressure: Fraction = described(0.3, "pressure coefficient of the wind from one end to the other", PRACTICE)

    @model_validator(mode="after")
    def _one_drive(self) -> AirPathTable:
        if (self.flow is None) == (self.gap is None):
            raise ValueError("one of: flow, gap")
        if self.source == self.target:
            raise ValueError(f'from and to two spaces; found "{self.source}" twice')
        return self

    def build(self, wind: Floats) -> AirPath:
        """Return the path; ``wind`` is the wind at the station by hour of the run [m/s]."""
        drive: Any
        if self.gap is not None:
            drive = Draught(self.gap, self.height, self.wind_share * wind, self.pressure)
        else:
            assert self.flow is not None
            drive = np.full(wind.size, AIR_DENSITY * self.flow)
        return AirPath(self.name, self.source, self.target, self.points, drive)
