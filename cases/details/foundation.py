"""What every foundation detail has: stem wall on a footing, ground outside, framing above.

`Foundation` holds the parts and says which dimensions do not go together;
`WalledSpace` draws everything that has a space inside the wall, below the floor.
"""

from __future__ import annotations

import operator
from abc import ABC, abstractmethod
from typing import ClassVar

from stemwall.cases.details import dimensions, framing
from stemwall.cases.details import wall as parts_draw
from stemwall.cases.details.floor import InnerFloor
from stemwall.cases.details.frame import Frame, frame
from stemwall.cases.details.framing import Storey
from stemwall.cases.details.workmanship import FormedWorkmanship, WalledWorkmanship, Workmanship
from stemwall.cases.inputs.field_types import Strict, described
from stemwall.cases.inputs.quantities import HalfWidth
from stemwall.cases.section.canvas import MembraneMaker, Sheet
from stemwall.cases.surroundings.water_events import LeakTable
from stemwall.solver.model.section import Section

#: (path, found, expected) of dimensions that do not go together
Clash = tuple[str, str, str]
#: (path, value, sign, limit, what the limit is)
Rule = tuple[str, float, str, float, str]

HOLDS = {">=": operator.ge, "<=": operator.le, "<": operator.lt, ">": operator.gt}
WORDS = {">=": "at least", "<=": "at most", "<": "less than", ">": "more than"}


def broken(rules: list[Rule]) -> list[Clash]:
    """Return the rules that do not hold, in words."""
    return [
        (path, f"{value:.3g} m", f"{WORDS[sign]} {what}, {limit:.3g} m")
        for path, value, sign, limit, what in rules
        if not HOLDS[sign](value, limit)
    ]


