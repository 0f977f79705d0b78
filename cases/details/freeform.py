"""Free-form sections: rectangles, air spaces, membranes, drains, finishes, edges and probes, one table each."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator

from stemwall.cases.inputs.field_types import MembraneId, Name, Spelling, Strict, described, required
from stemwall.cases.inputs.quantities import (
    POSITION,
    Fraction,
    Humidity,
    Kind,
    Position,
    SdValue,
    SheetResistance,
    read,
)
from stemwall.materials.ranges import Quantity
from stemwall.solver.model.section import Drain, Edge, Finish, Membrane, Opening, Probe, ProbeKind, Region


def _span(value: object, kind: Kind) -> tuple[float, float]:
    """Return (from, to) [m] of a pair."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise ValueError('a pair [from, to], e.g. [0, "8 in"]')
    low, high = (read(item, kind) for item in value)
    return low, high


def _wide(value: object, kind: Kind) -> tuple[float, float]:
    low, high = _span(value, kind)
    if not low < high:
        raise ValueError(f"[from, to] with from < to; this one is {high - low:.4g} m wide")
    return low, high


def _line(value: object, kind: Kind) -> tuple[float, float]:
    if isinstance(value, list | tuple):
        low, high = _span(value, kind)
        return min(low, high), max(low, high)
    at = read(value, kind)
    return at, at


#: a pair [from, to] of positive width [m]
Wide = Annotated[tuple[float, float], Quantity(POSITION, _wide, read), Spelling('a pair [from, to], e.g. [0, "8 in"]')]
#: a position, or a pair [from, to] [m]
Line = Annotated[
    tuple[float, float],
    Quantity(POSITION, _line, read),
    Spelling('a position such as 0.2 or "8 in", or a pair [0, "8 in"]'),
]


class Bounds(Strict):
    """The outer rectangle, and extra mesh lines."""

    x: Wide = required("left and right end of the section in m")
    y: Wide = required("lower and upper end of the section in m; 0 is exterior grade")
    lines_x: tuple[Position, ...] = described((), "positions x that get a line of the mesh besides")
    lines_y: tuple[Position, ...] = described((), "positions y that get a line of the mesh besides")


class RegionTable(Strict):
    """A solid rectangle; regions and openings paint over what stands before them in the file."""

    name: Name = required("what it is called in drawings, messages and results")
    material: str = required(
        "id of a material: of the catalogue (`stemwall materials list`) or of [material] in this file"
    )
    x: Wide = required("from x to x in m")
    y: Wide = required("from y to y in m")
    initial_humidity: Humidity | None = described(
        None, "relative humidity at the start; by default run.initial_humidity, or run.ground_suction in soil"
    )

    grain: Literal["x", "y", "z"] = described(
        "z", "direction of the grain of wood: x, y, or z across the drawing, as of plates, rims and sleepers", "across"
    )

    def build(self) -> Region:
        """Return the region."""
        grain = None if self.grain == "z" else self.grain
        corners = (self.x[0], self.y[0], self.x[1], self.y[1])
        return Region(self.name, self.material, *corners, self.initial_humidity, grain=grain)


class OpeningTable(Strict):
    """An air space; ``climate`` is "outdoors" or a space of [indoor]."""

    name: Name = required("what it is called in drawings, messages and results")
    climate: str = required('whose air it holds: "outdoors", or a space of [indoor] or [zone]')
    x: Wide = required("from x to x in m")
    y: Wide = required("from y to y in m")

    def build(self) -> Opening:
        """Return the opening."""
        return Opening(self.name, self.climate, self.x[0], self.y[0], self.x[1], self.y[1])


class _Segment(Strict):
    """Something on an axis-aligned line: one of ``x``, ``y`` is a position, the other a pair."""

    name: Name = required("what it is called in drawings, messages and results")
    x: Line = required("x in m: a position, or a pair [from, to]")
    y: Line = required("y in m: a position, or a pair [from, to]")

    @model_validator(mode="after")
    def _aligned(self) -> _Segment:
        upright, level = self.x[0] == self.x[1], self.y[0] == self.y[1]
        if upright == level:
            raise ValueError("a horizontal or vertical line of some length: one of x, y a position, the other a pair")
        return self


