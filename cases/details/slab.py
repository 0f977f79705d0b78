"""The slab on grade: stem wall on a footing, floating slab, insulation at its edge and under it.

The slab's upper face is level with the top of the stem wall; the wall above
stands on the stem wall.  Openings: "outdoors" and "house".
"""

from __future__ import annotations

from typing import Literal

from stemwall.cases.details import dimensions, framing, wall
from stemwall.cases.details.dimensions import HOUSE, OUTDOORS
from stemwall.cases.details.floor import EDGE, EDGE_STRIP, GROUND_SHEET, SLAB, STONE, UNDER_SLAB
from stemwall.cases.details.foundation import Clash, Foundation
from stemwall.cases.details.frame import Frame, frame
from stemwall.cases.inputs.field_types import PRACTICE, MembraneId, Strict, described
from stemwall.cases.inputs.quantities import (
    BaseThickness,
    OptionalBoard,
    OptionalPanel,
    OptionalStrip,
    SlabThickness,
)
from stemwall.cases.section.canvas import MembraneMaker, Sheet
from stemwall.solver.model.section import Section

FILL = "inner fill"


class FloorSlab(Strict):
    """The slab and what lies under it."""

    thickness: SlabThickness = described("4 in", "thickness of the slab", PRACTICE)
    material: str = described("concrete_wc050", "material of the slab")
    ground_sheet: MembraneId = described("pe_015", "sheet under the slab, or false")
    covering: MembraneId = described(False, "floor covering as a membrane, e.g. vinyl_sheet, or false")
    insulation: str = described("xps_25", "material of the insulation under the sheet")
    insulation_thickness: OptionalBoard = described(
        "2 in", "thickness of the insulation under the sheet; 0 for none", PRACTICE
    )
    insulation_width: OptionalStrip = described(
        "4 ft",
        "width of the insulation from the edge inwards; 0 for the whole floor",
        "slab-edge depth of many codes; see the local code",
    )
    edge_strip: str = described("xps_25", "material of the isolation strip between slab and wall")
    edge_strip_thickness: OptionalPanel = described(
        0, "thickness of the isolation strip; 0 for none", "none by default; 1/2 in is usual (common practice)"
    )
    base: str = described("stone_crushed", "material of the base")
    base_thickness: BaseThickness = described("4 in", "thickness of the base", PRACTICE)
    fill: str = described("gravel_bankrun", "material between base and footing level")


class SlabOnGrade(Foundation):
    """A slab on grade, from the far ground outside to the middle of the building."""

    kind: Literal["slab on grade"] = described("slab on grade", "which detail it is")
    insulation: dimensions.WallInsulation = described(
        dimensions.WallInsulation(), "insulation of the stem wall; inside, it is the slab's edge"
    )
    slab: FloorSlab = described(FloorSlab(), "the slab and what lies under it")

    @property
    def levels(self) -> tuple[float, float, float]:
        """Lower faces of slab, insulation and base [m]."""
        slab = self.wall.above_grade - self.slab.thickness
        insulation = slab - self.slab.insulation_thickness
        return slab, insulation, insulation - self.slab.base_thickness

    def clashes(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that do not go together."""
        found = super().clashes()
        lowest = self.levels[2]
        if lowest <= -self.wall.below_grade:
            found.append(("slab", f"slab, insulation and base reach down to y = {lowest:.3g} m",
                          f"above the footing, y = {-self.wall.below_grade:.3g} m"))  # fmt: skip
        inner = self.insulation.inner
        if inner is not None and 0 < inner.reach < self.slab.thickness:
            found.append(("insulation.inside.reach", f"{inner.reach:.3g} m",
                          f"at least the thickness of the slab, {self.slab.thickness:.3g} m"))  # fmt: skip
        return found

    def section(self, soil: str, water_table: float | None, make_membrane: MembraneMaker) -> Section:
        """Return the section; ``water_table`` is its y [m], or None."""
        at = frame(self.wall, self.footing, self.insulation, self.ground, self.half_width)
        plate_top = at.wall_top + self.sill.thickness
        top = plate_top + self.house_wall.height
        sheet = Sheet((at.left, at.right), (at.bottom, top), make_membrane)
        sheet.opening(OUTDOORS, OUTDOORS, (at.left, 0.0), (0.0, top))
        wall.draw_ground(sheet, at, soil, self.backfill)
        wall.draw_outside(sheet, at, self.drain, self.wing, mat=self.wall.drainage_mat is not None)
        sheet.opening(HOUSE, HOUSE, (0.0, at.right), (at.wall_top, top))
        self._draw_floor(sheet, at)
        wall.draw_wall(sheet, at, self.wall, self.footing, self.insulation)
        wall.draw_inside_membrane(sheet, at, self.insulation, at.footing_top)
        framing.draw_sill(sheet, self.sill, at.wall_top)
        framing.draw_flashing(sheet, self.flashing, at.wall_top, plate_top)
        framing.draw_house_wall(sheet, self.house_wall, self.sill.width, at.wall_top, plate_top)
        wall.finish_concrete(sheet, at, self.wall.solar_absorptance)
        self._place_probes(sheet, at)
        self.workmanship.spoil_floor(sheet, GROUND_SHEET)
        return sheet.section(water_table)

    def _draw_floor(self, sheet: Sheet, at: Frame) -> None:
        """Paint fill, base, insulation and slab inside the wall; the layer inside paints over their edge."""
        slab_low, insulation_low, base_low = self.levels
        across, edge = (at.thickness, at.right), at.inner_at(slab_low)
        sheet.solid(FILL, self.slab.fill, across, (at.footing_top, base_low))
        sheet.solid(STONE, self.slab.base, across, (base_low, slab_low))
        width = self.slab.insulation_width
        end = min(at.right, at.inner + width) if width > 0 else at.right
        sheet.solid(UNDER_SLAB, self.slab.insulation, (edge, end), (insulation_low, slab_low))
        sheet.solid(SLAB, self.slab.material, (edge, at.right), (slab_low, at.wall_top))
        strip = (edge, edge + self.slab.edge_strip_thickness)
        sheet.solid(EDGE_STRIP, self.slab.edge_strip, strip, (slab_low, at.wall_top))
        sheet.level(GROUND_SHEET, self.slab.ground_sheet, (edge, at.right), slab_low)
        sheet.level("floor covering", self.slab.covering, (strip[1], at.right), at.wall_top)

    def _place_probes(self, sheet: Sheet, at: Frame) -> None:
        slab_low = self.levels[0]
        framing.probe_sill(sheet, self.sill, at.wall_top)
        wall.probe_wall(sheet, at, at.footing_top, at.wall_top)
        middle, edge = (at.inner + at.right) / 2, at.inner + self.slab.edge_strip_thickness + EDGE
        sheet.probe("slab top, middle", middle, at.wall_top, SLAB, "surface", "MR")
        sheet.probe("slab top, edge", edge, at.wall_top, SLAB, "surface", "MR", "0.15 m from the slab's edge")
        note = "above the ground sheet"
        sheet.probe("slab underside, middle", middle, slab_low, SLAB, "interface", None, note)
        sheet.probe("slab underside, edge", edge, slab_low, SLAB, "interface", None, note)
