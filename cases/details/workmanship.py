"""Workmanship: what may be built worse than it is drawn, as switches that one word sets.

A good section is drawn first; the switches then take out, cut or paint over what was done badly.
A switch that the case file states holds whatever the preset says, and all of them hold whatever the
rest of the detail says: a gasket that was drawn and left out is left out.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, ModelWrapValidatorHandler, model_validator

from stemwall.cases.details.dimensions import FORM, STEM_WALL, WallInsulation
from stemwall.cases.details.floor import TURNED_UP
from stemwall.cases.details.frame import Frame
from stemwall.cases.details.framing import RIM, SILL_BREAK, Rim, Storey
from stemwall.cases.inputs.field_types import PRACTICE, Strict, described
from stemwall.cases.inputs.quantities import Fraction, Gap, LeakShare
from stemwall.cases.section.canvas import Sheet
from stemwall.cases.surroundings.water_events import LeakTable

GUESS = f"a guess; {PRACTICE}"
RAIN_LEAK = "driving rain at the sill"
#: air layers of the catalogue by thickness [m], heat flowing sideways
AIR_LAYERS = {
    0.005: "air_005_hor", 0.006: "air_006_hor", 0.010: "air_010_hor", 0.012: "air_012_hor", 0.019: "air_019_hor",
    0.025: "air_025_hor", 0.038: "air_038_hor", 0.050: "air_050_hor", 0.089: "air_089_hor", 0.140: "air_140_hor",
}  # fmt: skip


def switch(good: Any, poor: Any, text: str, reason: str) -> Any:
    """Return a field whose default the preset sets: ``good`` or ``poor``, written as in a case file."""
    named = {False: "false", True: "true"}
    words = [named[value] if isinstance(value, bool) else str(value) for value in (good, poor)]
    said = f"{words[0]} with good, {words[1]} with poor workmanship; {reason}"
    return Field(default=good, description=text, json_schema_extra={"reason": said, "poor": poor})


def poor_value(extra: object) -> Any:
    """Return what the preset "poor" makes of a field with this extra, None if the preset leaves it alone."""
    return extra.get("poor") if isinstance(extra, dict) else None


class Workmanship(Strict):
    """How well it is built: a preset, and switches that win over it where they are stated."""

    preset: Literal["good", "poor"] = described(
        "good", '"good": as drawn; "poor": every switch below that is not stated takes its poor value', "a plain choice"
    )
    missing_gasket: bool = switch(
        good=False,
        poor=True,
        text="whether the sill gasket (sill.capillary_break) was left out",
        reason=f"often forgotten; {PRACTICE}",
    )
    open_seam: Gap = switch(0, "1/2 in", "width of a seam left open in the sheet on or under the floor", GUESS)
    seam_at: Literal["wall", "middle"] = described(
        "wall", '"wall": where the sheet meets the wall; "middle": a lap halfway to the middle of the building', GUESS
    )
    rain_leak: LeakShare = switch(
        0, "1 %", "share of the driving rain on 8 ft of wall that gets to the sill plate",
        "1 % of ASHRAE 160 (from memory, to be checked)",
    )  # fmt: skip

    @model_validator(mode="wrap")
    @classmethod
    def _preset(cls, value: Any, handler: ModelWrapValidatorHandler[Workmanship]) -> Workmanship:
        """Fill in what the preset says; what it fills in does not count as stated."""
        if not isinstance(value, dict) or value.get("preset") != "poor":
            return handler(value)
        poor = {name: poor_value(field.json_schema_extra) for name, field in cls.model_fields.items()}
        made = handler({**{name: item for name, item in poor.items() if item is not None}, **value})
        made.model_fields_set.intersection_update(value)
        return made

    def spoil_floor(self, sheet: Sheet, name: str) -> None:
        """Open the seam of the sheet of that name, and leave out the sill gasket."""
        if self.missing_gasket:
            sheet.drop(SILL_BREAK)
        span = sheet.level_span(name)
        if span is not None and self.open_seam > 0:
            start = span[0] if self.seam_at == "wall" else (sum(span) - self.open_seam) / 2
            sheet.cut(name, (start, start + self.open_seam))

    def leaks(self, region: str, x: float, y: float) -> tuple[LeakTable, ...]:
        """Return the rain that gets in at a place [m] of a region."""
        if self.rain_leak == 0:
            return ()
        return (LeakTable(name=RAIN_LEAK, x=x, y=y, region=region, rain_share=self.rain_leak),)


class FormedWorkmanship(Workmanship):
    """How well a building with a rim joist is built."""

    rim_gap: Gap = switch(
        0, "1/2 in", "height of a strip at the top of the rim joist that the rim insulation leaves bare", GUESS
    )

    def spoil_rim(self, sheet: Sheet, rim: Rim, levels: Storey) -> None:
        """Paint air over the upper end of the rim insulation."""
        if self.rim_gap > 0 and rim.insulation_thickness > 0:
            height = (levels.joist_top - self.rim_gap, levels.joist_top)
            across = (rim.thickness, rim.thickness + rim.insulation_thickness)
            sheet.solid("rim gap", air_layer(rim.insulation_thickness), across, height)
            note = "where the rim insulation leaves it bare"
            sheet.probe("rim joist at the gap", rim.thickness, sum(height) / 2, RIM, "wood", "S", note)


class WalledWorkmanship(FormedWorkmanship):
    """How well a building with insulation on its stem wall is built."""

    wall_gap: Gap = switch(
        0, "1 in", "height of a strip at the top of the wall that the insulation inside leaves bare", GUESS
    )

    def spoil_wall(self, sheet: Sheet, at: Frame, insulation: WallInsulation) -> None:
        """Paint air over the upper end of the layer inside; forms have no such gap."""
        if self.wall_gap > 0 and insulation.inner and insulation.placement != FORM:
            height = (at.wall_top - self.wall_gap, at.wall_top)
            sheet.solid("wall gap", air_layer(insulation.inside_thickness), (at.thickness, at.inner), height)
            note = "where the insulation leaves it bare"
            sheet.probe("wall inner face at the gap", at.thickness, sum(height) / 2, STEM_WALL, "interface", "MR", note)


class CrawlWorkmanship(WalledWorkmanship):
    """How well a crawlspace is built."""

    uncovered: Fraction = switch(
        0, "10 %", "share of the floor, along the wall, that the ground sheet or cover leaves bare",
        "sheets 1 to 3 ft short of the walls in one house (trade press, April 2011, excerpt read), 8 % and more of 4 m",
    )  # fmt: skip

    def spoil_floor(self, sheet: Sheet, name: str) -> None:
        """Take the sheet off along the wall, with what turns up there; then as for any floor."""
        span = sheet.level_span(name)
        if span is not None and self.uncovered > 0:
            sheet.cut(name, (span[0], span[0] + self.uncovered * (span[1] - span[0])))
            sheet.drop(name + TURNED_UP)
        super().spoil_floor(sheet, name)


def air_layer(thickness: float) -> str:
    """Return the air layer of the catalogue that is nearest to a thickness [m]."""
    return AIR_LAYERS[min(AIR_LAYERS, key=lambda known: abs(known - thickness))]
