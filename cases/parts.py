"""The parts that foundation details share: their dimensions, and how they are drawn.

x = 0 is the exterior face of the stem wall, y = 0 the exterior grade.
"""

from __future__ import annotations

import operator
from dataclasses import dataclass
from typing import Literal

from stemwall.cases.fields import PRACTICE, MembraneId, Strict, described
from stemwall.cases.quantities import Extent, Fraction, Thickness
from stemwall.cases.sheet import Sheet, Span
from stemwall.solver.section import Finish

Placement = Literal["inside", "outside", "both", "none"]
OUTDOORS, HOUSE, CRAWLSPACE = "outdoors", "house", "crawlspace"
NATIVE_SOIL, STEM_WALL, FOOTING = "native soil", "stem wall", "footing"
INSIDE_INSULATION, OUTSIDE_INSULATION = "inside insulation", "outside insulation"
SILL, RIM, RIM_INSULATION, SHEATHING = "sill plate", "rim joist", "rim insulation", "sheathing"


class Wall(Strict):
    """The concrete stem wall."""

    thickness: Thickness = described("8 in", "thickness of the stem wall", PRACTICE)
    above_grade: Thickness = described(
        "8 in",
        "exterior grade to the top of the wall",
        "wood nearer than 8 in to exposed ground must be durable (R317.1 or equal); see the local code",
    )
    below_grade: Thickness = described(
        "3 ft",
        "exterior grade to the top of the footing",
        f"{PRACTICE}; frost depth is a matter of the local code",
    )
    material: str = described("concrete_wc050", "material of the wall")
    damp_proofing: MembraneId = described(
        "dampproof_asphalt", "coat on the exterior face, footing to grade, or false"
    )
    solar_absorptance: Fraction = described(
        0.6,
        "share of the sun that the exposed concrete absorbs",
        "grey concrete 0.55–0.65; common practice, no source",
    )


class Footing(Strict):
    """The footing, centred under the stem wall."""

    width: Thickness = described("16 in", "width of the footing", PRACTICE)
    height: Thickness = described("8 in", "height of the footing", PRACTICE)
    material: str = described("concrete_footing", "material of the footing")
    capillary_break: MembraneId = described(False, "membrane between footing and stem wall, or false")


class Board(Strict):
    """One layer of insulation on the stem wall."""

    material: str = described("xps_25", "material of the insulation; mw_batt_40 is an air-permeable batt")
    thickness: Thickness = described(
        "2 in", "thickness of the insulation", "about R-10 in extruded polystyrene"
    )


class WallInsulation(Strict):
    """Insulation on the stem wall, from the top of the footing to the top of the wall."""

    placement: Placement = described("inside", '"inside", "outside", "both" or "none"')
    inside: Board = described(Board(), "the layer inside")
    outside: Board = described(Board(), "the layer outside")

    @property
    def inside_thickness(self) -> float:
        """Thickness of what is really there inside [m]."""
        return self.inside.thickness if self.placement in ("inside", "both") else 0.0

    @property
    def outside_thickness(self) -> float:
        """Thickness of what is really there outside [m]."""
        return self.outside.thickness if self.placement in ("outside", "both") else 0.0


class Sill(Strict):
    """The sill plate, flush with the exterior face of the stem wall."""

    width: Thickness = described("5 1/2 in", "width of the plate", "nominal 2×6 lumber, dressed size")
    thickness: Thickness = described("1 1/2 in", "thickness of the plate", "nominal 2×6 lumber, dressed size")
    material: str = described("sill_pt_across", "material of the plate")
    capillary_break: MembraneId = described("sill_gasket", "membrane between wall and plate, or false")
    initial_humidity: Fraction = described(0.80, "relative humidity of the wood at the start", PRACTICE)


class Backfill(Strict):
    """What fills the trench outside, and the cap that sheds surface water."""

    width: Extent = described("2 ft", "width of the drained fill beside the wall; 0 for none", PRACTICE)
    material: str = described("gravel_bankrun", "material of the fill")
    cap_thickness: Extent = described(
        "1 ft", "thickness of the low-permeability cap at grade; 0 for none", PRACTICE
    )
    cap_width: Extent = described("5 ft", "width of the cap beside the wall", PRACTICE)
    cap_material: str = described("clay_cap", "material of the cap")


