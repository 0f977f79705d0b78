"""Basements: a wall down to its footing, of cast concrete or in insulated concrete forms, and a slab.

The space between the slab and the subfloor is one opening, "basement"; joists
cross the section plane's depth and are not drawn.
"""

from __future__ import annotations

from typing import ClassVar, Literal

from stemwall.cases.details.dimensions import BASEMENT, FORM, Placement, Wall, WallInsulation
from stemwall.cases.details.floor import BasementSlab, InnerFloor
from stemwall.cases.details.foundation import Clash, WalledSpace, broken
from stemwall.cases.details.frame import Frame
from stemwall.cases.details.framing import Storey
from stemwall.cases.details.workmanship import FormedWorkmanship, WalledWorkmanship
from stemwall.cases.inputs.field_types import PRACTICE, MembraneId, Strict, described
from stemwall.cases.inputs.quantities import DeepDepth, FrameDepth, LumberThickness, OptionalPanel
from stemwall.cases.section.canvas import Sheet

FRAME, BOTTOM_PLATE, TOP_PLATE, LINING = "frame wall", "bottom plate", "top plate", "lining"


class BasementWall(Wall):
    """The concrete basement wall."""

    below_grade: DeepDepth = described("7 ft", "exterior grade to the top of the footing", PRACTICE)


class FormedWall(BasementWall):
    """The concrete core of a basement wall in insulated concrete forms."""

    damp_proofing: MembraneId = described(
        "self_adhered",
        "membrane on the outer panel, footing to grade, or false; solvents of a cold asphalt coat attack the foam",
    )


class Lining(Strict):
    """What is built before the wall inside: a frame wall, a board, both or nothing."""

    frame_depth: FrameDepth = described(0, "depth of the frame wall, e.g. 3 1/2 in; 0 for none", "none by default")
    frame_insulation: str = described("mineral_wool_batt_40", "material between the studs, which are not drawn")
    plate: str = described("lumber_spf", "material of the plates below and above the studs")
    plate_thickness: LumberThickness = described("1 1/2 in", "thickness of a plate", "nominal 2×4 lumber, dressed size")
    vapour_retarder: MembraneId = described(
        False, "membrane between frame wall and board, e.g. kraft_facing or retarder_variable, or false"
    )
    board: str = described("gypsum_13", "material of the board on the room side")
    board_thickness: OptionalPanel = described(
        0, "thickness of the board; 0 for none", "none by default; 1/2 in is usual"
    )
    paint: MembraneId = described(False, "paint on the board, e.g. paint_latex, or false")

    @property
    def depth(self) -> float:
        """Depth of all of it [m]."""
        return self.frame_depth + self.board_thickness


class FormLining(Lining):
    """What is built before the inner panel of a form: a painted board."""

    board_thickness: OptionalPanel = described(
        "1/2 in", "thickness of the board; 0 for none", f"{PRACTICE}; foam wants a thermal barrier, see the local code"
    )
    paint: MembraneId = described("paint_latex", "paint on the board, or false")


class FormedInsulation(WallInsulation):
    """Insulation on a wall cast in insulated concrete forms: the forms themselves."""

    placement: Placement = described(FORM, '"insulated concrete form": the panels of [detail.insulation.form]')


class AnyBasement(WalledSpace):
    """What the basements have in common."""

    space: ClassVar[str] = BASEMENT
    wall: BasementWall = described(BasementWall(), "the basement wall")
    lining: Lining = described(Lining(), "what is built before the wall inside")
    slab: BasementSlab = described(BasementSlab(), "the slab and what lies under it")

    @property
    def inner_floor(self) -> InnerFloor:
        """The slab."""
        return self.slab

    def clashes(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that do not go together."""
        found = super().clashes()
        found += broken(
            [("slab.base_thickness", self.slab.base_thickness, "<", self.footing.height, "the footing's height")]
        )
        inner = self.insulation.inner
        if inner is not None and inner.reach > 0 and self.lining.depth > 0:
            found.append(("insulation.inside.reach", f"{inner.reach:.3g} m, behind a lining", "0, the whole height"))
        return found

    def _draw_lining(self, sheet: Sheet, at: Frame, levels: Storey) -> float:
        """Paint plates, stud space and board; return x [m] of the finished face."""
        lining, low, high = self.lining, self.floor_level, levels.sill_top
        stud, face = at.inner + lining.frame_depth, at.inner + lining.depth
        across = (at.inner, stud)
        sheet.solid(FRAME, lining.frame_insulation, across, (low, high))
        sheet.solid(BOTTOM_PLATE, lining.plate, across, (low, low + lining.plate_thickness))
        sheet.solid(TOP_PLATE, lining.plate, across, (high - lining.plate_thickness, high))
        sheet.solid(LINING, lining.board, (stud, face), (low, high))
        if lining.depth > 0:
            sheet.upright("lining vapour retarder", lining.vapour_retarder, stud, (low, high))
        if lining.board_thickness > 0:
            sheet.upright("paint", lining.paint, face, (low, high))
        return face

    def _place_probes(self, sheet: Sheet, at: Frame, levels: Storey, face: float) -> None:
        super()._place_probes(sheet, at, levels, face)
        lining, low = self.lining, self.floor_level
        height = levels.wall_top - low
        if lining.frame_depth > 0:
            note = "where the studs meet what is behind them"
            for word, share in (("upper", 0.9), ("lower", 0.1)):
                y = low + share * height
                sheet.probe(f"frame wall, outer side, {word}", at.inner, y, FRAME, "interface", "S", note)
            middle = at.inner + lining.frame_depth / 2
            sheet.probe("bottom plate underside", middle, low, BOTTOM_PLATE, "wood", "S", "on the slab")
        if lining.board_thickness > 0:
            back = face - lining.board_thickness
            sheet.probe("lining, back", back, low + 0.1 * height, LINING, "interface", "S", "paper face of the board")


class Basement(AnyBasement):
    """A basement, from the far ground outside to the middle of the building."""

    kind: Literal["basement"] = described("basement", "which detail it is")
    workmanship: WalledWorkmanship = described(WalledWorkmanship(), "what is built worse than drawn")


class FormedBasement(AnyBasement):
    """A basement with a wall of insulated concrete forms: foam on both sides of a concrete core."""

    kind: Literal["insulated concrete form wall"] = described("insulated concrete form wall", "which detail it is")
    wall: FormedWall = described(FormedWall(), "the basement wall")
    insulation: FormedInsulation = described(FormedInsulation(), "insulation of the basement wall")
    lining: FormLining = described(FormLining(), "what is built before the inner panel")
    workmanship: FormedWorkmanship = described(FormedWorkmanship(), "what is built worse than drawn")
