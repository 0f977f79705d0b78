"""Parts that every written property shares: numbers in range, and provenance beside them."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from stemwall.materials.described import described, required
from stemwall.materials.material import Confidence, Provenance

Positive = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0.0, allow_inf_nan=False)]
Fraction = Annotated[float, Field(gt=0.0, le=1.0)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Points = Annotated[list[Number], Field(min_length=1)]


class Spec(BaseModel):
    """A table that accepts no unknown key."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(Spec):
    """A property with its provenance."""

    source: str = described("", "where the numbers come from: title, year, table")
    confidence: Confidence = described(
        "unsourced",
        "how far they can be trusted: seen in the source, in a copy of it, derived, recalled, guessed, or not said",
        "nothing is said",
    )
    note: str = described("", "anything worth saying about them")
    low: float | None = described(None, "lower end of the band in which the number may lie")
    high: float | None = described(None, "upper end of that band")

    @property
    def provenance(self) -> Provenance:
        """Source, confidence, note and band."""
        return Provenance(self.source, self.confidence, self.note, self.low, self.high)


class Value(Sourced):
    """A positive number."""

    value: Positive = required("the number itself, in the unit of the property")


def _as_table(raw: Any) -> Any:
    return {"value": raw} if isinstance(raw, int | float) and not isinstance(raw, bool) else raw


Scalar = Annotated[Value, BeforeValidator(_as_table)]
