"""Crawlspaces: conditioned, with a thin slab on a ground sheet, and vented, on earth.

The space between its floor and the subfloor is one opening, "crawlspace"; joists
cross the section plane's depth and are not drawn.  Above the subfloor lies
"house", left of the wall above grade "outdoors".
"""

from __future__ import annotations

from typing import ClassVar, Literal

from stemwall.cases.details.dimensions import CRAWLSPACE, Placement, WallInsulation
from stemwall.cases.details.floor import Earth, InnerFloor, ThinSlab
from stemwall.cases.details.foundation import Clash, WalledSpace, broken
from stemwall.cases.details.framing import Rim
from stemwall.cases.details.workmanship import CrawlWorkmanship
from stemwall.cases.inputs.field_types import described
from stemwall.cases.inputs.quantities import OptionalBoard

#: nobody crawls in a space where a person can stand [m] (common practice, no source)
TALLEST = 1.8


class AnyCrawlspace(WalledSpace):
    """What the crawlspaces have in common."""

    space: ClassVar[str] = CRAWLSPACE

    def doubts(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that are possible, but hardly meant."""
        height = self.wall.above_grade - self.floor_level
        if height <= TALLEST:
            return []
        hint = 'did you mean kind = "basement"?'
        return [("wall", f"a crawlspace {height:.3g} m high", f"usually up to {TALLEST:g} m; {hint}")]


class Crawlspace(AnyCrawlspace):
    """A conditioned crawlspace, from the far ground outside to the middle of the building."""

    kind: Literal["conditioned crawlspace"] = described("conditioned crawlspace", "which detail it is")
    slab: ThinSlab = described(ThinSlab(), "the slab and what lies under it")
    workmanship: CrawlWorkmanship = described(CrawlWorkmanship(), "what is built worse than drawn")

    @property
    def inner_floor(self) -> InnerFloor:
        """The slab."""
        return self.slab

    def clashes(self) -> list[Clash]:
        """Return (path, found, expected) of dimensions that do not go together."""
        return super().clashes() + broken(
            [("slab.base_thickness", self.slab.base_thickness, "<", self.footing.height, "the footing's height")]
        )


class VentedInsulation(WallInsulation):
    """Insulation on the stem wall of a vented crawlspace, none by default."""

    placement: Placement = described("none", '"inside", "outside", "both", "insulated concrete form" or "none"')


class VentedRim(Rim):
    """The rim joist of a vented crawlspace, bare by default."""

    insulation_thickness: OptionalBoard = described(0, "thickness of the rim insulation; 0 for none", "none by default")


class VentedCrawlspace(AnyCrawlspace):
    """A vented crawlspace, from the far ground outside to the middle of the building.

    The vents themselves are not drawn: what they do is in the air of the space.
    """

    kind: Literal["vented crawlspace"] = described("vented crawlspace", "which detail it is")
    insulation: VentedInsulation = described(VentedInsulation(), "insulation of the stem wall, none by default")
    rim: VentedRim = described(VentedRim(), "the rim joist")
    earth: Earth = described(Earth(), "the earth and its cover")
    workmanship: CrawlWorkmanship = described(CrawlWorkmanship(), "what is built worse than drawn")

    @property
    def inner_floor(self) -> InnerFloor:
        """The earth."""
        return self.earth
