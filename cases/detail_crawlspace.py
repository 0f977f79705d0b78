"""The conditioned crawlspace: stem wall, insulation, thin slab on a ground sheet, sealed rim, floor above.

The space between the slab and the subfloor is one opening, "crawlspace"; joists
cross the section plane's depth and are not drawn.  Above the subfloor lies
"house", left of the wall above grade "outdoors".
"""

from __future__ import annotations

from typing import Literal

from stemwall.cases import parts
from stemwall.cases.fields import PRACTICE, MembraneId, Strict, described
from stemwall.cases.parts import CRAWLSPACE, HOUSE, OUTDOORS, RIM, RIM_INSULATION, SILL
from stemwall.cases.quantities import Extent, Length, Thickness
from stemwall.cases.sheet import MembraneMaker, Sheet
from stemwall.solver.section import Section

SLAB, SUBFLOOR, UNDER_SLAB, STONE = "slab", "subfloor", "under-slab insulation", "stone base"


class ThinSlab(Strict):
    """The thin slab over the ground sheet; its base lies level with the top of the footing."""

    thickness: Thickness = described("2 in", "thickness of the slab", "2–3 in; common practice, no source")
    material: str = described("concrete_thin_slab", "material of the slab")
    ground_sheet: MembraneId = described("pe_015", "sheet under the slab and up the wall, or false")
    turn_up: Extent = described(
        "6 in", "height of the sheet on the wall above the slab", "R408.3 or its equivalent, 6 in"
    )
    insulation: str = described("xps_25", "material of the insulation under the sheet")
    insulation_thickness: Extent = described(
        0, "thickness of the insulation under the sheet; 0 for none", "none by default"
    )
    base: str = described("stone_crushed", "material under all that, inside the footing")
    base_thickness: Extent = described("4 in", "thickness of the base; 0 for none", PRACTICE)


class Rim(Strict):
    """The rim joist and the insulation on its inner face."""

    depth: Thickness = described("9 1/4 in", "depth of the joists", "nominal 2×10 lumber, dressed size")
    thickness: Thickness = described(
        "1 1/2 in", "thickness of the rim joist", "nominal 2×10 lumber, dressed size"
    )
    material: str = described("spf_across", "material of the rim joist")
    insulation: str = described("spf_cc", "material of the rim insulation")
    insulation_thickness: Extent = described("2 in", "thickness of the rim insulation; 0 for none", PRACTICE)
    cover_ledge: bool = described(True, "whether it also covers the sill plate and the top of the wall")


class Floor(Strict):
    """The floor above the crawlspace."""

    subfloor: str = described("plywood_sub_19", "material of the subfloor")
    subfloor_thickness: Thickness = described("3/4 in", "thickness of the subfloor", PRACTICE)
    covering: MembraneId = described(
        False, "floor covering as a membrane on the subfloor, e.g. vinyl_sheet, or false"
    )