class HouseWall(Strict):
    """The foot of the framed wall above the floor; cut and closed at its top."""

    height: Thickness = described(
        "1 ft",
        "height of the drawn foot above the subfloor",
        "about twice the wall's thickness; common practice, no source",
    )
    insulation: str = described("mw_batt_40", "material in the stud space")
    sheathing: str = described("osb_na_11", "material of the sheathing")
    sheathing_thickness: Thickness = described("7/16 in", "thickness of the sheathing", PRACTICE)
    weather_barrier: MembraneId = described(
        "housewrap",
        "water-shedding layer on the sheathing, or false; it stands for the cladding, which is not drawn",
    )
    vapour_retarder: MembraneId = described(
        "kraft_facing", "layer on the room side of the stud space, or false"
    )


class Ground(Strict):
    """How much ground is drawn."""

    outward: Thickness = described(
        "10 m",
        "from the wall to the far side",
        "ISO 10211: 2.5 times the width of the building; this is half of it for 8 m, double it to check",
    )
    down: Thickness = described("10 m", "from grade to the lower edge", "as outward")


def clashes(
    wall: Wall, footing: Footing, insulation: WallInsulation, sill: Sill, backfill: Backfill, ground: Ground
) -> list[tuple[str, str, str]]:
    """Return (path, found, expected) of shared dimensions that do not go together."""
    rules = [
        ("footing.width", footing.width, ">=", wall.thickness, "the thickness of the wall"),
        ("sill.width", sill.width, "<=", wall.thickness, "the thickness of the wall"),
        (
            "backfill.cap_thickness",
            backfill.cap_thickness,
            "<",
            wall.below_grade,
            "the depth of the footing's top",
        ),
        (
            "ground.down",
            ground.down,
            ">",
            wall.below_grade + footing.height,
            "the depth of the footing's base",
        ),
        (
            "ground.outward",
            ground.outward,
            ">",
            _reach(footing, insulation, backfill),
            "what is drawn beside the wall",
        ),
    ]
    holds = {">=": operator.ge, "<=": operator.le, "<": operator.lt, ">": operator.gt}
    words = {">=": "at least", "<=": "at most", "<": "less than", ">": "more than"}
    return [
        (path, f"{value:.3g} m", f"{words[sign]} {what}, {limit:.3g} m")
        for path, value, sign, limit, what in rules
        if not holds[sign](value, limit)
    ]


def _reach(footing: Footing, insulation: WallInsulation, backfill: Backfill) -> float:
    """How far anything is drawn outwards from the wall [m]."""
    return insulation.outside_thickness + max(backfill.width, backfill.cap_width, footing.width / 2)


@dataclass(frozen=True)
class Frame:
    """Lines that several parts refer to [m].

    ``outer`` is the exterior face of what covers the wall, ``inner`` the interior face.
    """

    footing_top: float
    footing_bottom: float
    wall_top: float
    thickness: float
    outer: float
    inner: float
    left: float
    right: float
    bottom: float
    footing: Span


def frame(
    wall: Wall, footing: Footing, insulation: WallInsulation, ground: Ground, half_width: float
) -> Frame:
    """Return the lines of a stem wall on its footing; ``half_width`` [m] is measured from its inner face."""
    middle = wall.thickness / 2
    return Frame(
        footing_top=-wall.below_grade,
        footing_bottom=-wall.below_grade - footing.height,
        wall_top=wall.above_grade,
        thickness=wall.thickness,
        outer=-insulation.outside_thickness,
        inner=wall.thickness + insulation.inside_thickness,
        left=-ground.outward,
        right=wall.thickness + half_width,
        bottom=-ground.down,
        footing=(middle - footing.width / 2, middle + footing.width / 2),
    )


