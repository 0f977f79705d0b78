"""The parts that foundation details share: their dimensions, as a person states them.

x = 0 is the exterior face of the stem wall, y = 0 the exterior grade.  How they
are drawn stands in `stemwall.cases.details.wall`, what stands on the wall in
`stemwall.cases.details.framing`, what lies inside it in `stemwall.cases.details.floor`.
"""

from __future__ import annotations

from typing import Literal

from stemwall.cases.inputs.field_types import PRACTICE, MembraneId, Strict, described
from stemwall.cases.inputs.quantities import (
    AboveGrade,
    BoardThickness,
    Burial,
    CapThickness,
    FootingHeight,
    FootingWidth,
    Fraction,
    GroundExtent,
    OptionalBoard,
    OptionalStrip,
    PipeSize,
    Reach,
    ShallowDepth,
    StoneCover,
    StoneWidth,
    StripWidth,
    WallThickness,
)

FORM: Literal["insulated concrete form"] = "insulated concrete form"
Placement = Literal["inside", "outside", "both", "insulated concrete form", "none"]
OUTDOORS, HOUSE, CRAWLSPACE, BASEMENT = "outdoors", "house", "crawlspace", "basement"
NATIVE_SOIL, STEM_WALL, FOOTING = "native soil", "stem wall", "footing"
INSIDE_INSULATION, OUTSIDE_INSULATION = "inside insulation", "outside insulation"


class Wall(Strict):
    """The concrete stem wall."""

    thickness: WallThickness = described("8 in", "thickness of the stem wall", PRACTICE)
    above_grade: AboveGrade = described(
        "8 in",
        "exterior grade to the top of the wall",
        "wood nearer than 8 in to exposed ground must be durable (R317.1 or equal); see the local code",
    )
    below_grade: ShallowDepth = described(
        "3 ft",
        "exterior grade to the top of the footing",
        f"{PRACTICE}; frost depth is a matter of the local code",
    )
    material: str = described("concrete_wc050", "material of the wall")
    damp_proofing: MembraneId = described("dampproof_asphalt", "coat on the exterior face, footing to grade, or false")
    waterproofing: MembraneId = described(
        False,
        "membrane in place of the damp-proofing coat, e.g. fluid_imperm, bitumen_wp or self_adhered, or false",
    )
    drainage_mat: MembraneId = described(
        False,
        "drain_mat or dimple_hdpe against the fill, on whatever covers the wall, or false; "
        "it relieves the fill of water under pressure only with a footing drain that takes it",
    )
    solar_absorptance: Fraction = described(
        0.6,
        "share of the sun that the exposed concrete absorbs",
        "grey concrete 0.55–0.65; common practice, no source",
    )


class Footing(Strict):
    """The footing, centred under the stem wall."""

    width: FootingWidth = described("16 in", "width of the footing", PRACTICE)
    height: FootingHeight = described("8 in", "height of the footing", PRACTICE)
    material: str = described("concrete_footing", "material of the footing")
    capillary_break: MembraneId = described(
        False,
        "membrane on the footing, under the stem wall and under what bears on the inner ledge, "
        "e.g. fluid_imperm, or false",
    )


class FootingDrain(Strict):
    """The perimeter drain beside the outer edge of the footing, in clean stone."""

    present: bool = described(False, "whether there is one; it holds no water under pressure")
    size: PipeSize = described(
        "4 in",
        "side of the square that stands for the pipe, amid the stone and level with the base of the footing",
        PRACTICE,
    )
    stone: str = described("stone_crushed", "material round the pipe")
    stone_width: StoneWidth = described("12 in", "width of the stone beside the footing", PRACTICE)
    stone_cover: StoneCover = described("6 in", "thickness of the stone above the top of the footing", PRACTICE)


class Board(Strict):
    """One layer of insulation on the stem wall."""

    material: str = described(
        "xps_25",
        "material of the insulation, e.g. eps_ii, foam_spray_closed, mineral_wool_board_128, wood_fibre_140 (draws "
        "water); mineral_wool_batt_40 is an air-permeable batt",
    )
    thickness: BoardThickness = described("2 in", "thickness of the insulation", "about R-10 in extruded polystyrene")
    reach: Reach = described(
        0,
        "how far it reaches down from the top of the wall; 0 for the whole height",
        "whole height by default; half-height insulation of a basement reaches about 4 ft",
    )


class FormPanel(Strict):
    """The two foam panels that an insulated concrete form leaves on the wall."""

    material: str = described("eps_ii", "material of the panels")
    thickness: BoardThickness = described(
        "2 5/8 in", "thickness of each panel", f"{PRACTICE}; 2 1/2 to 2 3/4 in are usual"
    )


class WallInsulation(Strict):
    """Insulation on the stem wall, from the top of the footing to the top of the wall."""

    placement: Placement = described(
        "inside",
        '"inside", "outside", "both", "insulated concrete form" (the panels of [detail.insulation.form] on '
        'both faces) or "none"',
    )
    inside: Board = described(Board(), "the layer inside")
    outside: Board = described(Board(), "the layer outside")
    form: FormPanel = described(FormPanel(), "the panels of an insulated concrete form")
    inside_membrane: MembraneId = described(
        False, "membrane on the room side of the layer inside, e.g. retarder_variable or pe_015, or false"
    )

    @property
    def inner(self) -> Board | None:
        """The layer that is really there inside."""
        return self._layer(self.inside, ("inside", "both"))

    @property
    def outer(self) -> Board | None:
        """The layer that is really there outside."""
        return self._layer(self.outside, ("outside", "both"))

    def _layer(self, board: Board, placements: tuple[str, ...]) -> Board | None:
        if self.placement == FORM:
            return Board(material=self.form.material, thickness=self.form.thickness)
        return board if self.placement in placements else None

    @property
    def inside_thickness(self) -> float:
        """Thickness of what is really there inside [m]."""
        return self.inner.thickness if self.inner else 0.0

    @property
    def outside_thickness(self) -> float:
        """Thickness of what is really there outside [m]."""
        return self.outer.thickness if self.outer else 0.0


class Wing(Strict):
    """Level insulation in the ground outside, for footings shallower than the frost."""

    material: str = described("xps_25", "material of the board")
    thickness: OptionalBoard = described(0, "thickness of the board; 0 for none", "none by default")
    width: StripWidth = described(
        "2 ft", "width of the board, from the wall outwards", f"{PRACTICE}; see the local code for frost protection"
    )
    depth: Burial = described("1 ft", "exterior grade to the upper face of the board", PRACTICE)


class Backfill(Strict):
    """What fills the trench outside, and the cap that sheds surface water."""

    width: OptionalStrip = described("2 ft", "width of the drained fill beside the wall; 0 for none", PRACTICE)
    material: str = described("gravel_bankrun", "material of the fill")
    cap_thickness: CapThickness = described(
        "1 ft", "thickness of the low-permeability cap at grade; 0 for none", PRACTICE
    )
    cap_width: OptionalStrip = described("5 ft", "width of the cap beside the wall", PRACTICE)
    cap_material: str = described("clay_cap", "material of the cap")


class Ground(Strict):
    """How much ground is drawn."""

    outward: GroundExtent = described(
        "10 m",
        "from the wall to the far side",
        "ISO 10211: 2.5 times the width of the building; this is half of it for 8 m, double it to check",
    )
    down: GroundExtent = described("10 m", "from grade to the lower edge", "as outward")
