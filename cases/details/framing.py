"""What stands on the stem wall: sill plate, flashing, rim joist, floor, foot of the framed wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stemwall.cases.details.dimensions import Wall
from stemwall.cases.details.frame import Frame
from stemwall.cases.inputs.field_types import PRACTICE, MembraneId, Strict, described
from stemwall.cases.inputs.quantities import (
    FootHeight,
    Humidity,
    JoistDepth,
    Lap,
    LumberThickness,
    OptionalBoard,
    PlateWidth,
    SheathingThickness,
)
from stemwall.cases.section.canvas import Sheet

SILL, RIM, RIM_INSULATION, RIM_COVER = "sill plate", "rim joist", "rim insulation", "rim cover"
SILL_BREAK = "sill capillary break"
SHEATHING, SUBFLOOR, JOIST_BATT = "sheathing", "subfloor", "floor insulation"


class Sill(Strict):
    """The sill plate, flush with the exterior face of the stem wall."""

    width: PlateWidth = described("5 1/2 in", "width of the plate", "nominal 2×6 lumber, dressed size")
    thickness: LumberThickness = described("1 1/2 in", "thickness of the plate", "nominal 2×6 lumber, dressed size")
    material: str = described("lumber_treated_pine", "material of the plate")
    capillary_break: MembraneId = described("sill_gasket", "membrane between wall and plate, or false")
    initial_humidity: Humidity = described(0.80, "relative humidity of the wood at the start", PRACTICE)


class Flashing(Strict):
    """The fluid-applied flashing on the exterior face of rim joist, sill plate and top of the wall."""

    material: MembraneId = described(
        False, "fluid_perm (lets vapour out), fluid_imperm or another membrane, behind the sheathing; or false"
    )
    lap: Lap = described("4 in", "how far it laps down on the concrete", PRACTICE)


class Rim(Strict):
    """The rim joist and the insulation on its inner face."""

    depth: JoistDepth = described("9 1/4 in", "depth of the joists", "nominal 2×10 lumber, dressed size")
    thickness: LumberThickness = described(
        "1 1/2 in", "thickness of the rim joist", "nominal 2×10 lumber, dressed size"
    )
    material: str = described("lumber_spf", "material of the rim joist")
    insulation: str = described(
        "foam_spray_closed",
        "material of the rim insulation: foam_spray_closed or foam_spray_open (spray foam), mineral_wool_batt_40, "
        "xps_25, ...",
    )
    insulation_thickness: OptionalBoard = described("2 in", "thickness of the rim insulation; 0 for none", PRACTICE)
    cover_ledge: bool = described(True, "whether it also covers the sill plate and the top of the wall")
    cover: str = described(
        "mineral_wool_board_128",
        "material of a cover over the foam, such as mineral wool as fire block; what may stay bare is a matter "
        "of the local code",
    )
    cover_thickness: OptionalBoard = described(0, "thickness of the cover; 0 for none", "none by default")

    @property
    def face(self) -> float:
        """Interior face of all that [m]."""
        return self.thickness + self.insulation_thickness + self.cover_thickness


class Floor(Strict):
    """The floor above; its joists cross the section's depth and are not drawn."""

    subfloor: str = described("plywood_19", "material of the subfloor")
    subfloor_thickness: SheathingThickness = described("3/4 in", "thickness of the subfloor", PRACTICE)
    covering: MembraneId = described(False, "floor covering as a membrane on the subfloor, e.g. vinyl_sheet, or false")
    insulation: str = described(
        "mineral_wool_batt_40", "material of the insulation between the joists, under the subfloor"
    )
    insulation_thickness: OptionalBoard = described(
        0, "thickness of the insulation between the joists; 0 for none", "none by default"
    )
    facing: MembraneId = described(
        False, "membrane on the lower face of the insulation between the joists, e.g. housewrap, or false"
    )


class HouseWall(Strict):
    """The foot of the framed wall above the floor; cut and closed at its top."""

    height: FootHeight = described(
        "1 ft",
        "height of the drawn foot above the subfloor",
        "about twice the wall's thickness; common practice, no source",
    )
    insulation: str = described("mineral_wool_batt_40", "material in the stud space")
    sheathing: str = described("osb_11", "material of the sheathing")
    sheathing_thickness: SheathingThickness = described("7/16 in", "thickness of the sheathing", PRACTICE)
    weather_barrier: MembraneId = described(
        "housewrap",
        "water-shedding layer on the sheathing, or false; it stands for the cladding, which is not drawn",
    )
    vapour_retarder: MembraneId = described("kraft_facing", "layer on the room side of the stud space, or false")


@dataclass(frozen=True)
class Storey:
    """Heights above the stem wall [m]: tops of wall, plate, joists, subfloor, and of the drawing."""

    wall_top: float
    sill_top: float
    joist_top: float
    floor_top: float
    top: float


