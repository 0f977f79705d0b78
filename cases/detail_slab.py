"""The slab on grade: stem wall on a footing, floating slab, insulation at its edge and under it.

The slab's upper face is level with the top of the stem wall; the wall above
stands on the stem wall.  Openings: "outdoors" and "house".
"""

from __future__ import annotations

from typing import Literal

from stemwall.cases import parts
from stemwall.cases.fields import PRACTICE, MembraneId, Strict, described
from stemwall.cases.parts import HOUSE, OUTDOORS, SILL
from stemwall.cases.quantities import Extent, Thickness
from stemwall.cases.sheet import MembraneMaker, Sheet
from stemwall.solver.section import Section

SLAB, UNDER_SLAB, STONE, FILL = "slab", "under-slab insulation", "stone base", "inner fill"


class FloorSlab(Strict):
    """The slab and what lies under it."""

    thickness: Thickness = described("4 in", "thickness of the slab", PRACTICE)
    material: str = described("concrete_wc050", "material of the slab")
    ground_sheet: MembraneId = described("pe_015", "sheet under the slab, or false")
    covering: MembraneId = described(False, "floor covering as a membrane, e.g. vinyl_sheet, or false")
    insulation: str = described("xps_25", "material of the insulation under the sheet")
    insulation_thickness: Extent = described(
        "2 in", "thickness of the insulation under the sheet; 0 for none", PRACTICE
    )
    insulation_width: Extent = described(
        "4 ft",
        "width of the insulation from the edge inwards; 0 for the whole floor",
        "slab-edge depth of many codes; see the local code",
    )
    base: str = described("stone_crushed", "material of the base")
    base_thickness: Thickness = described("4 in", "thickness of the base", PRACTICE)
    fill: str = described("gravel_bankrun", "material between base and footing level")


class SlabOnGrade(Strict):
    """A slab on grade, from the far ground outside to the middle of the building."""

    kind: Literal["slab on grade"] = "slab on grade"
    half_width: Thickness = described(
        "4 m",
        "inner face of the stem wall to the middle of the building",
        "a house 8 m wide; common practice, no source",
    )
    wall: parts.Wall = described(parts.Wall(), "the stem wall")
    footing: parts.Footing = described(parts.Footing(), "the footing")
    insulation: parts.WallInsulation = described(
        parts.WallInsulation(), "insulation of the stem wall; inside, it is the slab's edge"
    )
    slab: FloorSlab = described(FloorSlab(), "the slab and what lies under it")
    sill: parts.Sill = described(parts.Sill(), "the sill plate")
    house_wall: parts.HouseWall = described(parts.HouseWall(), "the wall above")
    backfill: parts.Backfill = described(parts.Backfill(), "fill and cap outside")
    ground: parts.Ground = described(parts.Ground(), "how much ground is drawn")

    @property
    def levels(self) -> tuple[float, float, float]:
        """Lower faces of slab, insulation and base [m]."""
        slab = self.wall.above_grade - self.slab.thickness
        insulation = slab - self.slab.insulation_thickness
        return slab, insulation, insulation - self.slab.base_thickness

    def clashes(self) -> list[tuple[str, str, str]]:
        """Return (path, found, expected) of dimensions that do not go together."""
        found = parts.clashes(self.wall, self.footing, self.insulation, self.sill, self.backfill, self.ground)
        lowest = self.levels[2]
        if lowest <= -self.wall.below_grade:
            found.append(("slab", f"slab, insulation and base reach down to y = {lowest:.3g} m",
                          f"above the footing, y = {-self.wall.below_grade:.3g} m"))  # fmt: skip
        return found

    def section(self, soil: str, water_table: float | None, make_membrane: MembraneMaker) -> Section:
        """Return the section; ``water_table`` is its y [m], or None."""
        at = parts.frame(self.wall, self.footing, self.insulation, self.ground, self.half_width)
        plate_top = at.wall_top + self.sill.thickness
        top = plate_top + self.house_wall.height
        sheet = Sheet((at.left, at.right), (at.bottom, top), make_membrane)
        sheet.opening(OUTDOORS, OUTDOORS, (at.left, 0.0), (0.0, top))
        parts.draw_ground(sheet, at, soil, self.backfill)
        sheet.opening(HOUSE, HOUSE, (0.0, at.right), (at.wall_top, top))
        self._draw_floor(sheet, at)
        parts.draw_wall(sheet, at, self.wall, self.footing, self.insulation)
        sill = self.sill
        sheet.solid(SILL, sill.material, (0.0, sill.width), (at.wall_top, plate_top), sill.initial_humidity)
        sheet.level("sill capillary break", sill.capillary_break, (0.0, sill.width), at.wall_top)
        parts.draw_house_wall(sheet, self.house_wall, sill.width, at.wall_top, plate_top)
        parts.finish_concrete(sheet, at, self.wall.solar_absorptance)
        self._place_probes(sheet, at)
        return sheet.section(water_table)

    def _draw_floor(self, sheet: Sheet, at: parts.Frame) -> None:
        """Paint soil, fill, base, insulation and slab inside the wall."""
        slab_low, insulation_low, base_low = self.levels
        across = (at.inner, at.right)
        sheet.solid(FILL, self.slab.fill, across, (at.footing_top, base_low))
        sheet.solid(STONE, self.slab.base, across, (base_low, slab_low))
        width = self.slab.insulation_width
        end = min(at.right, at.inner + width) if width > 0 else at.right
        sheet.solid(UNDER_SLAB, self.slab.insulation, (at.inner, end), (insulation_low, slab_low))
        sheet.solid(SLAB, self.slab.material, across, (slab_low, at.wall_top))
        sheet.level("ground sheet", self.slab.ground_sheet, across, slab_low)
        sheet.level("floor covering", self.slab.covering, across, at.wall_top)

    def _place_probes(self, sheet: Sheet, at: parts.Frame) -> None:
        slab_low = self.levels[0]
        parts.probe_wall(sheet, at, self.sill, at.footing_top, self.insulation)
        middle = at.inner + 0.5 * (at.right - at.inner)
        edge = at.inner + 0.15
        sheet.probe("slab top, middle", middle, at.wall_top, SLAB, "surface", "MR")
        sheet.probe("slab top, edge", edge, at.wall_top, SLAB, "surface", "MR", "0.15 m from the slab's edge")
        sheet.probe(
            "slab underside, middle", middle, slab_low, SLAB, "interface", None, "above the ground sheet"
        )
        sheet.probe("slab underside, edge", edge, slab_low, SLAB, "interface", None, "above the ground sheet")