def draw_ground(sheet: Sheet, at: Frame, soil: str, backfill: Backfill) -> None:
    """Paint the native soil, the drained fill and its cap."""
    sheet.solid(NATIVE_SOIL, soil, (at.left, at.right), (at.bottom, 0.0))
    edge = at.outer - backfill.width
    if backfill.width > 0:
        sheet.solid("backfill", backfill.material, (edge, at.outer), (at.footing_bottom, 0.0))
    if backfill.cap_width > 0:
        cap = (at.outer - backfill.cap_width, at.outer)
        sheet.solid("clay cap", backfill.cap_material, cap, (-backfill.cap_thickness, 0.0))


def draw_wall(sheet: Sheet, at: Frame, wall: Wall, footing: Footing, insulation: WallInsulation) -> None:
    """Paint footing, stem wall, its insulation and its membranes."""
    sheet.solid(FOOTING, footing.material, at.footing, (at.footing_bottom, at.footing_top))
    height = (at.footing_top, at.wall_top)
    sheet.solid(OUTSIDE_INSULATION, insulation.outside.material, (at.outer, 0.0), height)
    sheet.solid(STEM_WALL, wall.material, (0.0, at.thickness), height)
    sheet.solid(INSIDE_INSULATION, insulation.inside.material, (at.thickness, at.inner), height)
    sheet.upright("damp-proofing", wall.damp_proofing, 0.0, (at.footing_top, 0.0))
    sheet.level("footing capillary break", footing.capillary_break, (0.0, at.thickness), at.footing_top)


def draw_house_wall(sheet: Sheet, house: HouseWall, depth: float, low: float, floor: float) -> None:
    """Paint the foot of the framed wall.

    Parameters
    ----------
    depth : float
        Depth of the stud space [m].
    low : float
        Lower edge of the sheathing [m].
    floor : float
        Lower edge of the stud space [m].
    """
    top = floor + house.height
    sheet.solid("stud space", house.insulation, (0.0, depth), (floor, top))
    sheet.solid(SHEATHING, house.sheathing, (-house.sheathing_thickness, 0.0), (low, top))
    sheet.upright("weather barrier", house.weather_barrier, -house.sheathing_thickness, (low, top))
    sheet.upright("vapour retarder", house.vapour_retarder, depth, (floor, top))


def finish_concrete(sheet: Sheet, at: Frame, absorptance: float) -> None:
    """Give the strip above grade its solar absorptance; longwave emissivity 0.9 as of most surfaces."""
    sheet.finishes.append(
        Finish(
            "strip above grade", at.outer, 0.0, at.outer, at.wall_top, absorptance=absorptance, emissivity=0.9
        )
    )


def probe_wall(sheet: Sheet, at: Frame, sill: Sill, low: float, insulation: WallInsulation) -> None:
    """Place the probes of stem wall, sill and footing; ``low`` [m] is the lower end of the inner face."""
    half = sill.width / 2
    sheet.probe("sill underside", half, at.wall_top, SILL, "wood", "S", "where wood meets concrete")
    sheet.probe("sill core", half, at.wall_top + sill.thickness / 2, SILL, "wood")
    buried = insulation.inside_thickness > 0
    kind: Literal["interface", "surface"] = "interface" if buried else "surface"
    for word, share in (("upper", 0.9), ("middle", 0.5), ("lower", 0.1)):
        y = low + share * (at.wall_top - low)
        sheet.probe(
            f"wall inner face, {word}",
            at.thickness,
            y,
            STEM_WALL,
            kind,
            "MR",
            "concrete behind the insulation",
        )
    sheet.probe(
        "wall exterior face at grade", 0.0, 0.0, STEM_WALL, "surface" if at.outer == 0 else "interface", "MR"
    )
    sheet.probe("stem wall core", at.thickness / 2, (low + at.wall_top) / 2, STEM_WALL, "concrete")
    sheet.probe("footing core", at.thickness / 2, (at.footing_top + at.footing_bottom) / 2, FOOTING, "concrete")
    for word, x in (("outer", at.footing[0]), ("middle", at.thickness / 2), ("inner", at.footing[1])):
        note = "soil under the footing; frost here can heave"
        sheet.probe(f"under footing, {word}", x, at.footing_bottom, NATIVE_SOIL, "footing", None, note)
