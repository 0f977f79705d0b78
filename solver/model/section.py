"""The section: what a person draws.

A section is a rectangle painted in order with solid regions and openings (air
spaces), plus zero-thickness membranes along axis-aligned lines, surface
finishes, and probes.  Coordinates in metres, x to the right, y up; by
convention y = 0 is the exterior grade, the outdoors lies on the left and the
building on the right.  Everything is per metre of length along the wall.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Side = Literal["left", "right", "bottom", "top"]
#: what lies at a probe; the criteria ask for it
ProbeKind = Literal[
    "wood", "interface", "surface", "concrete", "insulation", "air", "footing", "soil", "ground contact", "exterior"
]


@dataclass(frozen=True)
class Region:
    """A solid rectangle of one material; a later region paints over an earlier one.

    Parameters
    ----------
    name : str
        Unique name; appears in drawings, errors and results.
    material : str
        Key of the material in the run's material set.
    x0, y0, x1, y1 : float
        Corners [m], x0 < x1 and y0 < y1.
    initial_rh : float or None
        Initial relative humidity [-] of this region; None takes the case's rule.
    grain : {"x", "y"} or None
        Direction of the grain of wood in the drawing; None where it runs across the drawing.
    """

    name: str
    material: str
    x0: float
    y0: float
    x1: float
    y1: float
    initial_rh: float | None = None
    grain: Literal["x", "y"] | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class Opening:
    """An air space: every solid face that looks into it meets its climate.

    ``climate`` is the key of the climate ("outdoors", "crawlspace", "house").
    """

    name: str
    climate: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True)
class Membrane:
    """A zero-thickness layer on the segment (x0, y0)-(x1, y1), horizontal or vertical.

    Parameters
    ----------
    sd_dry, sd_wet : float
        Equivalent air-layer thickness [m] at low and at high mean RH; between
        25 % and 75 % the permeance is interpolated linearly.
    liquid : {"open", "break"}
        Whether liquid water passes.
    resistance : float
        Thermal resistance [m2 K/W].
    """

    name: str
    x0: float
    y0: float
    x1: float
    y1: float
    sd_dry: float
    sd_wet: float
    liquid: Literal["open", "break"] = "break"
    resistance: float = 1e-3


@dataclass(frozen=True)
class Finish:
    """Radiative properties of exposed faces that lie on a segment; default: the material's own."""

    name: str
    x0: float
    y0: float
    x1: float
    y1: float
    absorptance: float = 0.6
    emissivity: float = 0.9


@dataclass(frozen=True)
class Probe:
    """A named place whose temperature, humidity and water content are recorded.

    The probe reads between the nodes round (x, y) that belong to ``region`` (any
    region if None); at an interface ``region`` says whose water content is meant.
    ``kind`` tells the assessment what lies there: "ground contact" is a face between mineral or
    closed-cell layers, wet by nature, "exterior" one in the weather, which no limit for rooms speaks
    about; ``mould_class`` the sensitivity class of that face or None.
    """

    name: str
    x: float
    y: float
    region: str | None = None
    kind: ProbeKind = "interface"
    mould_class: str | None = None
    note: str = ""


@dataclass(frozen=True)
class Drain:
    """A rectangle that holds no water under pressure: what rises above it runs off.

    A perimeter drain, a sump, or the core of a drainage mat; ``x0 = x1`` or
    ``y0 = y1`` makes it a line.
    """

    name: str
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True)
class Edge:
    """What holds on one side of the outer rectangle, where it is solid.

    ``kind``: "closed" (no heat, no water), "ground" (bottom: given temperature
    series and a water condition), or "climate" (the named climate).
    ``water``: "closed", "table" (suction from a water table, which may lie
    above or below the edge), or "drainage" (unit gradient).
    """

    side: Side
    kind: Literal["closed", "ground", "climate"] = "closed"
    water: Literal["closed", "table", "drainage"] = "closed"
    climate: str | None = None


@dataclass(frozen=True)
class Section:
    """Everything drawn: bounds, painted items in order, membranes, finishes, edges, probes.

    ``items`` is painted in order, regions and openings alike; whatever is left
    unpainted is an error (see `problems`).
    """

    x0: float
    y0: float
    x1: float
    y1: float
    items: tuple[Region | Opening, ...]
    membranes: tuple[Membrane, ...] = ()
    finishes: tuple[Finish, ...] = ()
    edges: tuple[Edge, ...] = ()
    probes: tuple[Probe, ...] = ()
    #: y of the water table [m]; None: no water table within reach
    water_table: float | None = None
    #: extra mesh lines wanted by the author [m]
    lines_x: tuple[float, ...] = field(default=())
    lines_y: tuple[float, ...] = field(default=())
    drains: tuple[Drain, ...] = ()

    @property
    def regions(self) -> tuple[Region, ...]:
        """Regions in the order in which they are painted."""
        return tuple(item for item in self.items if isinstance(item, Region))

    @property
    def openings(self) -> tuple[Opening, ...]:
        """Openings in the order in which they are painted."""
        return tuple(item for item in self.items if isinstance(item, Opening))

    @property
    def materials(self) -> tuple[str, ...]:
        """Material keys in order of first appearance."""
        return tuple(dict.fromkeys(region.material for region in self.regions))

    @property
    def grained(self) -> tuple[str, ...]:
        """Material keys of wood whose grain lies in the drawing, in order of first appearance."""
        return tuple(dict.fromkeys(region.material for region in self.regions if region.grain))

    @property
    def climates(self) -> tuple[str, ...]:
        """Climate keys in order of first appearance."""
        named = [opening.climate for opening in self.openings]
        named += [edge.climate for edge in self.edges if edge.climate]
        return tuple(dict.fromkeys(named))