class MembraneTable(_Segment):
    """A zero-thickness layer: a catalogue ``material``, or ``sd`` (or ``sd_dry`` and ``sd_wet``)."""

    material: MembraneId = described(None, "id of a membrane of the catalogue or of [material]; instead of sd")
    sd: SdValue | None = described(None, "equivalent air-layer thickness, or permeance, whatever the humidity")
    sd_dry: SdValue | None = described(None, "the same at low humidity (dry cup); with sd_wet")
    sd_wet: SdValue | None = described(None, "the same at high humidity (wet cup); with sd_dry")
    liquid: Literal["open", "break"] = described("break", "whether liquid water passes")
    resistance: SheetResistance = described(0.001, "thermal resistance", "negligible")

    @model_validator(mode="after")
    def _one_permeance(self) -> MembraneTable:
        ways = [self.material is not None, self.sd is not None, self.sd_dry is not None]
        if sum(ways) != 1 or (self.sd_dry is None) != (self.sd_wet is None):
            raise ValueError("one of: material, sd, or sd_dry with sd_wet")
        return self

    def build(self) -> Membrane:
        """Return the membrane; only for one without ``material``."""
        dry = self.sd if self.sd_dry is None else self.sd_dry
        wet = self.sd if self.sd_wet is None else self.sd_wet
        assert dry is not None
        assert wet is not None
        return Membrane(self.name, self.x[0], self.y[0], self.x[1], self.y[1], dry, wet, self.liquid, self.resistance)


class DrainTable(Strict):
    """A rectangle, a line or a point that holds no water under pressure; ``x`` and ``y`` are positions or pairs."""

    name: Name = required("what it is called in drawings, messages and results")
    x: Line = required("x in m: a position, or a pair [from, to]")
    y: Line = required("y in m: a position, or a pair [from, to]")

    def build(self) -> Drain:
        """Return the drain."""
        return Drain(self.name, self.x[0], self.y[0], self.x[1], self.y[1])


class FinishTable(_Segment):
    """Radiative properties of the exposed faces on a line."""

    absorptance: Fraction = described(0.6, "share of the sun absorbed", "common practice, no source")
    emissivity: Fraction = described(0.9, "longwave emissivity", "ISO 6946, most surfaces")

    def build(self) -> Finish:
        """Return the finish."""
        return Finish(self.name, self.x[0], self.y[0], self.x[1], self.y[1], self.absorptance, self.emissivity)


class EdgeTable(Strict):
    """What holds on one side of the outer rectangle; sides without a table are closed."""

    side: Literal["left", "right", "bottom", "top"] = required("which side of the outer rectangle")
    kind: Literal["closed", "ground", "climate"] = described(
        "closed",
        '"closed": no heat, no water; "ground": temperature of the deep ground; "climate": a space or outdoors',
        "symmetry, or far enough away",
    )
    water: Literal["closed", "table", "drainage"] = described(
        "closed",
        '"closed": none passes; "table": suction of the water table; "drainage": it leaves by its weight',
        "symmetry, or far enough away",
    )
    climate: str | None = described(None, 'whose air it is, with kind = "climate"')

    @model_validator(mode="after")
    def _named(self) -> EdgeTable:
        if (self.kind == "climate") != (self.climate is not None):
            raise ValueError('a climate by name where, and only where, kind = "climate"')
        return self

    def build(self) -> Edge:
        """Return the edge."""
        return Edge(self.side, self.kind, self.water, self.climate)


class ProbeTable(Strict):
    """A place whose temperature, humidity and water content are recorded."""

    name: Name = required("what it is called in drawings, messages and results")
    x: Position = required("position x in m, from the outer face of the wall at grade, rightwards")
    y: Position = required("position y in m, from exterior grade, upwards")
    region: str | None = described(None, "region whose water content is meant where several meet; by default any")
    kind: ProbeKind = described(
        "interface", "what lies there; decides which criteria apply", "a boundary between materials"
    )
    mould_class: Literal["VS", "S", "MR", "R"] | None = described(
        None,
        "sensitivity of the face to mould, from VS very sensitive to R resistant; by default none is judged",
    )
    note: str = described("", "anything worth saying about the place")

    def build(self) -> Probe:
        """Return the probe."""
        return Probe(self.name, self.x, self.y, self.region, self.kind, self.mould_class, self.note)
