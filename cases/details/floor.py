"""What lies inside the stem wall: slab or bare earth, and what lies under it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import ClassVar

from stemwall.cases.details.dimensions import NATIVE_SOIL
from stemwall.cases.details.frame import Frame
from stemwall.cases.inputs.field_types import PRACTICE, MembraneId, Strict, described
from stemwall.cases.inputs.quantities import (
    EarthHeight,
    Fraction,
    OptionalBase,
    OptionalBoard,
    OptionalPanel,
    SlabThickness,
    TurnUp,
)
from stemwall.cases.section.canvas import Sheet

GROUND_SHEET, GROUND_COVER, TURNED_UP = "ground sheet", "ground cover", ", turned up"
SLAB, UNDER_SLAB, STONE, EDGE_STRIP = "slab", "under-slab insulation", "stone base", "slab-edge strip"

#: probes near the wall stand this far from it [m] (common practice, no source)
EDGE = 0.15


class InnerFloor(Strict, ABC):
    """What the space inside the wall stands on; ``sheet_name`` is the membrane against the ground's moisture."""

    sheet_name: ClassVar[str] = GROUND_SHEET

    @abstractmethod
    def top(self, footing_top: float) -> float:
        """Return y [m] of the floor surface."""

    @abstractmethod
    def reach(self, footing_top: float) -> float:
        """Return y [m] up to which anything of the floor goes, on the wall too."""

    @abstractmethod
    def draw(self, sheet: Sheet, at: Frame) -> None:
        """Paint the floor; what is above its surface is an opening already."""

    @abstractmethod
    def probe(self, sheet: Sheet, at: Frame, face: float) -> None:
        """Place the probes of the floor; ``face`` is x [m] of the finished interior face."""


class ThinSlab(InnerFloor):
    """The thin slab over the ground sheet; its base lies level with the top of the footing."""

    thickness: SlabThickness = described("2 in", "thickness of the slab", "2–3 in; common practice, no source")
    material: str = described("concrete_wc070", "material of the slab")
    covering: MembraneId = described(False, "floor covering as a membrane, e.g. vinyl_sheet, or false")
    ground_sheet: MembraneId = described("pe_015", "sheet under the slab and up the wall, or false")
    turn_up: TurnUp = described(
        "6 in", "height of the sheet on the wall above the slab", "R408.3 or its equivalent, 6 in"
    )
    edge_strip: str = described("xps_25", "material of the isolation strip between slab and wall")
    edge_strip_thickness: OptionalPanel = described(
        0, "thickness of the isolation strip; 0 for none", "none by default; 1/2 in is usual (common practice)"
    )
    insulation: str = described("xps_25", "material of the insulation under the sheet")
    insulation_thickness: OptionalBoard = described(
        0, "thickness of the insulation under the sheet; 0 for none", "none by default"
    )
    base: str = described("stone_crushed", "material under all that, inside the footing")
    base_thickness: OptionalBase = described("4 in", "thickness of the base; 0 for none", PRACTICE)

    def low(self, footing_top: float) -> float:
        """Return y [m] of the lower face of the slab."""
        return footing_top + self.insulation_thickness

    def top(self, footing_top: float) -> float:
        """Return y [m] of the upper face of the slab."""
        return self.low(footing_top) + self.thickness

    def reach(self, footing_top: float) -> float:
        """Return y [m] of the upper end of the sheet on the wall."""
        return self.top(footing_top) + (0.0 if self.ground_sheet is None else self.turn_up)

    def draw(self, sheet: Sheet, at: Frame) -> None:
        """Paint base, insulation, sheet, slab and edge strip."""
        low, top = self.low(at.footing_top), self.top(at.footing_top)
        base = (at.footing_top - self.base_thickness, at.footing_top)
        sheet.solid(STONE, self.base, (at.footing[1], at.right), base)
        edge = at.inner_at(low)
        sheet.solid(UNDER_SLAB, self.insulation, (edge, at.right), (at.footing_top, low))
        sheet.solid(SLAB, self.material, (edge, at.right), (low, top))
        sheet.solid(EDGE_STRIP, self.edge_strip, (edge, edge + self.edge_strip_thickness), (low, top))
        sheet.level(GROUND_SHEET, self.ground_sheet, (edge, at.right), low)
        sheet.upright(GROUND_SHEET + TURNED_UP, self.ground_sheet, edge, (low, top + self.turn_up))
        sheet.level("slab covering", self.covering, (edge + self.edge_strip_thickness, at.right), top)

    def probe(self, sheet: Sheet, at: Frame, face: float) -> None:
        """Place the probes on and under the slab."""
        low, top = self.low(at.footing_top), self.top(at.footing_top)
        middle = (at.inner + at.right) / 2
        sheet.probe("slab top, middle", middle, top, SLAB, "surface", "MR")
        sheet.probe("slab top, edge", face + EDGE, top, SLAB, "surface", "MR", "0.15 m from the wall")
        sheet.probe("slab underside", middle, low, SLAB, "interface", None, "above the ground sheet")


class BasementSlab(ThinSlab):
    """The basement slab; its base lies level with the top of the footing."""

    thickness: SlabThickness = described("4 in", "thickness of the slab", PRACTICE)
    material: str = described("concrete_wc050", "material of the slab")
    turn_up: TurnUp = described(
        0, "height of the sheet on the wall above the slab; 0: it ends at the slab's upper edge", PRACTICE
    )


class Earth(InnerFloor):
    """The bare earth of a crawlspace, native soil, with or without a cover."""

    sheet_name: ClassVar[str] = GROUND_COVER
    height: EarthHeight = described("6 in", "earth above the top of the footing", PRACTICE)
    ground_cover: MembraneId = described(
        "pe_015", "sheet on the earth, e.g. pe_015 or liner_reinforced; false for bare earth"
    )
    covered_share: Fraction = described(
        1.0, "share of the earth that is covered; what is bare lies along the wall", "a complete cover"
    )
    turn_up: TurnUp = described(
        "6 in", "height of a complete cover on the wall", "R408.3 or its equivalent asks for 6 in where it is sealed"
    )

    def top(self, footing_top: float) -> float:
        """Return y [m] of the earth."""
        return footing_top + self.height

    def reach(self, footing_top: float) -> float:
        """Return y [m] of the upper end of the cover on the wall."""
        up = self.ground_cover is not None and self.covered_share == 1.0
        return self.top(footing_top) + (self.turn_up if up else 0.0)

    def draw(self, sheet: Sheet, at: Frame) -> None:
        """Lay the cover on the earth and up the wall."""
        top = self.top(at.footing_top)
        edge = at.inner_at(top)
        bare = (1.0 - self.covered_share) * (at.right - edge)
        sheet.level(GROUND_COVER, self.ground_cover, (edge + bare, at.right), top)
        up = (top, self.reach(at.footing_top))
        sheet.upright(GROUND_COVER + TURNED_UP, self.ground_cover, edge, up)

    def probe(self, sheet: Sheet, at: Frame, face: float) -> None:
        """Place the probes on the earth."""
        top, middle = self.top(at.footing_top), (at.inner + at.right) / 2
        note = "" if self.ground_cover is None else "under the cover, where there is one"
        sheet.probe("earth, middle", middle, top, NATIVE_SOIL, "soil", None, note)
        sheet.probe("earth, edge", face + EDGE, top, NATIVE_SOIL, "soil", None, "0.15 m from the wall")