def storey(wall: Wall, sill: Sill, rim: Rim, floor: Floor, house_wall: HouseWall) -> Storey:
    """Return the heights of plate, joists and subfloor."""
    sill_top = wall.above_grade + sill.thickness
    joist_top = sill_top + rim.depth
    floor_top = joist_top + floor.subfloor_thickness
    return Storey(wall.above_grade, sill_top, joist_top, floor_top, floor_top + house_wall.height)


def draw_sill(sheet: Sheet, sill: Sill, wall_top: float) -> None:
    """Paint the sill plate and its capillary break."""
    height = (wall_top, wall_top + sill.thickness)
    sheet.solid(SILL, sill.material, (0.0, sill.width), height, sill.initial_humidity)
    sheet.level(SILL_BREAK, sill.capillary_break, (0.0, sill.width), wall_top)


def draw_flashing(sheet: Sheet, flashing: Flashing, wall_top: float, top: float) -> None:
    """Lay the flashing from its lap on the concrete up to ``top`` [m]."""
    sheet.upright("sill flashing", flashing.material, 0.0, (wall_top - flashing.lap, top))


def draw_rim(sheet: Sheet, at: Frame, rim: Rim, sill: Sill, levels: Storey) -> None:
    """Paint rim joist, its insulation and cover, and the sill plate."""
    foam = rim.thickness + rim.insulation_thickness
    height = (levels.sill_top, levels.joist_top)
    sheet.solid(RIM_COVER, rim.cover, (foam, rim.face), height)
    sheet.solid(RIM_INSULATION, rim.insulation, (rim.thickness, foam), height)
    if rim.cover_ledge:
        _draw_ledge(sheet, at, rim, levels)
    draw_sill(sheet, sill, levels.wall_top)
    sheet.solid(RIM, rim.material, (0.0, rim.thickness), height)


def _draw_ledge(sheet: Sheet, at: Frame, rim: Rim, levels: Storey) -> None:
    """Paint the insulation and the cover that turn over the sill plate on to the top of the wall."""
    low = levels.sill_top + rim.insulation_thickness
    if at.inner > rim.face:
        sheet.solid("ledge cover", rim.cover, (rim.face, at.inner), (low, low + rim.cover_thickness))
    if rim.insulation_thickness > 0:
        ledge = (levels.wall_top, low)
        sheet.solid("ledge insulation", rim.insulation, (rim.thickness, at.inner), ledge)


def draw_floor(sheet: Sheet, at: Frame, floor: Floor, rim: Rim, sill: Sill, levels: Storey) -> None:
    """Paint subfloor, its covering, and the insulation between the joists; the rim is painted over its end."""
    low = levels.joist_top - floor.insulation_thickness
    sheet.solid(JOIST_BATT, floor.insulation, (rim.face, at.right), (low, levels.joist_top))
    if floor.insulation_thickness > 0:
        ledge_top = levels.sill_top + rim.insulation_thickness + rim.cover_thickness
        start = max(rim.face, at.inner) if rim.cover_ledge and low < ledge_top else rim.face
        sheet.level("floor insulation facing", floor.facing, (start, at.right), low)
    sheet.solid(SUBFLOOR, floor.subfloor, (0.0, at.right), (levels.joist_top, levels.floor_top))
    sheet.level("floor covering", floor.covering, (sill.width, at.right), levels.floor_top)


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


def probe_sill(sheet: Sheet, sill: Sill, wall_top: float) -> None:
    """Place the probes of the sill plate."""
    half = sill.width / 2
    sheet.probe("sill underside", half, wall_top, SILL, "wood", "S", "where wood meets concrete")
    sheet.probe("sill core", half, wall_top + sill.thickness / 2, SILL, "wood")


def probe_rim(sheet: Sheet, rim: Rim, levels: Storey) -> None:
    """Place the probes of the rim joist and of what covers it."""
    y = (levels.sill_top + levels.joist_top) / 2
    behind = rim.insulation_thickness > 0
    note = "behind the rim insulation" if behind else ""
    sheet.probe("rim joist inner face", rim.thickness, y, RIM, "wood", "S", note)
    sheet.probe("rim joist exterior face", 0.0, y, RIM, "wood", "S", "behind the sheathing")
    if behind and rim.cover_thickness > 0:
        foam = rim.thickness + rim.insulation_thickness
        sheet.probe("rim insulation, under its cover", foam, y, RIM_COVER, "interface", "MR")


def probe_floor(sheet: Sheet, floor: Floor, rim: Rim, levels: Storey, middle: float) -> None:
    """Place the probes of the subfloor; ``middle`` is their x [m] away from the rim."""
    near, y = rim.face + 0.05, levels.joist_top
    note = "above the floor insulation" if floor.insulation_thickness > 0 else ""
    sheet.probe("subfloor underside", middle, y, SUBFLOOR, "wood", "S", note)
    sheet.probe("subfloor underside at the rim", near, y, SUBFLOOR, "wood", "S", "0.05 m from the rim")
    if floor.insulation_thickness > 0:
        kind: Literal["interface", "surface"] = "surface" if floor.facing is None else "interface"
        low = y - floor.insulation_thickness
        sheet.probe("floor insulation underside", middle, low, JOIST_BATT, kind, "MR")
