"""Parts that every written property shares: numbers in range, and provenance beside them."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from stemwall.materials.described import Spelling, described, required
from stemwall.materials.kinds import Band, Density, Porosity, SpecificHeat
from stemwall.materials.material import Confidence, Provenance


class Spec(BaseModel):
    """A table that accepts no unknown key."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(Spec):
    """A property with its provenance."""

    source: str = described("", "where the numbers come from: title, year, table")
    confidence: Confidence = described(
        "unsourced",
        "how far they can be trusted: tested on the product itself, seen in the source, in a copy of it, derived, "
        "recalled, guessed, or not said",
        "nothing is said",
    )
    note: str = described("", "anything worth saying about them")
    low: Band | None = described(None, "lower end of the band in which the number may lie")
    high: Band | None = described(None, "upper end of that band")

    @property
    def provenance(self) -> Provenance:
        """Source, confidence, note and band."""
        return Provenance(self.source, self.confidence, self.note, self.low, self.high)


class DensityValue(Sourced):
    """A dry density."""

    value: Density = required("dry density in kg/m3")


class SpecificHeatValue(Sourced):
    """A specific heat."""

    value: SpecificHeat = required("specific heat of the dry material in J/(kg K)")


class PorosityValue(Sourced):
    """A porosity."""

    value: Porosity = required("share of the pores in m3/m3")


def _as_table(raw: Any) -> Any:
    return {"value": raw} if isinstance(raw, int | float) and not isinstance(raw, bool) else raw


_PLAIN = Spelling("a number, or a table")
DensityTable = Annotated[DensityValue, BeforeValidator(_as_table), _PLAIN]
SpecificHeatTable = Annotated[SpecificHeatValue, BeforeValidator(_as_table), _PLAIN]
PorosityTable = Annotated[PorosityValue, BeforeValidator(_as_table), _PLAIN]
