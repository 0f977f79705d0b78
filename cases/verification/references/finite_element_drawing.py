"""Sections drawn once, for the solver and for finite elements: boxes of solids and of air."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.references.physics import Air
from stemwall.cases.verification.rig import Load
from stemwall.solver.discretisation.mesh import graded_lines
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.model.section import Edge, Opening, Region, Section, Side
from stemwall.solver.model.settings import MeshRule

Floats = NDArray[np.float64]
#: how far beyond a face one looks for what lies there [m]
STEP = 1e-6


@dataclass(frozen=True)
class Box:
    """A rectangle of a solid, or of air if it is no key of a material; corners [m]."""

    name: str
    filling: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True)
class Drawing:
    """A rectangle painted in order with boxes; what lies beyond its sides.

    Parameters
    ----------
    size : (x0, y0, x1, y1)
        [m].
    boxes : sequence of Box
    sides : mapping of side to str
        Air beyond a side; a side that is not named is closed.
    airs : mapping of str to Air
        What boxes of air and sides are.
    ruled : sequence of float
        Further mesh lines along y [m], as sides alone attract no fine cells.
    """

    size: tuple[float, float, float, float]
    boxes: Sequence[Box]
    sides: Mapping[Side, str]
    airs: Mapping[str, Air]
    ruled: Sequence[float] = ()

    def section(self) -> Section:
        """For the solver."""
        items = tuple(
            (Opening if box.filling in self.airs else Region)(box.name, box.filling, box.x0, box.y0, box.x1, box.y1)
            for box in self.boxes
        )
        edges = tuple(Edge(side, "climate", climate=air) for side, air in self.sides.items())
        return Section(*self.size, items, edges=edges)

    def lines(self, rule: MeshRule) -> tuple[Floats, Floats]:
        """Mesh lines along x and y [m] through everything drawn, graded by the rule."""
        xs = {self.size[0], self.size[2], *(v for box in self.boxes for v in (box.x0, box.x1))}
        ys = {self.size[1], self.size[3], *self.ruled, *(v for box in self.boxes for v in (box.y0, box.y1))}
        return graded_lines(sorted(xs), rule), graded_lines(sorted(ys), rule)

    def box_at(self, x: Floats, y: Floats) -> NDArray[np.int64]:
        """Number of the box painted last at points, -1 where there is none."""
        found = np.full(np.shape(x), -1, dtype=np.int64)
        for k, box in enumerate(self.boxes):
            inside = (x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)
            found[inside] = k
        return found

    def air_at(self, x: float, y: float) -> str | None:
        """Air at a point outside the solids; None beyond a closed side."""
        x0, y0, x1, y1 = self.size
        beyond: dict[Side, bool] = {"left": x < x0, "right": x > x1, "bottom": y < y0, "top": y > y1}
        for side, there in beyond.items():
            if there:
                return self.sides.get(side)
        return self.boxes[int(self.box_at(np.array(x), np.array(y)))].filling

    def load(self, time: float, surface: Surface) -> Load:
        """Load of a surface of the solver."""
        air = self.airs[str(surface.climate)]
        return {
            "air_temperature": air.temperature(time),
            "air_vapour_pressure": air.vapour_pressure(time),
            "film": air.film,
            "vapour_film": air.beta,
        }