class Foundation(Strict):
    """A foundation from the far ground outside to the middle of the building."""

    kind: str
    half_width: HalfWidth = described(
        "4 m",
        "inner face of the stem wall to the middle of the building",
        "a house 8 m wide; common practice, no source",
    )
    wall: dimensions.Wall = described(dimensions.Wall(), "the stem wall")
    footing: dimensions.Footing = described(dimensions.Footing(), "the footing")
    drain: dimensions.FootingDrain = described(dimensions.FootingDrain(), "the perimeter drain at the footing")
    insulation: dimensions.WallInsulation = described(dimensions.WallInsulation(), "insulation of the stem wall")
    wing: dimensions.Wing = described(dimensions.Wing(), "level insulation in the ground outside")
    sill: framing.Sill = described(framing.Sill(), "the sill plate")
    flashing: framing.Flashing = described(framing.Flashing(), "the flashing over the sill")
    house_wall: framing.HouseWall = described(framing.HouseWall(), "the wall above")
    backfill: dimensions.Backfill = described(dimensions.Backfill(), "fill and cap outside")
    ground: dimensions.Ground = described(dimensions.Ground(), "how much ground is drawn")
    workmanship: Workmanship = described(Workmanship(), "what is built worse than drawn")

    @property
    def leaks(self) -> tuple[LeakTable, ...]:
        """Water that poor workmanship lets in, at the outer face of the sill plate."""
        middle = self.wall.above_grade + self.sill.thickness / 2
        return self.workmanship.leaks(framing.SILL, 0.0, middle)

    def clashes(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that do not go together."""
        wall, depth, top = self.wall, "the depth of the footing's top", "the height of the stem wall"
        height = wall.above_grade + wall.below_grade
        rules: list[Rule] = [
            ("footing.width", self.footing.width, ">=", wall.thickness, "the thickness of the wall"),
            ("sill.width", self.sill.width, "<=", wall.thickness, "the thickness of the wall"),
            ("flashing.lap", self.flashing.lap, "<", height, top),
            ("backfill.cap_thickness", self.backfill.cap_thickness, "<", wall.below_grade, depth),
            ("ground.down", self.ground.down, ">", wall.below_grade + self.footing.height, "the footing's base"),
            ("ground.outward", self.ground.outward, ">", self._outward, "what is drawn beside the wall"),
            ("workmanship.open_seam", self.workmanship.open_seam, "<", self.half_width / 2, "half the floor drawn"),
        ]
        return broken(rules + self._layer_rules(height, top) + self._outside_rules(depth))

    def doubts(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that are possible, but hardly meant."""
        return []

    def _layer_rules(self, height: float, top: str) -> list[Rule]:
        """Return the rules for how far the layers on the wall reach."""
        rules: list[Rule] = []
        for side, board in (("inside", self.insulation.inner), ("outside", self.insulation.outer)):
            if board is not None and board.reach > 0:
                rules.append((f"insulation.{side}.reach", board.reach, "<=", height, top))
        outer, above = self.insulation.outer, self.wall.above_grade
        if outer is not None and outer.reach > 0:
            rules.append(("insulation.outside.reach", outer.reach, ">", above, "the height of the wall above grade"))
        return rules

    def _outside_rules(self, depth: str) -> list[Rule]:
        """Return the rules for drain and wing insulation."""
        rules: list[Rule] = []
        below, wing, drain = self.wall.below_grade, self.wing, self.drain
        if wing.thickness > 0:
            rules.append(("wing.depth", wing.depth + wing.thickness, "<=", below, depth))
        if drain.present:
            rules += [
                ("drain.stone_cover", drain.stone_cover, "<", below, depth),
                ("drain.size", drain.size, "<=", drain.stone_width, "the width of the stone"),
                ("drain.size", drain.size, "<=", self.footing.height, "the height of the footing"),
            ]
        return rules

    @property
    def _outward(self) -> float:
        """How far anything is drawn outwards from the wall [m]."""
        fill = max(self.backfill.width, self.backfill.cap_width, self.wing.width if self.wing.thickness > 0 else 0.0)
        stone = self.drain.stone_width if self.drain.present else 0.0
        return self.insulation.outside_thickness + max(fill, self.footing.width / 2 + stone)


class WalledSpace(Foundation, ABC):
    """A foundation with a space inside the wall, under the floor.

    ``space`` names the opening and the climate of that space.
    """

    space: ClassVar[str]
    rim: framing.Rim = described(framing.Rim(), "the rim joist")
    floor: framing.Floor = described(framing.Floor(), "the floor above")
    workmanship: FormedWorkmanship = described(WalledWorkmanship(), "what is built worse than drawn")

    @property
    @abstractmethod
    def inner_floor(self) -> InnerFloor:
        """What the space stands on."""

    @property
    def floor_level(self) -> float:
        """Height of the surface of what the space stands on [m]."""
        return self.inner_floor.top(-self.wall.below_grade)

    def clashes(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that do not go together."""
        reach, top = self.inner_floor.reach(-self.wall.below_grade), self.wall.above_grade
        found = super().clashes()
        if reach >= top:
            found.append((self._floor_key, f"the floor and its sheet reach y = {reach:.3g} m",
                          f"less than the top of the wall, y = {top:.3g} m"))  # fmt: skip
        return found + broken([
            ("floor.insulation_thickness", self.floor.insulation_thickness, "<=", self.rim.depth,
             "the depth of the joists"),
            ("workmanship.rim_gap", self.workmanship.rim_gap, "<", self.rim.depth, "the depth of the joists"),
        ]) + broken(self._gap_rules)  # fmt: skip

    @property
    def _gap_rules(self) -> list[Rule]:
        """Rules for the strip that the insulation of the wall leaves bare."""
        work, inner = self.workmanship, self.insulation.inner
        if not isinstance(work, WalledWorkmanship) or inner is None:
            return []
        reach = inner.reach or self.wall.above_grade - self.floor_level
        return [("workmanship.wall_gap", work.wall_gap, "<", reach, "the height of the insulation inside")]

    @property
    def _floor_key(self) -> str:
        """Name of the field that holds the inner floor."""
        return next(name for name in type(self).model_fields if getattr(self, name) is self.inner_floor)

    def section(self, soil: str, water_table: float | None, make_membrane: MembraneMaker) -> Section:
        """Return the section; ``water_table`` is its y [m], or None."""
        level = self.floor_level
        at = frame(self.wall, self.footing, self.insulation, self.ground, self.half_width, level)
        levels = framing.storey(self.wall, self.sill, self.rim, self.floor, self.house_wall)
        sheet = Sheet((at.left, at.right), (at.bottom, levels.top), make_membrane)
        sheet.opening(dimensions.OUTDOORS, dimensions.OUTDOORS, (at.left, 0.0), (0.0, levels.top))
        parts_draw.draw_ground(sheet, at, soil, self.backfill)
        parts_draw.draw_outside(sheet, at, self.drain, self.wing, mat=self.wall.drainage_mat is not None)
        sheet.opening(self.space, self.space, (0.0, at.right), (level, levels.joist_top))
        self.inner_floor.draw(sheet, at)
        sheet.opening(dimensions.HOUSE, dimensions.HOUSE, (0.0, at.right), (levels.floor_top, levels.top))
        parts_draw.draw_wall(sheet, at, self.wall, self.footing, self.insulation)
        parts_draw.draw_inside_membrane(sheet, at, self.insulation, level)
        face = self._draw_lining(sheet, at, levels)
        self._draw_framing(sheet, at, levels)
        self._place_probes(sheet, at, levels, face)
        self._spoil(sheet, at, levels)
        return sheet.section(water_table)

    def _spoil(self, sheet: Sheet, at: Frame, levels: Storey) -> None:
        """Undo what was built badly."""
        self.workmanship.spoil_floor(sheet, self.inner_floor.sheet_name)
        self.workmanship.spoil_rim(sheet, self.rim, levels)
        if isinstance(self.workmanship, WalledWorkmanship):
            self.workmanship.spoil_wall(sheet, at, self.insulation)

    def _draw_framing(self, sheet: Sheet, at: Frame, levels: Storey) -> None:
        framing.draw_floor(sheet, at, self.floor, self.rim, self.sill, levels)
        framing.draw_rim(sheet, at, self.rim, self.sill, levels)
        framing.draw_flashing(sheet, self.flashing, levels.wall_top, levels.joist_top)
        framing.draw_house_wall(sheet, self.house_wall, self.sill.width, levels.wall_top, levels.floor_top)
        parts_draw.finish_concrete(sheet, at, self.wall.solar_absorptance)

    def _draw_lining(self, sheet: Sheet, at: Frame, levels: Storey) -> float:
        """Paint what is built before the wall inside; return x [m] of the finished face."""
        return at.inner

    def _place_probes(self, sheet: Sheet, at: Frame, levels: Storey, face: float) -> None:
        framing.probe_sill(sheet, self.sill, levels.wall_top)
        parts_draw.probe_wall(sheet, at, self.floor_level, self.inner_floor.reach(at.footing_top))
        framing.probe_rim(sheet, self.rim, levels)
        self.inner_floor.probe(sheet, at, face)
        middle = (at.inner + at.right) / 2
        framing.probe_floor(sheet, self.floor, self.rim, levels, middle)