class Crawlspace(Strict):
    """A conditioned crawlspace, from the far ground outside to the middle of the building."""

    kind: Literal["conditioned crawlspace"] = "conditioned crawlspace"
    half_width: Thickness = described(
        "4 m",
        "inner face of the stem wall to the middle of the building",
        "a house 8 m wide; common practice, no source",
    )
    wall: parts.Wall = described(parts.Wall(), "the stem wall")
    footing: parts.Footing = described(parts.Footing(), "the footing")
    insulation: parts.WallInsulation = described(parts.WallInsulation(), "insulation of the stem wall")
    slab: ThinSlab = described(ThinSlab(), "the slab and what lies under it")
    sill: parts.Sill = described(parts.Sill(), "the sill plate")
    rim: Rim = described(Rim(), "the rim joist")
    floor: Floor = described(Floor(), "the floor above")
    house_wall: parts.HouseWall = described(parts.HouseWall(), "the wall above")
    backfill: parts.Backfill = described(parts.Backfill(), "fill and cap outside")
    ground: parts.Ground = described(parts.Ground(), "how much ground is drawn")

    @property
    def slab_bottom(self) -> float:
        """Lower face of the slab [m]."""
        return -self.wall.below_grade + self.slab.insulation_thickness

    @property
    def slab_top(self) -> Length:
        """Upper face of the slab [m]."""
        return self.slab_bottom + self.slab.thickness

    def clashes(self) -> list[tuple[str, str, str]]:
        """Return (path, found, expected) of dimensions that do not go together."""
        found = parts.clashes(self.wall, self.footing, self.insulation, self.sill, self.backfill, self.ground)
        if self.slab_top + self.slab.turn_up >= self.wall.above_grade:
            found.append(("slab", f"slab and sheet reach y = {self.slab_top + self.slab.turn_up:.3g} m",
                          f"less than the top of the wall, y = {self.wall.above_grade:.3g} m"))  # fmt: skip
        if self.slab.base_thickness >= self.footing.height:
            found.append(("slab.base_thickness", f"{self.slab.base_thickness:.3g} m",
                          f"less than the height of the footing, {self.footing.height:.3g} m"))  # fmt: skip
        return found

    def section(self, soil: str, water_table: float | None, make_membrane: MembraneMaker) -> Section:
        """Return the section; ``water_table`` is its y [m], or None."""
        at = parts.frame(self.wall, self.footing, self.insulation, self.ground, self.half_width)
        sill_top = at.wall_top + self.sill.thickness
        joist_top = sill_top + self.rim.depth
        floor_top = joist_top + self.floor.subfloor_thickness
        top = floor_top + self.house_wall.height
        sheet = Sheet((at.left, at.right), (at.bottom, top), make_membrane)
        sheet.opening(OUTDOORS, OUTDOORS, (at.left, 0.0), (0.0, top))
        parts.draw_ground(sheet, at, soil, self.backfill)
        self._draw_floor(sheet, at)
        sheet.opening(CRAWLSPACE, CRAWLSPACE, (0.0, at.right), (self.slab_top, joist_top))
        sheet.opening(HOUSE, HOUSE, (0.0, at.right), (floor_top, top))
        parts.draw_wall(sheet, at, self.wall, self.footing, self.insulation)
        self._draw_framing(sheet, at, sill_top, joist_top, floor_top)
        parts.draw_house_wall(sheet, self.house_wall, self.sill.width, at.wall_top, floor_top)
        parts.finish_concrete(sheet, at, self.wall.solar_absorptance)
        self._place_probes(sheet, at, sill_top, joist_top)
        return sheet.section(water_table)

    def _draw_floor(self, sheet: Sheet, at: parts.Frame) -> None:
        """Paint what lies under the crawlspace, inside the wall."""
        base = (at.footing_top - self.slab.base_thickness, at.footing_top)
        sheet.solid(STONE, self.slab.base, (at.footing[1], at.right), base)
        across = (at.inner, at.right)
        sheet.solid(UNDER_SLAB, self.slab.insulation, across, (at.footing_top, self.slab_bottom))
        sheet.solid(SLAB, self.slab.material, across, (self.slab_bottom, self.slab_top))
        sheet.level("ground sheet", self.slab.ground_sheet, across, self.slab_bottom)
        up = (self.slab_bottom, self.slab_top + self.slab.turn_up)
        sheet.upright("ground sheet, turned up", self.slab.ground_sheet, at.inner, up)

    def _draw_framing(
        self, sheet: Sheet, at: parts.Frame, sill_top: float, joist_top: float, floor_top: float
    ) -> None:
        rim, sill = self.rim, self.sill
        inner = rim.thickness + rim.insulation_thickness
        sheet.solid(RIM_INSULATION, rim.insulation, (rim.thickness, inner), (sill_top, joist_top))
        if rim.cover_ledge and rim.insulation_thickness > 0:
            ledge = (at.wall_top, sill_top + rim.insulation_thickness)
            sheet.solid("ledge insulation", rim.insulation, (rim.thickness, at.inner), ledge)
        sheet.solid(SILL, sill.material, (0.0, sill.width), (at.wall_top, sill_top), sill.initial_humidity)
        sheet.level("sill capillary break", sill.capillary_break, (0.0, sill.width), at.wall_top)
        sheet.solid(RIM, rim.material, (0.0, rim.thickness), (sill_top, joist_top))
        sheet.solid(SUBFLOOR, self.floor.subfloor, (0.0, at.right), (joist_top, floor_top))
        sheet.level("floor covering", self.floor.covering, (self.sill.width, at.right), floor_top)

    def _place_probes(self, sheet: Sheet, at: parts.Frame, sill_top: float, joist_top: float) -> None:
        parts.probe_wall(sheet, at, self.sill, self.slab_top, self.insulation)
        rim_middle = (sill_top + joist_top) / 2
        sheet.probe(
            "rim joist inner face",
            self.rim.thickness,
            rim_middle,
            RIM,
            "wood",
            "S",
            "behind the rim insulation",
        )
        middle = at.inner + 0.5 * (at.right - at.inner)
        edge = at.inner + 0.15
        sheet.probe("slab top, middle", middle, self.slab_top, SLAB, "surface", "MR")
        sheet.probe("slab top, edge", edge, self.slab_top, SLAB, "surface", "MR", "0.15 m from the wall")
        sheet.probe(
            "slab underside", middle, self.slab_bottom, SLAB, "interface", None, "above the ground sheet"
        )
        sheet.probe("subfloor underside", middle, joist_top, SUBFLOOR, "wood", "S")
        near = self.rim.thickness + self.rim.insulation_thickness + 0.05
        sheet.probe(
            "subfloor underside at the rim", near, joist_top, SUBFLOOR, "wood", "S", "0.05 m from the rim"
        )
