"""A drawing sheet: collects what a detail draws and hands over the section.

Spans are (from, to) in metres; x to the right, y up, y = 0 at the exterior grade.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from stemwall.cases.section.membrane_stacks import in_series
from stemwall.solver.model.section import Drain, Edge, Finish, Membrane, Opening, Probe, ProbeKind, Region, Section

Span = tuple[float, float]
#: gives the membrane of a catalogue id on the segment (name, id, x0, y0, x1, y1)
MembraneMaker = Callable[[str, str, float, float, float, float], Membrane]

#: shorter spans draw nothing [m]
NOTHING = 1e-9


class Sheet:
    """Painted items in order, membranes, finishes and probes of one section."""

    def __init__(self, x: Span, y: Span, make_membrane: MembraneMaker) -> None:
        self.x, self.y = x, y
        self.items: list[Region | Opening] = []
        self.membranes: list[Membrane] = []
        self.finishes: list[Finish] = []
        self.probes: list[Probe] = []
        self.drains: list[Drain] = []
        self._make_membrane = make_membrane

    def solid(self, name: str, material: str, x: Span, y: Span, initial_rh: float | None = None) -> None:
        """Paint a region; a span of no width paints nothing."""
        if x[1] - x[0] > NOTHING and y[1] - y[0] > NOTHING:
            self.items.append(Region(name, material, x[0], y[0], x[1], y[1], initial_rh))

    def opening(self, name: str, climate: str, x: Span, y: Span) -> None:
        """Paint an air space."""
        self.items.append(Opening(name, climate, x[0], y[0], x[1], y[1]))

    def level(self, name: str, material: str | None, x: Span, y: float) -> None:
        """Lay a membrane on a horizontal line; none if ``material`` is None."""
        if material is not None and x[1] - x[0] > NOTHING:
            self.membranes.append(self._make_membrane(name, material, x[0], y, x[1], y))

    def upright(self, name: str, material: str | None, x: float, y: Span) -> None:
        """Put a membrane on a vertical line; none if ``material`` is None."""
        if material is not None and y[1] - y[0] > NOTHING:
            self.membranes.append(self._make_membrane(name, material, x, y[0], x, y[1]))

    def drop(self, name: str) -> None:
        """Take a membrane away."""
        self.membranes = [membrane for membrane in self.membranes if membrane.name != name]

    def level_span(self, name: str) -> Span | None:
        """Return the stretch (from, to) in x over which the level pieces of a membrane lie, or None."""
        ends = [x for m in self.membranes if m.name == name and m.y0 == m.y1 for x in (m.x0, m.x1)]
        return (min(ends), max(ends)) if ends else None

    def cut(self, name: str, gap: Span) -> None:
        """Take a stretch (from, to) in x out of the level pieces of a membrane."""
        kept: list[Membrane] = []
        for membrane in self.membranes:
            if membrane.name != name or membrane.y0 != membrane.y1:
                kept.append(membrane)
                continue
            ends = (membrane.x0, min(membrane.x1, gap[0])), (max(membrane.x0, gap[1]), membrane.x1)
            kept += [replace(membrane, x0=low, x1=high) for low, high in ends if high - low > NOTHING]
        self.membranes = kept

    def probe(
        self,
        name: str,
        x: float,
        y: float,
        region: str,
        kind: ProbeKind,
        mould_class: str | None = None,
        note: str = "",
    ) -> None:
        """Place a probe."""
        self.probes.append(Probe(name, x, y, region, kind, mould_class, note))

    def drain(self, name: str, x: Span, y: Span) -> None:
        """Mark where water under pressure runs off; a line if ``x`` has no width, nothing without height."""
        if y[1] - y[0] > NOTHING:
            self.drains.append(Drain(name, x[0], y[0], x[1], y[1]))

    def section(self, water_table: float | None) -> Section:
        """Return the section; sides closed, the ground below open to heat and water, membranes in series."""
        water: Literal["table", "drainage"] = "drainage" if water_table is None else "table"
        return Section(
            self.x[0],
            self.y[0],
            self.x[1],
            self.y[1],
            tuple(self.items),
            tuple(in_series(self.membranes)),
            tuple(self.finishes),
            (Edge("left"), Edge("right"), Edge("bottom", "ground", water), Edge("top")),
            tuple(self.probes),
            water_table,
            drains=tuple(self.drains),
        )
